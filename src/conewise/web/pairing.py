"""One-time codes that let a device in: made at the laptop, read with a camera, good for minutes and for one device."""

from __future__ import annotations

import io
import secrets
import threading
from collections import defaultdict, deque
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import segno

from conewise.errors import ConewiseError
from conewise.workflows.web_sessions import digest

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

GOOD_FOR = timedelta(minutes=3)
MOST_OPEN = 20  # codes at once; the oldest goes
TRIES = 6  # of one address within WINDOW
TRIES_OF_ALL = 40
WINDOW = timedelta(minutes=5)
_CODE = 16  # random bytes


class CodeUsedError(ConewiseError):
    """A pairing code that is unknown, was used, or is too old."""

    code = "pairing-code"
    status = 403
    default_hint = "Let the laptop show a new one, and read it within three minutes."

    def __init__(self) -> None:
        super().__init__("This code is not good, or not any more.", where="code")


class TooManyTriesError(ConewiseError):
    """Too many codes were tried in a short time."""

    code = "too-many-tries"
    status = 429
    default_hint = "Wait five minutes, then try again with a new code."

    def __init__(self) -> None:
        super().__init__("Too many codes were tried from here.", where="code")


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """What a code lets in."""

    role: str
    person: str
    ends_at: datetime


class Pairings:
    """The codes that are open now, by their digests. They end with the server."""

    def __init__(self, now: Callable[[], datetime]) -> None:
        self._now = now
        self._lock = threading.Lock()
        self._open: dict[str, Offer] = {}
        self._tries: defaultdict[str, deque[datetime]] = defaultdict(deque)

    def offer(self, role: str, person: str = "") -> str:
        """A new code for one device."""
        code = secrets.token_urlsafe(_CODE)
        with self._lock:
            while len(self._open) >= MOST_OPEN:
                self._open.pop(next(iter(self._open)))
            self._open[digest(code)] = Offer(role=role, person=person, ends_at=self._now() + GOOD_FOR)
        return code

    def take(self, code: str, *, address: str) -> Offer:
        """Use a code up.

        Parameters
        ----------
        code : str
        address : str
            Of the device that shows it; its tries are counted.

        Raises
        ------
        TooManyTriesError
            After too many tries from there, or in all.
        CodeUsedError
            If the code is not good.
        """
        with self._lock:
            self._count(address, TRIES)
            self._count("", TRIES_OF_ALL)
            found = self._open.pop(digest(code), None)
            if found is None or self._now() >= found.ends_at:
                raise CodeUsedError
            return found

    def _count(self, address: str, most: int) -> None:
        tries, moment = self._tries[address], self._now()
        while tries and tries[0] < moment - WINDOW:
            tries.popleft()
        if len(tries) >= most:
            raise TooManyTriesError
        tries.append(moment)
        if len(self._tries) > 1000:  # addresses that came long ago
            for name in [name for name, times in self._tries.items() if times[-1] < moment - WINDOW]:
                del self._tries[name]


def code_address(origin: str, code: str) -> str:
    """What the camera reads. The code stands behind the #, which no browser sends and no server writes down."""
    return f"{origin}/pair#{code}"


def code_picture(address: str) -> str:
    """A QR code (ISO/IEC 18004) as SVG."""
    written = io.BytesIO()
    segno.make(address, error="m", micro=False).save(
        written, kind="svg", xmldecl=False, nl=False, scale=6, border=4, light="#fff", dark="#000"
    )
    return written.getvalue().decode()


def code_text(address: str) -> str:
    """The same for a terminal."""
    written = io.StringIO()
    segno.make(address, error="l", micro=False).terminal(written, border=2, compact=True)
    return written.getvalue()
