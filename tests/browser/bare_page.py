"""The page's own modules on a bare page: a small server with the app's strict policy, and no app."""

from __future__ import annotations

import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from conewise.reports.looks import look_style

STATIC = Path(__file__).parents[2] / "src" / "conewise" / "web" / "static"
KINDS = {
    ".js": "text/javascript",
    ".css": "text/css",
    ".html": "text/html",
    ".svg": "image/svg+xml",
    ".png": "image/png",
}
POLICY = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src 'self'"


def bare_page(scripts="", styles=("tokens", "base", "chart", "course")):
    """A page with the style sheets of the app that are there, and an empty main part."""
    links = "".join(f'<link rel="stylesheet" href="/static/css/{name}.css">' for name in styles)
    return (
        '<!doctype html><html lang="en" data-look="light"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1"><title>Modules</title>'
        f'{links}</head><body><main id="main"></main>{scripts}</body></html>'
    )


class _Answers(BaseHTTPRequestHandler):
    def do_GET(self):
        page = self.server.pages.get(self.path)
        file = STATIC / self.path.removeprefix("/static/")
        if page is not None:
            self._send(200, "text/html", page.encode())
        elif self.path == "/static/css/tokens.css":
            self._send(200, "text/css", look_style().encode())
        elif self.path.startswith("/static/") and file.is_file():
            self._send(200, KINDS[file.suffix], file.read_bytes())
        else:
            self._send(404, "text/plain", b"not there")

    def _send(self, status, kind, body):
        self.send_response(status)
        self.send_header("Content-Type", f"{kind}; charset=utf-8")
        self.send_header("Content-Security-Policy", POLICY)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_):
        """Say nothing."""


def serve(pages):
    """A running server of these pages by their paths, and its address; `shutdown` and `server_close` end it."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), _Answers)
    server.pages = pages
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return server, f"http://127.0.0.1:{server.server_port}"
