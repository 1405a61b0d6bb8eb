"""The book: where it is, what is in it, and whole copies of it in and out."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

from conewise.findings import Finding, has_stop
from conewise.store import backup as backups
from conewise.store.backup import BackupSummary
from conewise.store.book import Book
from conewise.store.check import check_book
from conewise.store.errors import ExportedFileError
from conewise.store.export import ExportSummary, export
from conewise.store.intake import IntakeSummary, take_in
from conewise.store.kinds import KINDS
from conewise.workflows.book_place import book_folder, opened
from conewise.workflows.photos_kept import clean_photos, photo_findings

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

    Clock = Callable[[], datetime]

__all__ = ["BackupSummary", "Book", "BookSummary", "CheckedBook", "ExportSummary", "book_folder", "opened"]

LEFT = "No photo was changed, since the book has damage. Restore it from a backup first, then clean the photos."
_TITLES = {
    "event": "Events",
    "course": "Courses",
    "car-file": "Cars",
    "driver-file": "Drivers",
    "changes": "Changes and parts",
    "rules": "Rule sets",
    "log": "Recordings",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BookSummary:
    """A book at a glance.

    counts: number of records by kind.
    cars, courses: names under which car and course files are kept.
    names: those of everything that commands take by its name, by what a person calls it.
    """

    folder: Path
    counts: dict[str, int]
    cars: tuple[str, ...]
    courses: tuple[str, ...]
    names: dict[str, tuple[str, ...]]

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        return {**asdict(self), "folder": str(self.folder)}


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedBook:
    """What is wrong with a book.

    n_cleaned: photos out of which place, device and moment were taken; None where that was not asked for.
    """

    folder: Path
    findings: tuple[Finding, ...]
    n_cleaned: int | None = None

    @property
    def is_whole(self) -> bool:
        """Whether everything that was kept can be read."""
        return not has_stop(list(self.findings))

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        rows = [asdict(finding) for finding in self.findings]
        told = {"ok": self.is_whole, "folder": str(self.folder), "findings": rows}
        return told if self.n_cleaned is None else told | {"n_photos_cleaned": self.n_cleaned}


def summary_of(asked: Path | None, *, now: Clock) -> BookSummary:
    """What is in the book."""
    with opened(asked, now=now, create=False) as book, book.reading() as reader:
        ids = {kind.name: sorted(reader.ids(kind.record)) for kind in KINDS}
        return BookSummary(
            folder=book.folder,
            counts={name: len(found) for name, found in ids.items()},
            cars=tuple(ids["car-file"]),
            courses=tuple(ids["course"]),
            names={title: tuple(ids[name]) for name, title in _TITLES.items() if ids[name]},
        )


def back_up(asked: Path | None, target: Path, *, now: Clock, force: bool = False) -> BackupSummary:
    """Write the whole book to one file and read it back; see `conewise.store.backup.backup`."""
    with opened(asked, now=now, create=False) as book:
        return backups.backup(book, target, force=force)


def restore(asked: Path | None, source: Path, *, now: Clock, force: bool = False) -> tuple[BackupSummary, Path]:
    """Make a backup the book of a folder, which is returned; see `conewise.store.backup.restore`."""
    folder = book_folder(asked)
    return backups.restore(source, folder, now=now, force=force), folder


def export_book(asked: Path | None, folder: Path, *, now: Clock, with_private: bool = False) -> ExportSummary:
    """Write everything as files of open formats; see `conewise.store.export.export`."""
    with opened(asked, now=now, create=False) as book:
        return export(book, folder, with_private=with_private)


def check(asked: Path | None, *, now: Clock, clean: bool = False) -> CheckedBook:
    """Hold the whole book to what it says of itself; with `clean`, take place and device out of photos if it is whole.

    Nothing is written before everything was read, and nothing where something that was kept is lost: a backup or a copy
    may still have it, and what is cleaned can not be put back.
    """
    with opened(asked, now=now, create=False) as book:
        found = check_book(book)
        if not clean:
            return CheckedBook(folder=book.folder, findings=(*found, *photo_findings(book)))
        if has_stop(list(found)):
            left = Finding("warning", "book-photos-left", LEFT, str(book.folder))
            return CheckedBook(folder=book.folder, findings=(*found, *photo_findings(book), left), n_cleaned=0)
        n_cleaned = clean_photos(book)
        return CheckedBook(folder=book.folder, findings=(*check_book(book), *photo_findings(book)), n_cleaned=n_cleaned)


def import_into(asked: Path | None, folder: Path, *, now: Clock, replace: bool = False) -> IntakeSummary:
    """Take an exported book into the book; see `conewise.store.intake.take_in`. Files are for `book_add.add_files`.

    Raises
    ------
    ExportedFileError
        If it is a file, or no export.
    ImportConflictError
        If the book says something else about a record and `replace` is not said.
    """
    if folder.is_file():
        raise ExportedFileError(
            f"'{folder.name}' is a file, and no exported folder.",
            where=str(folder),
            hint=f"Keep a file with: conewise book add {folder}",
        )
    with opened(asked, now=now) as book:
        return take_in(book, folder, replace=replace)
