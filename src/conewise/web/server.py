"""The server: takes its port, says where it is, and serves until it is stopped."""

from __future__ import annotations

import asyncio
import logging
import socket
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import platformdirs
import uvicorn

from conewise.errors import ConflictError, NotFoundError
from conewise.web.app import create_app
from conewise.web.pairing import GOOD_FOR, code_address, code_text
from conewise.web.settings import WebSettings
from conewise.workflows.book_place import book_folder, why_unwritable
from conewise.workflows.demo_book import keep_demo_book

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from fastapi import FastAPI

LOOPBACK_ADDRESS = "127.0.0.1"
_NOWHERE = ("192.0.2.1", 9)  # RFC 5737: an address for documents; nothing is sent there
_QUEUE = 128  # calls that wait to be taken
_PATIENCE = 3  # for open requests when it is stopped [s]


class PortTakenError(ConflictError):
    """A port on which something else is served."""

    code = "port-taken"
    default_hint = "Name another one with --port, or stop the other program."

    def __init__(self, port: int, reason: str) -> None:
        super().__init__(f"Port {port} cannot be used: {reason}.", where="--port")


class NoNetworkError(NotFoundError):
    """A server for phones on a computer that is in no network."""

    code = "no-network"
    default_hint = "Join a network or open one with the phone, or name the computer's address with --address."

    def __init__(self, reason: str) -> None:
        super().__init__(f"This computer has no address in a network: {reason}.", where="--lan")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What was asked of the server on the command line.

    is_networked: whether devices in the network may be let in.
    address: of this computer there; found where it is empty.
    """

    port: int
    book: Path | None
    is_demo: bool
    is_networked: bool = False
    address: str = ""
    now: Callable[[], datetime]


def serve(asked: Asked, *, say: Callable[[str], object]) -> None:
    """Serve until stopped from the keyboard or by a signal.

    Parameters
    ----------
    asked : Asked
    say : callable
        Told where the pages are, and before that how far the demo book is where it has to be made.

    Raises
    ------
    PortTakenError
        If the port cannot be used.
    NoNetworkError
        If this computer is in no network, and devices there are to be let in.
    """
    settings = WebSettings(book=book_folder(asked.book), demo=demo_folder(), now=asked.now, is_demo=asked.is_demo)
    if asked.is_demo:
        keep_demo_book(settings.demo, now=asked.now, tell=say)
    else:
        say_where_nothing_is_kept(settings.book, say=say)
    sockets = [listen(asked.port)]
    port = sockets[0].getsockname()[1]
    here = f"http://{LOOPBACK_ADDRESS}:{port}/"
    say(f"conewise is at {here} on this computer. Ctrl-C stops it.")
    if asked.is_networked:
        address = asked.address or network_address()
        sockets.append(listen(port, address))
        settings = replace(settings, origin=f"http://{address}:{port}", hosts=(*settings.hosts, address))
    app = create_app(settings)
    if asked.is_networked:
        say_how_to_pair(app, settings.origin, here=here, say=say)
    running(app).run(sockets=sockets)


def say_where_nothing_is_kept(folder: Path, *, say: Callable[[str], object]) -> None:
    """Warn before the first page where the book could never be written."""
    if reason := why_unwritable(folder):
        say(f"Warning: nothing can be kept in {folder}: {reason}. Name a folder that you may write to: --book FOLDER.")


def say_how_to_pair(app: FastAPI, origin: str, *, here: str, say: Callable[[str], object]) -> None:
    """Show a code for the mentor's own phone, and where others are let in."""
    code = app.state.pairings.offer("mentor")
    say(f"Phones in the network are answered at {origin}/ once they are let in; others are let in at {here}phones.")
    say("What goes over the network is not encrypted: use one of your own.")
    minutes = int(GOOD_FOR.total_seconds() // 60)
    say(f"For the mentor's phone, good for one phone and {minutes} minutes; read it with the camera:")
    say(code_text(code_address(origin, code)))


def network_address() -> str:
    """The address of this computer in its network; nothing is sent to find it.

    Raises
    ------
    NoNetworkError
        If there is none.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect(_NOWHERE)
        except OSError as reason:
            raise NoNetworkError(reason.strerror or "the system has no way out") from None
        found = str(asking.getsockname()[0])
    if found.startswith("127."):
        raise NoNetworkError("only its own")
    return found


def demo_folder() -> Path:
    """Where the invented example is kept, away from the book of a person."""
    return Path(platformdirs.user_data_dir("conewise", appauthor=False)) / "demo"


def listen(port: int, address: str = LOOPBACK_ADDRESS) -> socket.socket:
    """A socket that hears calls from now on; port 0 takes any that is free.

    Raises
    ------
    PortTakenError
        If it cannot be had.
    """
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((address, port))
        listening.listen(_QUEUE)
    except OSError as reason:
        listening.close()
        raise PortTakenError(port, reason.strerror or "the system refuses") from None
    return listening


def running(app: object) -> uvicorn.Server:
    """The server of an application: quiet, and without its name in the answers."""
    config = uvicorn.Config(
        app,  # type: ignore[arg-type]
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,  # nobody else says who asks
        timeout_graceful_shutdown=_PATIENCE,
    )
    logging.getLogger("uvicorn.error").addFilter(_is_a_fault)
    return uvicorn.Server(config)


def _is_a_fault(record: logging.LogRecord) -> bool:
    """Whether a record tells of more than a request that was given up because the server was stopped."""
    kind = record.exc_info[0] if record.exc_info else None
    return kind is None or not issubclass(kind, asyncio.CancelledError)
