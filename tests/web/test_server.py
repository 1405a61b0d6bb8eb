"""The server while it is stopped."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import threading

import httpx
import pytest

from conewise.web import server
from tests.web_app import serving


@pytest.fixture
def stopped(monkeypatch):
    """A function that stops the server of an app while a request is open, and returns what it wrote down."""
    monkeypatch.setattr(server, "_PATIENCE", 1)

    told = logging.getLogger("uvicorn.error")
    handler = Kept()

    def stop(app):
        listening = server.listen(0)
        address = f"http://127.0.0.1:{listening.getsockname()[1]}"

        def ask():
            with contextlib.suppress(httpx.HTTPError):
                httpx.get(address, timeout=20)

        asking = threading.Thread(target=ask)
        with serving(server.running(app), [listening]):
            asking.start()
            told.addHandler(handler)
            assert app.asked.wait(10)
        asking.join(timeout=20)
        return handler.records

    yield stop
    told.removeHandler(handler)


class Kept(logging.Handler):
    """What was written down."""

    def __init__(self):
        super().__init__()
        self.records = []

    def emit(self, record):
        self.records.append(record)


class Slow:
    """An app that needs a minute to answer, and does not end well where `fault` is given."""

    def __init__(self, fault=None):
        self.asked, self.fault = threading.Event(), fault

    async def __call__(self, scope, _receive, _send):
        if scope["type"] != "http":
            return
        self.asked.set()
        try:
            await asyncio.sleep(60)
        except asyncio.CancelledError:
            if self.fault:
                raise self.fault from None
            raise


def test_an_open_request_is_given_up_without_a_traceback(stopped):
    records = stopped(Slow())
    assert any("timeout graceful shutdown exceeded" in record.getMessage() for record in records)
    assert not any(record.exc_info for record in records)


def test_a_fault_is_told_then_too(stopped):
    records = stopped(Slow(ZeroDivisionError("of the app")))
    assert [record.exc_info[0] for record in records if record.exc_info] == [ZeroDivisionError]


def test_a_place_that_can_never_be_written_is_said_at_the_start(tmp_path):
    said = []
    server.say_where_nothing_is_kept(tmp_path / "not" / "yet", say=said.append)
    assert said == []
    (tmp_path / "file").write_text("", encoding="utf-8")
    server.say_where_nothing_is_kept(tmp_path / "file" / "book", say=said.append)
    assert said[0].startswith(f"Warning: nothing can be kept in {tmp_path / 'file' / 'book'}: ")
    assert not (tmp_path / "not").exists()
