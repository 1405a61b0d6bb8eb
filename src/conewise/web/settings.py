"""What a server is started with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")  # names by which a browser on this machine calls it


@dataclass(frozen=True, slots=True, kw_only=True)
class WebSettings:
    """What a server is started with.

    book: folder of the book.
    demo: folder of the invented example; its book is shown where `is_demo`, or where somebody asks for it.
    now: the clock, with a time zone.
    hosts: names by which it may be called.
    origin: by which phones call it, such as "http://192.168.1.20:8460"; empty where it answers this machine alone.
    """

    book: Path
    demo: Path
    now: Callable[[], datetime]
    is_demo: bool = False
    hosts: tuple[str, ...] = LOOPBACK
    origin: str = ""

    @property
    def session_cookie(self) -> str:
        """Name of the cookie by which a device is known: of its own for each port, which cookies do not tell apart."""
        return f"conewise-session-{self.origin.rpartition(':')[2] or 'here'}"
