"""Where the book is, and the book there."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import platformdirs

from conewise.store.book import DATABASE, Book, open_book

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    Clock = Callable[[], datetime]


@dataclass(frozen=True, slots=True, kw_only=True)
class BookPlace:
    """Which book, and the clock.

    book: folder; that of the user's data where None.
    now: the clock, with a time zone.
    hides_private: whether medical and contact details stay unread, as for whoever asks over a network.
    """

    now: Clock
    book: Path | None = None
    hides_private: bool = False

    @property
    def folder(self) -> Path:
        """Where it is, or would be."""
        return book_folder(self.book)

    @property
    def exists(self) -> bool:
        """Whether there is a book in its folder."""
        return has_book(self.folder)

    def opened(self, *, create: bool = True) -> Book:
        """The book there; see `opened`."""
        return open_book(self.folder, now=self.now, create=create, hides_private=self.hides_private)


def book_folder(asked: Path | None) -> Path:
    """Where the book is: the folder asked for, else that of the user's data."""
    if asked is not None:
        return asked.expanduser().absolute()
    return Path(platformdirs.user_data_dir("conewise", appauthor=False)) / "book"


def has_book(folder: Path) -> bool:
    """Whether a folder has a book."""
    return (folder / DATABASE).exists()


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
