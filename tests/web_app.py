"""The web app for tests: over the demo book, over an empty one, behind a test client or a port."""

from __future__ import annotations

import shutil
import socket
import subprocess
import sys
import threading
import time
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta

import pytest
from starlette.testclient import TestClient

from conewise.store.texts import CourseText
from conewise.web.app import create_app
from conewise.web.server import listen, running
from conewise.web.settings import WebSettings
from conewise.workflows.book_place import opened
from conewise.workflows.demo_book import keep_demo_book

NOW = datetime(2026, 9, 13, 8, 0, tzinfo=UTC)  # the morning of the last event of the demo season
ADDRESS = "http://127.0.0.1"


_BEGUN = time.monotonic()


def clock():
    """The morning of that event, going on as the test does."""
    return NOW + timedelta(seconds=time.monotonic() - _BEGUN)


def demo_folder(tmp_path_factory):
    """The demonstration, written once for a whole test run."""
    folder = tmp_path_factory.mktemp("demonstration") / "demo"
    keep_demo_book(folder, now=clock)
    return folder


def settings_over(folder, demo, *, now=clock, **options):
    """A server's settings over a copy of the demo book; over an empty folder where `demo` is None."""
    if demo is not None:
        shutil.copytree(demo / "book", folder / "book")
    return WebSettings(book=folder / "book", demo=folder / "demo", now=now, **options)


def client_of(settings, *, app=None, address=ADDRESS, client="127.0.0.1", **options):
    """A client on this computer; on another one where `client` is its address and `address` what it calls."""
    return TestClient(
        app or create_app(settings), base_url=address, client=(client, 50000), follow_redirects=False, **options
    )


@contextmanager
def at_rest():
    """Meanwhile nobody works: jobs wait."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("conewise.web.workshop.Workshop.open", lambda *_: None)
        yield


@contextmanager
def served(settings, *, port=0):
    """The address of a server that runs meanwhile, on a port that was free unless one is named."""
    listening = listen(port)
    with serving(running(create_app(settings)), [listening]):
        yield f"{ADDRESS}:{listening.getsockname()[1]}"


@contextmanager
def serving(server, sockets):
    """A server that runs meanwhile."""
    thread = threading.Thread(target=server.run, kwargs={"sockets": sockets})
    thread.start()
    try:
        yield
    finally:
        server.should_exit = True
        thread.join(timeout=30)
        for listening in sockets:
            listening.close()
    assert not thread.is_alive()


SHORT_COURSE = """name = "Short"
[walk]
notes = '''
start
straight 25 m
slalom 4 cones every 18 m first to your left
finish after 20 m
stop box 45 m
'''
"""


def keep_short_course(book):
    """A course that is solved within seconds, kept as `short`."""
    with opened(book, now=lambda: datetime.now(UTC)) as there:
        there.add(CourseText(id="short", text=SHORT_COURSE))


def workers_of(book):
    """Processes that work for a book."""
    listed = subprocess.run(["ps", "-eww", "-o", "pid=,args="], capture_output=True, text=True, check=True).stdout
    rows = [line.split(None, 1) for line in listed.splitlines()]
    return [int(pid) for pid, words in rows if "conewise.web.worker" in words and str(book) in words]


def free_port():
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return found.getsockname()[1]


class ServedApart:
    """`conewise serve` as a process of its own, that can be killed."""

    def __init__(self, book, port):
        self.address = f"{ADDRESS}:{port}"
        program = "from conewise.cli.main import main; main()"
        self.process = subprocess.Popen(
            [sys.executable, "-c", program, "serve", "--book", str(book), "--port", str(port)],
            stdout=subprocess.PIPE,
            text=True,
        )
        said = self.process.stdout.readline()
        assert f"http://127.0.0.1:{port}/" in said

    def kill(self):
        self.process.kill()
        self.process.wait()
        if not self.process.stdout.closed:
            self.process.stdout.close()
