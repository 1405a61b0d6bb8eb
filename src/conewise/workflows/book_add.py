"""Files go into the book: courses, cars, drivers, changes, parts, rules, recordings and whole events.

What is kept under a name is found there by every command; see `conewise.workflows.named`. A file that has changed since
becomes a new version, and the earlier ones stay.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING

from conewise.errors import InputError, NotFoundError, no_such_file
from conewise.records import id_of
from conewise.store.kinds import kind_of
from conewise.store.logs import StoredLog, keep_log
from conewise.store.texts import FORMS, StoredText, form_of, refuse_unreadable
from conewise.toml_source import plain_text, text_problem
from conewise.workflows.event_book import BY, keep_event
from conewise.workflows.events import load_day
from conewise.workflows.logs import open_log

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from conewise.workflows.book_place import BookPlace
    from conewise.workflows.logs import LogOptions, Question

_COURSES = {".geojson", ".json"}
_MOST_BYTES = 50_000_000


class AddedFileMissingError(NotFoundError):
    """There is no file of that name to keep."""

    code = "added-file-missing"
    default_hint = "Check the spelling and the folder."

    def __init__(self, path: Path) -> None:
        super().__init__(no_such_file(path)[0], where=str(path))


class NotKeptError(InputError):
    """A file that the book does not keep, or a name that does not suit."""

    code = "not-kept"
    default_hint = "The book keeps courses, cars, drivers, changes, parts, rules and events, and recordings."

    def __init__(self, problem: str, *, where: str, hint: str = "") -> None:
        super().__init__(problem, where=where, hint=hint)


@dataclass(frozen=True, slots=True, kw_only=True)
class Whose:
    """Whose a recording is: ids of the book; empty where nobody says."""

    event: str = ""
    person: str = ""
    car: str = ""


@dataclass(slots=True, kw_only=True)
class Added:
    """What came of adding files: places are "kind name"."""

    added: list[str] = field(default_factory=list)
    changed: list[str] = field(default_factory=list)
    same: list[str] = field(default_factory=list)
    n_same: int = 0  # with the records of events that are as they were

    def note(self, done: str, place: str) -> None:
        """One record: "added", "changed" or "same"."""
        getattr(self, done).append(place)
        self.n_same += done == "same"

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        return asdict(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What somebody says about the files that are added.

    name: under which the only file is kept.
    whose: whose the recordings among them are.
    runs: table of runs of the only event; beside it where None.
    options: for recordings.
    reason: for the history.
    """

    name: str = ""
    whose: Whose = Whose()
    runs: Path | None = None
    options: LogOptions | None = None
    reason: str = ""


def add_files(
    place: BookPlace, files: Sequence[Path], said: Said | None = None, *, ask: Callable[[Question], str] | None = None
) -> Added:
    """Keep files in the book, each by what is in it; each is kept whole, or not at all.

    Parameters
    ----------
    place : BookPlace
        The book; made where there is none.
    files : sequence of Path
        An event brings its runs, and the cars, course and rules that it names. Other files are kept under their names.
    said : Said, optional
    ask : callable, optional
        For recordings; see `conewise.workflows.logs.open_log`.

    Raises
    ------
    AddedFileMissingError, NotKeptError
        If a file is not there, or is nothing that the book keeps.
    ConewiseError
        If one cannot be read, or the book cannot be written.
    """
    said = said or Said()
    if said.name and len(files) != 1:
        hint = "Add them one by one, or leave --as out."
        raise NotKeptError(f"One name for {len(files)} files.", where="--as", hint=hint)
    done = Added()
    for path in files:
        if not path.is_file():
            raise AddedFileMissingError(path)
        text = _text_of(path, said.name)
        if text is not None:
            with place.opened() as book, book.writing(by=BY) as writer:
                done.note(writer.keep(text, reason=said.reason), f"{kind_of(type(text)).name} {text.id}")
        elif _is_toml(path):
            _add_event(place, path, said, done)
        else:
            record = StoredLog(id=_id(path, said.name), name=path.name, **asdict(said.whose))
            log = open_log(path, said.options, ask=ask)
            with place.opened() as book:
                came = keep_log(book, record, log=log, original=path.read_bytes(), by=BY, reason=said.reason)
            done.note(came, f"log {record.id}")
    return done


def _add_event(place: BookPlace, path: Path, said: Said, done: Added) -> None:
    loaded = load_day(path, source=place, runs=said.runs)
    if said.name and said.name != loaded.day.event.id:
        raise NotKeptError(
            f"An event is kept under its own id, '{loaded.day.event.id}'.",
            where="--as",
            hint="Change the id in the event file, or leave --as out.",
        )
    kept = keep_event(loaded, place, reason=said.reason).kept
    done.added += kept.added
    done.changed += kept.changed
    done.n_same += kept.same


def _id(path: Path, name: str) -> str:
    """The name to keep a file under."""
    if name and name != id_of(name):
        raise NotKeptError(
            f"Nothing can be kept under the name '{name}'.", where="--as", hint=f"Say --as {id_of(name)}."
        )
    return name or id_of(path.name.split(".")[0])


def _is_toml(path: Path) -> bool:
    return path.suffix.lower() == ".toml"


def _text_of(path: Path, name: str) -> StoredText | None:
    """A file as a text of the book, a course of any format as TOML; None for an event file and for a recording."""
    if _is_toml(path):
        content = path.read_bytes()
        text = plain_text(content)
        problem = "is too large for a file that people write" if len(content) > _MOST_BYTES else text_problem(text)
        if problem:
            raise NotKeptError(f"'{path.name}' {problem}.", where=str(path))
        form = form_of(text, file=str(path))
        if form == "history":
            hint = "Add the car file itself: every version that the book has of it is a set-up."
            raise NotKeptError(f"'{path.name}' is a set-up history, not a car.", where=str(path), hint=hint)
        if form == "event":
            return None
        record = FORMS[form](id=_id(path, name), text=text)
        refuse_unreadable(record, file=str(path))
        return record
    if not _is_course(path):
        return None
    from conewise.course.files import read_course
    from conewise.course.toml_text import course_text

    return FORMS["course"](id=_id(path, name), text=course_text(read_course(path)))


def _is_course(path: Path) -> bool:
    """Whether a file that is no TOML holds a course, by what stands in it, and not a recording."""
    suffix = path.suffix.lower()
    if suffix in _COURSES:
        return True
    with path.open("rb") as file:
        head = file.read(65_536)
    if suffix == ".gpx":
        return b"<wpt" in head and b"<trkpt" not in head
    first = plain_text(head).lstrip().split("\n", 1)[0].lower()
    cells = {cell.strip(' "') for cell in first.replace(";", ",").split(",")}
    return suffix == ".csv" and "cone" in cells and bool(cells & {"x", "x_m", "x_ft"})
