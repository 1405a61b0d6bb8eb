"""Devices that the web app lets in over the network: begun by pairing, seen on a page, ended by a press."""

from __future__ import annotations

import secrets
from datetime import timedelta
from typing import TYPE_CHECKING

from conewise.event.people import Person
from conewise.store.sessions import WebSession, WebSessions, digest
from conewise.workflows.book_place import has_book

if TYPE_CHECKING:
    from conewise.workflows.book_place import BookPlace

__all__ = ["LASTS", "WebSession", "device_of", "devices", "digest", "let_in", "people", "show_all_out", "show_out"]

LASTS = timedelta(days=3)  # an event weekend, with the day before
_SECRET = 32  # random bytes


def let_in(place: BookPlace, *, device: str, role: str, person: str) -> str:
    """Let a device in, and return the secret that it shows from now on."""
    secret = secrets.token_urlsafe(_SECRET)
    with place.opened() as book:
        WebSessions(book).begin(secret, device=device, role=role, person=person, lasts=LASTS)
    return secret


def device_of(place: BookPlace, secret: str) -> WebSession | None:
    """The device that shows a secret; None where it is not let in."""
    if not secret or not has_book(place.folder):
        return None
    with place.opened(create=False) as book:
        return WebSessions(book).of(secret)


def devices(place: BookPlace) -> tuple[WebSession, ...]:
    """All that are let in, the latest first."""
    if not has_book(place.folder):
        return ()
    with place.opened(create=False) as book:
        return WebSessions(book).every()


def show_out(place: BookPlace, session_id: str) -> None:
    """End the session of a device."""
    with place.opened(create=False) as book:
        WebSessions(book).end(session_id)


def show_all_out(place: BookPlace) -> None:
    """End every session."""
    with place.opened(create=False) as book:
        WebSessions(book).end_all()


def people(place: BookPlace) -> tuple[tuple[str, str], ...]:
    """Ids and names of everybody in the book, by name."""
    if not has_book(place.folder):
        return ()
    with place.opened(create=False) as book:
        found = [(kept.id, kept.record.name) for kept in book.every(Person)]
    return tuple(sorted(found, key=lambda one: (one[1].casefold(), one[0])))
