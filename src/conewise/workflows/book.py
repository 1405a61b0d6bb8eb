"""The book: where it is, what is in it, and whole copies of it in and out."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING

from conewise.findings import has_stop
from conewise.records import Record, id_of
from conewise.store import backup as backups
from conewise.store.backup import BackupSummary
from conewise.store.book import Book
from conewise.store.check import check_book
from conewise.store.days import keep_day
from conewise.store.errors import AlreadyKeptError, ExportedFileError
from conewise.store.export import ExportSummary, export
from conewise.store.intake import take_in
from conewise.store.kinds import KINDS
from conewise.store.texts import FORMS, StoredText, form_of, refuse_unreadable
from conewise.toml_source import plain_text, text_problem
from conewise.workflows.book_place import book_folder, opened
from conewise.workflows.events import DaySource, load_day

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import datetime
    from pathlib import Path

    from conewise.findings import Finding

    Clock = Callable[[], datetime]

__all__ = ["BackupSummary", "Book", "BookSummary", "CheckedBook", "ExportSummary", "Imported", "book_folder", "opened"]

_COURSES = {".csv", ".geojson", ".json", ".gpx"}
_MOST_BYTES = 50_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class BookSummary:
    """A book at a glance.

    counts: number of records by kind.
    cars, courses: names under which car and course files are kept.
    """

    folder: Path
    counts: dict[str, int]
    cars: tuple[str, ...]
    courses: tuple[str, ...]

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        return {**asdict(self), "folder": str(self.folder)}


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedBook:
    """What is wrong with a book."""

    folder: Path
    findings: tuple[Finding, ...]

    @property
    def is_whole(self) -> bool:
        """Whether everything that was kept can be read."""
        return not has_stop(list(self.findings))

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        rows = [asdict(finding) for finding in self.findings]
        return {"ok": self.is_whole, "folder": str(self.folder), "findings": rows}


@dataclass(slots=True, kw_only=True)
class Imported:
    """What came of an import: places are "kind name"."""

    added: list[str] = field(default_factory=list)
    changed: list[str] = field(default_factory=list)
    same: int = 0

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        return asdict(self)


def summary_of(asked: Path | None, *, now: Clock) -> BookSummary:
    """What is in the book."""
    with opened(asked, now=now, create=False) as book, book.reading() as reader:
        ids = {kind.name: sorted(reader.ids(kind.record)) for kind in KINDS}
        return BookSummary(
            folder=book.folder,
            counts={name: len(found) for name, found in ids.items()},
            cars=tuple(ids["car-file"]),
            courses=tuple(ids["course"]),
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


def check(asked: Path | None, *, now: Clock) -> CheckedBook:
    """Hold the whole book to what it says of itself."""
    with opened(asked, now=now, create=False) as book:
        return CheckedBook(folder=book.folder, findings=check_book(book))


def import_into(asked: Path | None, sources: Sequence[Path], *, now: Clock, replace: bool = False) -> Imported:
    """Take exported books, event files, and files of cars, courses, drivers, rules and changes, into the book.

    Parameters
    ----------
    asked : Path or None
        What was said with --book or CONEWISE_BOOK.
    sources : sequence of Path
        Exported folders; files, each kept under the name of the file. Courses may be in any format that is read. An
        event file brings its runs, and the car and course files that it names.
    now : callable
        The clock, with a time zone.
    replace : bool, default False
        Whether what the book has under the same name becomes a new version.

    Raises
    ------
    ConewiseError
        If a source cannot be read, or the book says something else and `replace` is not said. The sources before it are
        in the book by then, each whole.
    """
    done = Imported()
    with opened(asked, now=now) as book:
        for source in sources:
            if source.is_dir():
                taken = take_in(book, source, replace=replace)
                done.added += taken.added
                done.changed += taken.changed
                done.same += taken.same
            elif (text := _text_of(source)) is not None:
                _keep_text(book, text, done, replace=replace)
            else:
                _keep_event(book, source, done, replace=replace)
    return done


def _keep_event(book: Book, path: Path, done: Imported, *, replace: bool) -> None:
    """An event file with its runs, and the car and course files that it names."""
    day = load_day(path, source=DaySource(now=book.now)).day
    named = {car.car_file for car in day.cars} | {day.event.course_file}
    for name in sorted(named - {""}):
        if (text := _text_of(path.parent / name)) is not None:
            _keep_text(book, text, done, replace=replace)
    kept = keep_day(book, day, by="import", replace=replace)
    done.added += kept.added
    done.changed += kept.changed
    done.same += kept.same


def _text_of(path: Path) -> StoredText | None:
    """A file as the book keeps it; a course of another format becomes TOML. None for an event file."""
    name = id_of(path.stem)
    if path.suffix.lower() in _COURSES:
        from conewise.course.files import read_course
        from conewise.course.toml_text import course_text

        return FORMS["course"](id=name, text=course_text(read_course(path)))
    try:
        content = path.read_bytes()
    except OSError as reason:
        raise ExportedFileError(f"It cannot be read: {reason.strerror}.", where=str(path)) from None
    text = plain_text(content)
    problem = "is too large for a file that people write" if len(content) > _MOST_BYTES else text_problem(text)
    if path.suffix.lower() != ".toml" or problem:
        problem = problem or "is neither an exported folder nor a .toml file, nor a course"
        raise ExportedFileError(f"'{path.name}' {problem}.", where=str(path))
    form = form_of(text, file=str(path))
    if form == "event":
        return None
    record = FORMS[form](id=name, text=text)
    refuse_unreadable(record, file=str(path))
    return record


def _keep_text(book: Book, record: StoredText, done: Imported, *, replace: bool) -> None:
    place = f"{_kind_name(record)} {record.id}"
    with book.writing(by="import") as writer:
        current = writer.find(type(record), record.id)
        if current is None:
            writer.add(record)
            done.added.append(place)
        elif current.record == record:
            done.same += 1
        elif replace:
            writer.change(record, version=current.version)
            done.changed.append(place)
        else:
            raise AlreadyKeptError(
                _kind_name(record), record.id, hint="Say --replace to keep this as a new version of it."
            )


def _kind_name(record: Record) -> str:
    return next(kind.name for kind in KINDS if kind.record is type(record))
