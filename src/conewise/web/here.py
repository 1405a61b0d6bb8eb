"""What a request is about: which book, which event, driver and car, and how its reader wants to read."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Annotated
from urllib.parse import parse_qsl, urlencode

from fastapi import Depends, Request

from conewise.errors import NotFoundError
from conewise.web.shown import Shown, shown_of
from conewise.workflows.book_place import BookPlace, OpenBooks, has_book
from conewise.workflows.chosen import Chosen, Named, chosen

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date, datetime
    from pathlib import Path

    from conewise.web.settings import WebSettings
    from conewise.web.visitors import Visitor

CHOICE = "conewise-chosen"  # cookie with the last choice
_NAMES = ("event", "driver", "car")
MOST_OFFERED = 12  # in a line of text


class NotInBookError(NotFoundError):
    """An address names an event, a driver, a car and so on that the book does not have.

    name: "event", "driver", "car", or what else the address calls it; offers: those that it has; of: what it is, in
    words, where they are not its name.
    """

    code = "not-in-book"

    def __init__(self, name: str, asked: str, offers: tuple[Named, ...], *, of: str = "") -> None:
        known = ", ".join(one.id for one in offers[:MOST_OFFERED])
        hint = f"It has {known}." if known else "Take it out of the address."
        super().__init__(f"There is no {of or name} '{asked[:60]}' in this book.", where=name, hint=hint)
        self.name, self.offers = name, offers


@dataclass(slots=True)
class Shelf:
    """Which of the two books the server shows: a person's own, or the invented one. The only thing that changes.

    books: kept open between requests.
    """

    settings: WebSettings
    is_demo: bool
    books: OpenBooks = field(default_factory=OpenBooks)

    def place(self, folder: Path, *, hides_private: bool = False) -> BookPlace:
        """One of the two books, as workflows take it."""
        return BookPlace(book=folder, now=self.settings.now, hides_private=hides_private, books=self.books)

    @property
    def home(self) -> Path:
        """Folder of the book that the server was started with; devices over the network see this one alone."""
        return self.settings.demo / "book" if self.settings.is_demo else self.settings.book

    @property
    def book(self) -> Path:
        """Folder of the book that is shown on the laptop."""
        return self.settings.demo / "book" if self.is_demo else self.settings.book


@dataclass(frozen=True, slots=True, kw_only=True)
class Here:
    """What a request is about.

    visitor: who asks; None for a device that was not let in, to which nothing is shown.
    has_book: False before anything was kept.
    asked: ids of event, driver and car that the address or the cookie names, as they came.
    source: the book, as workflows take it.
    """

    visitor: Visitor | None
    book: Path
    source: BookPlace
    is_demo: bool
    has_book: bool
    now: Callable[[], datetime]
    shown: Shown
    asked: dict[str, str]
    chosen: Chosen

    @property
    def by(self) -> str:
        """Who makes a change, for the history: the device and whose it is; nobody in particular at the laptop."""
        return "" if self.visitor is None or self.visitor.is_laptop else f"{self.visitor.device} ({self.visitor.role})"

    def may(self, path: str) -> bool:
        """Whether who asks may see a page."""
        return self.visitor is not None and self.visitor.may("GET", path)

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
    visitor: Visitor | None = getattr(request.state, "visitor", None)
    is_laptop = visitor is not None and visitor.is_laptop
    book, now = shelf.book if is_laptop else shelf.home, shelf.settings.now
    kept = dict(parse_qsl(request.cookies.get(CHOICE, "")))
    if "event" in request.query_params and "driver" not in request.query_params:
        kept = {}  # of another event
    named = {name: request.query_params.get(name, kept.get(name, "")) for name in _NAMES}
    if visitor is not None and visitor.role == "driver":
        named["driver"] = visitor.person
    source = shelf.place(book, hides_private=not is_laptop)
    is_there = visitor is not None and has_book(book)
    found = (
        chosen(source, today=now().astimezone().date(), **named)
        if is_there
        else Chosen(event=None, driver=None, car=None)
    )
    if visitor is not None and visitor.role == "driver":
        found = _own(found, visitor.person)
    return Here(
        visitor=visitor,
        book=book,
        source=source,
        is_demo=shelf.is_demo if is_laptop else shelf.settings.is_demo,
        has_book=is_there,
        now=now,
        shown=shown_of(request.cookies),
        asked=named,
        chosen=found,
    )


def named_here(request: Request) -> Here:
    """What a request is about, where the book has what its address names.

    What the cookie names is a habit: where it has gone from the book, the next event is shown. What the address names
    is meant: another event in its place would take runs that are not its own.

    Raises
    ------
    NotInBookError
    """
    at = here(request)
    is_driver = at.visitor is not None and at.visitor.role == "driver"
    offers = {"event": at.chosen.events, "driver": at.chosen.drivers, "car": at.chosen.cars}
    for name in at.chosen.unknown:
        if name in request.query_params and not (name == "driver" and is_driver):
            raise NotInBookError(name, at.asked[name], offers[name])
    return at


def _own(found: Chosen, person: str) -> Chosen:
    """What one driver can choose: that driver, and the cars that the driver is entered with."""
    entries = found.event.entries if found.event else ()
    cars = {entry.car for entry in entries if entry.person == person}
    return replace(
        found,
        drivers=tuple(one for one in found.drivers if one.id == person),
        cars=tuple(one for one in found.cars if one.id in cars),
    )


Place = Annotated[Here, Depends(named_here)]
