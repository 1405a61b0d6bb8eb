"""Proof that the pages need nothing but this computer: all are asked for while nothing else can be reached."""

from __future__ import annotations

import http.client
import re
import sys
import tempfile
import threading
from collections import deque
from contextlib import contextmanager
from dataclasses import dataclass
from html import unescape
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urljoin, urlsplit, urlunsplit

from conewise.errors import ConewiseError
from conewise.web.app import create_app
from conewise.web.server import LOOPBACK_ADDRESS, listen, running
from conewise.web.settings import WebSettings
from conewise.workflows.demo_book import keep_demo_book

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

_MOST = 1000  # pages; there are far fewer
_TIMEOUT = 60.0  # [s]
_LINKS = re.compile(r'<a [^>]*href="([^"#]*)')
_LOADED = {  # what a browser loads by itself, by media type
    "text/html": re.compile(r'<(?:link|script|img|iframe|source)\b[^>]*(?:href|src)="([^"#]*)'),
    "text/javascript": re.compile(r'\b(?:from|import)\s*\(?\s*["\']([^"\'$]+)["\']'),
    "text/css": re.compile(r"url\(\s*[\"']?([^\"')]+)"),
}
_SENT = re.compile(r'<form\b[^>]*action="([^"#]*)')
_NAMESPACE = "http://www.w3.org/"  # names of markup, never asked for
_ADDRESS = re.compile(r"https?://[^\s\"'<>)\\`]+")


class NeedsOutsideError(ConewiseError):
    """Something of the pages is not on this computer."""

    code = "needs-outside"

    def __init__(self, found: list[str]) -> None:
        super().__init__(f"The pages need what is not here: {'; '.join(found[:5])}.", where="--check-offline")


@dataclass(frozen=True, slots=True, kw_only=True)
class Offline:
    """What was asked for and found on this computer."""

    n_pages: int
    n_files: int
    n_bytes: int


def proved_offline(*, now: Callable[[], datetime]) -> Offline:
    """The same over the invented book, in a folder that goes afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        demo = Path(folder)
        keep_demo_book(demo, now=now)
        return check_offline(WebSettings(book=demo / "none", demo=demo, now=now, is_demo=True))


def check_offline(settings: WebSettings) -> Offline:
    """Ask for every page and file that the first page leads to, from a server of its own.

    Meanwhile this program can reach nothing but this computer.

    Parameters
    ----------
    settings : WebSettings
        The book, by rule the invented one.

    Raises
    ------
    NeedsOutsideError
        If a page, style or script is missing or loads from elsewhere, or the program tried to reach something.
    """
    listening = listen(0)
    server = running(create_app(settings))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    with _alone() as tried:
        thread.start()
        try:
            found, problems = _asked_for(listening.getsockname()[1])
        finally:
            server.should_exit = True
            thread.join()
            listening.close()
    problems += [f"the program tried to reach {place}" for place in tried]
    if problems:
        raise NeedsOutsideError(problems)
    pages = {path for path, (kind, _) in found.items() if kind.startswith("text/html")}
    return Offline(
        n_pages=len(pages), n_files=len(found) - len(pages), n_bytes=sum(len(text) for _, text in found.values())
    )


def _asked_for(port: int) -> tuple[dict[str, tuple[str, str]], list[str]]:
    """Kind and text of everything by its path; what is missing or elsewhere."""
    found: dict[str, tuple[str, str]] = {}
    problems: list[str] = []
    pending = deque(["/"])
    while pending and len(found) < _MOST:
        address = pending.popleft()
        path = urlsplit(address).path
        if path in found:
            continue
        status, kind, text = _answer(port, address)
        found[path] = (kind, text)
        if status >= 400:
            problems.append(f"{path} (status {status})")
        elsewhere, here = _leads(path, kind, text)
        problems += [f"{place} (from {path})" for place in elsewhere]
        pending += here
    return found, problems


def _answer(port: int, address: str) -> tuple[int, str, str]:
    connection = http.client.HTTPConnection(LOOPBACK_ADDRESS, port, timeout=_TIMEOUT)
    try:
        connection.request("GET", address, headers={"Accept": "text/html"})
        answer = connection.getresponse()
        return answer.status, answer.getheader("Content-Type", ""), answer.read().decode("utf-8", "replace")
    finally:
        connection.close()


def _leads(path: str, kind: str, text: str) -> tuple[list[str], list[str]]:
    """Where a page or file leads: addresses elsewhere that it would load or send to, and those here."""
    pattern = _LOADED.get(kind.split(";", maxsplit=1)[0])
    loaded = pattern.findall(text) if pattern else []
    is_page = kind.startswith("text/html")
    linked, sent = (_LINKS.findall(text), _SENT.findall(text)) if is_page else ([], [])
    elsewhere = [address for address in (*loaded, *sent) if urlsplit(urljoin("//here/", address)).netloc != "here"]
    if "javascript" in kind or "css" in kind:
        elsewhere += [address for address in _ADDRESS.findall(text) if not address.startswith(_NAMESPACE)]
    own = [urljoin(path, unescape(address)) for address in (*loaded, *linked)]
    parts = [urlsplit(address) for address in own if not address.startswith(("data:", "blob:"))]
    return elsewhere, [urlunsplit(part) for part in parts if not part.netloc and not part.scheme]


@contextmanager
def _alone() -> Iterator[list[str]]:
    """Meanwhile no call of this program beyond this computer goes out; where it tried to is noted."""
    tried: list[str] = []
    is_watched = True

    def watch(event: str, arguments: tuple[Any, ...]) -> None:
        if is_watched and event == "socket.connect":
            place = arguments[1]
            host = str(place[0]) if isinstance(place, tuple) else ""
            if host and not host.startswith("127.") and host != "::1":
                tried.append(host)
                raise NeedsOutsideError([host])

    sys.addaudithook(watch)  # it stays for as long as the program runs, and lets all pass afterwards
    try:
        yield tried
    finally:
        is_watched = False
