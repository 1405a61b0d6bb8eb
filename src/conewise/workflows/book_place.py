"""Where the book is, and the book there."""

from __future__ import annotations

import tempfile
import threading
import weakref
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import platformdirs

from conewise.store.book import DATABASE, Book, open_book

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

    Clock = Callable[[], datetime]


class OpenBooks:
    """Books that stay open between requests, for opening reads every page. Safe to be used from several threads."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._books: dict[tuple[Path, bool, Clock], Book] = {}
        weakref.finalize(self, _close, self._books)

    def book(self, folder: Path, *, now: Clock, create: bool, hides_private: bool) -> Book:
        """The book of a folder, opened anew where another one has taken its place; see `open_book`."""
        key = (folder, hides_private, now)
        with self._lock:
            kept = self._books.get(key)
            if kept is not None and kept.is_there:
                return kept
            if kept is not None:
                self._books.pop(key).close()
            self._books[key] = open_book(folder, now=now, create=create, hides_private=hides_private)
            return self._books[key]

    def close(self) -> None:
        """Let go of all of them."""
        with self._lock:
            _close(self._books)


def _close(books: dict[tuple[Path, bool, Clock], Book]) -> None:
    while books:
        books.popitem()[1].close()


@dataclass(frozen=True, slots=True, kw_only=True)
class BookPlace:
    """Which book, and the clock.

    book: folder; that of the user's data where None.
    now: the clock, with a time zone.
    hides_private: whether medical and contact details stay unread, as for whoever asks over a network.
    books: where it stays open; where None it is opened and closed each time.
    """

    now: Clock
    book: Path | None = None
    hides_private: bool = False
    books: OpenBooks | None = None

    @property
    def folder(self) -> Path:
        """Where it is, or would be."""
        return book_folder(self.book)

    @property
    def exists(self) -> bool:
        """Whether there is a book in its folder."""
        return has_book(self.folder)

    @contextmanager
    def opened(self, *, create: bool = True) -> Iterator[Book]:
        """The book there, for as long as it is wanted; see `opened`."""
        if self.books is not None:
            yield self.books.book(self.folder, now=self.now, create=create, hides_private=self.hides_private)
            return
        with open_book(self.folder, now=self.now, create=create, hides_private=self.hides_private) as book:
            yield book


def book_folder(asked: Path | None) -> Path:
    """Where the book is: the folder asked for, else that of the user's data."""
    if asked is not None:
        return asked.expanduser().absolute()
    return Path(platformdirs.user_data_dir("conewise", appauthor=False)) / "book"


def has_book(folder: Path) -> bool:
    """Whether a folder has a book."""
    return (folder / DATABASE).exists()


def why_unwritable(folder: Path) -> str:
    """Why nothing can be kept in a folder, or in the one that it would be made in; empty where it can."""
    try:
        place = next(one for one in (folder, *folder.parents) if one.exists())
        with tempfile.TemporaryDirectory(dir=place, prefix=".conewise-"):
            return ""
    except OSError as reason:
        return reason.strerror or "the system refuses"


def opened(asked: Path | None, *, now: Clock, create: bool = True) -> Book:
    """The book in the folder asked for, or in that of the user's data.

    Parameters
    ----------
    asked : Path or None
        What was said with --book or CONEWISE_BOOK.
    now : callable
        The clock, with a time zone.
    create : bool, default True
        Whether a new book is made where there is none.

    Raises
    ------
    ConewiseError
        If it cannot be opened; see `conewise.store.book.open_book`.
    """
    return open_book(book_folder(asked), now=now, create=create)
