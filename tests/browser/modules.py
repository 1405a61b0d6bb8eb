"""Modules of the web app by themselves: a page of an origin of its own that imports them."""

from __future__ import annotations

import threading
from contextlib import contextmanager
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

STATIC = Path(__file__).resolve().parents[2] / "src" / "conewise" / "web" / "static"


class _Quiet(SimpleHTTPRequestHandler):
    extensions_map = SimpleHTTPRequestHandler.extensions_map | {".js": "text/javascript"}

    def do_GET(self):
        if self.path == "/":
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.end_headers()
            self.wfile.write(b"<!doctype html><title>modules</title><body>")
        else:
            super().do_GET()

    def log_message(self, *_):
        """Say nothing."""


class ModuleServer:
    """Serves the modules until it is closed."""

    def __enter__(self):
        self._server = ThreadingHTTPServer(("127.0.0.1", 0), partial(_Quiet, directory=STATIC))
        self.address = f"http://127.0.0.1:{self._server.server_port}/"
        self._thread = threading.Thread(target=self._server.serve_forever)
        self._thread.start()
        return self

    def __exit__(self, *_):
        self._server.shutdown()
        self._thread.join()
        self._server.server_close()


@contextmanager
def module_page(browser):
    """A page of that origin."""
    with ModuleServer() as server:
        context = browser.new_context()
        page = context.new_page()
        page.goto(server.address)
        yield page
        context.close()
