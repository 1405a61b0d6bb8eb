"""Devices that were let in over the network: what each may do, until when. Only digests of their secrets are kept."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from sqlalchemy import delete, select

from conewise.store.jobs import without_devices
from conewise.store.tables import WebSessionRow

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import ColumnElement
    from sqlalchemy.orm import Session

    from conewise.store.book import Book

IDLE = timedelta(hours=12)  # without a request a session ends
USED = timedelta(minutes=1)  # the last request is noted this often


@dataclass(frozen=True, slots=True, kw_only=True)
class WebSession:
    """One device that was let in.

    id: digest of its secret.
    role: "mentor", "driver" or "recorder".
    person: id of whose it is; empty where nobody's.
    """

    id: str
    device: str
    role: str
    person: str
    made_at: datetime
    used_at: datetime
    ends_at: datetime


class WebSessions:
    """The sessions of a book. Every change is a transaction of its own.

    A device whose session has ended waits for no job any more: what nobody else waits for stops.
    """

    def __init__(self, book: Book) -> None:
        self._book = book

    def begin(self, secret: str, *, device: str, role: str, person: str, lasts: timedelta) -> WebSession:
        """Let a device in that shows a secret from now on.

        Parameters
        ----------
        secret : str
            What it will show; not kept.
        device : str
            What it is called.
        role, person : str
        lasts : timedelta
            After which it ends however it is used.
        """
        moment = self._book.now()
        row = WebSessionRow(
            id=digest(secret), device=device, role=role, person=person, made_at=moment, used_at=moment,
            ends_at=moment + lasts,
        )  # fmt: skip
        with self._book.session() as session:
            session.add(row)
            session.flush()
            return _session(row)

    def of(self, secret: str) -> WebSession | None:
        """The session of whoever shows a secret; None where it has ended or never was."""
        moment = self._book.now()
        with self._book.reading() as reader:
            row = reader.session.get(WebSessionRow, digest(secret))
            found = None if row is None else _session(row)
        if found is None:
            return None
        if moment >= found.ends_at or moment >= found.used_at + IDLE:
            self.end(found.id)
            return None
        if moment >= found.used_at + USED:
            with self._book.session() as session:
                used = session.get(WebSessionRow, found.id)
                if used is not None:
                    used.used_at = moment
        return found

    def every(self) -> tuple[WebSession, ...]:
        """All that have not ended, the latest first; those that have are taken out."""
        moment = self._book.now()
        old = (WebSessionRow.ends_at <= moment) | (WebSessionRow.used_at <= moment - IDLE)
        with self._book.session() as session:
            _end(session, old)
            rows = session.scalars(select(WebSessionRow).order_by(WebSessionRow.made_at.desc(), WebSessionRow.id))
            return tuple(map(_session, rows))

    def end(self, session_id: str) -> bool:
        """End a session; whether there was one."""
        with self._book.session() as session:
            return bool(_end(session, WebSessionRow.id == session_id))

    def end_all(self) -> int:
        """End every session; how many there were."""
        ended = self.every()
        with self._book.session() as session:
            _end(session)
        return len(ended)


def digest(secret: str) -> str:
    """What is kept of a secret of at least 128 random bits: enough to know it again, not to make it."""
    return hashlib.sha256(secret.encode()).hexdigest()


def _end(session: Session, *which: ColumnElement[bool]) -> int:
    """Take sessions out, and their devices from among those who wait for jobs; how many there were."""
    gone = session.scalars(delete(WebSessionRow).where(*which).returning(WebSessionRow.id)).all()
    without_devices(session, gone)
    return len(gone)


def _session(row: WebSessionRow) -> WebSession:
    return WebSession(
        id=row.id, device=row.device, role=row.role, person=row.person, made_at=row.made_at, used_at=row.used_at,
        ends_at=row.ends_at,
    )  # fmt: skip
