"""The book of the invented season, made where it is not there yet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.demo.season import EVENTS
from conewise.event.day import Event
from conewise.workflows.book_place import has_book, opened
from conewise.workflows.demo import write_examples
from conewise.workflows.demo_season import FOLDER, fill_season, quiet

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path


def keep_demo_book(into: Path, *, now: Callable[[], datetime], tell: Callable[[str], object] = quiet) -> Path:
    """Folder of the book of the invented season; it is filled where it is not yet, and else left as it is.

    Parameters
    ----------
    into : Path
        Folder of the demonstration, which gets the example files too.
    now : callable
        The clock, with a time zone.
    tell : callable, optional
        Told in words what is being done, where the book is not there yet.

    Raises
    ------
    ConewiseError
        If a file cannot be written.
    """
    folder = into / FOLDER
    if not _is_filled(folder, now):
        tell(f"The demo book is made, once, in {folder}; this takes half a minute or so.")
        write_examples(into, force=True)
        fill_season(into, now=now, tell=tell)
    return folder


def _is_filled(folder: Path, now: Callable[[], datetime]) -> bool:
    """Whether the last event is there: it is kept last."""
    if not has_book(folder):
        return False
    with opened(folder, now=now) as book:
        return book.find(Event, EVENTS[-1][0]) is not None
