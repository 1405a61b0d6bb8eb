"""The server: takes its port, says where it is, and serves until it is stopped."""

from __future__ import annotations

import socket
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import platformdirs
import uvicorn

from conewise.errors import ConflictError
from conewise.web.app import create_app
from conewise.web.settings import WebSettings
from conewise.workflows.book_place import book_folder
from conewise.workflows.demo_book import keep_demo_book

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

LOOPBACK_ADDRESS = "127.0.0.1"
_QUEUE = 128  # calls that wait to be taken
_PATIENCE = 3  # for open requests when it is stopped [s]


class PortTakenError(ConflictError):
    """A port on which something else is served."""

    code = "port-taken"
    default_hint = "Name another one with --port, or stop the other program."

    def __init__(self, port: int, reason: str) -> None:
        super().__init__(f"Port {port} cannot be used: {reason}.", where="--port")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What was asked of the server on the command line."""

    port: int
    book: Path | None
    is_demo: bool
    now: Callable[[], datetime]


def serve(asked: Asked, *, say: Callable[[str], object]) -> None:
    """Serve until stopped from the keyboard or by a signal.

    Parameters
    ----------
    asked : Asked
    say : callable
        Told where the pages are.

    Raises
    ------
    PortTakenError
        If the port cannot be used.
    """
    settings = WebSettings(book=book_folder(asked.book), demo=demo_folder(), now=asked.now, is_demo=asked.is_demo)
    if asked.is_demo:
        keep_demo_book(settings.demo, now=asked.now)
    listening = listen(asked.port)
    say(f"conewise is at http://{LOOPBACK_ADDRESS}:{listening.getsockname()[1]}/ on this computer. Ctrl-C stops it.")
    running(create_app(settings)).run(sockets=[listening])


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
    return uvicorn.Server(
        uvicorn.Config(
            app,  # type: ignore[arg-type]
            log_level="warning",
            access_log=False,
            server_header=False,
            timeout_graceful_shutdown=_PATIENCE,
        )
    )
