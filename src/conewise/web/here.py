"""What a request is about: which book, which event, driver and car, and how its reader wants to read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated
from urllib.parse import parse_qsl, urlencode

from fastapi import Depends, Request

from conewise.web.shown import Shown, shown_of
from conewise.workflows.book_place import BookPlace, has_book
from conewise.workflows.chosen import Chosen, chosen

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date, datetime
    from pathlib import Path

    from conewise.web.settings import WebSettings

CHOICE = "conewise-chosen"  # cookie with the last choice
_NAMES = ("event", "driver", "car")


@dataclass(slots=True)
class Shelf:
    """Which of the two books the server shows: a person's own, or the invented one. The only thing that changes."""

    settings: WebSettings
    is_demo: bool

    @property
    def book(self) -> Path:
        """Folder of the book that is shown."""
        return self.settings.demo / "book" if self.is_demo else self.settings.book


@dataclass(frozen=True, slots=True, kw_only=True)
class Here:
    """What a request is about.

    has_book: False before anything was kept.
    asked: ids of event, driver and car that the address or the cookie names, as they came.
    """

    book: Path
    is_demo: bool
    has_book: bool
    now: Callable[[], datetime]
    shown: Shown
    asked: dict[str, str]
    chosen: Chosen

    @property
    def source(self) -> BookPlace:
        """The book, as workflows take it."""
        return BookPlace(book=self.book, now=self.now)

    @property
    def today(self) -> date:
        """The day by the clock of this machine."""
        return self.now().astimezone().date()

    @property
    def query(self) -> str:
        """What is chosen, for the addresses of a page's links: "event=april&driver=ana"."""
        found = {name: getattr(self.chosen, name) for name in _NAMES}
        return urlencode({name: one.id for name, one in found.items() if one is not None})


def here(request: Request) -> Here:
    """What a request is about."""
    shelf: Shelf = request.app.state.shelf
    book, now = shelf.book, shelf.settings.now
    kept = dict(parse_qsl(request.cookies.get(CHOICE, "")))
    named = {name: request.query_params.get(name, kept.get(name, "")) for name in _NAMES}
    if "event" in request.query_params and "driver" not in request.query_params:
        named |= {"driver": "", "car": ""}
    source = BookPlace(book=book, now=now)
    is_there = has_book(book)
    found = (
        chosen(source, today=now().astimezone().date(), **named)
        if is_there
        else Chosen(event=None, driver=None, car=None)
    )
    return Here(
        book=book,
        is_demo=shelf.is_demo,
        has_book=is_there,
        now=now,
        shown=shown_of(request.cookies),
        asked=named,
        chosen=found,
    )


Place = Annotated[Here, Depends(here)]
