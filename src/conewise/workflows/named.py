"""What is named on a command line or a page: a file, or something that the book has under that name.

Every question takes a `Source` where it wants a file. `source` makes one of what somebody typed, `kept_source` one of
an id of the book; the readers here take both. Errors say "course 'harbour-yard' of the book, line 7" for a path.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn, TypeAlias

from conewise.cars.adjustable_file import settings_of
from conewise.cars.car_file import car_of, read_car, settings_of_car
from conewise.cars.changes_file import changes_of, parts_of
from conewise.cars.driver import LEVELS, driver_of
from conewise.cars.toml_file import Table, read_toml
from conewise.course.files import read_course
from conewise.course.toml_file import read_toml as read_course_text
from conewise.errors import NotFoundError
from conewise.records import id_of
from conewise.rule_set import SHIPPED, RuleText, rule_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.cars.adjustable import Setting
    from conewise.cars.car import Car
    from conewise.cars.change import Change
    from conewise.cars.driver import Driver
    from conewise.course.layout import Course
    from conewise.logs.log import Log
    from conewise.store.book import Book
    from conewise.store.logs import StoredLog
    from conewise.workflows.book_place import BookPlace

WORDS = {
    "course": "course",
    "car-file": "car",
    "driver-file": "driver",
    "changes": "list of changes",
    "rules": "rule set",
    "log": "recording",
}  # what a person calls each kind that has a name


class NoSuchNameError(NotFoundError):
    """A name that is neither a file nor something in the book."""

    code = "no-such-name"

    def __init__(self, kind: str, name: str, *, near: Sequence[str], others: Sequence[str]) -> None:
        said = [f"The book has a {' and a '.join(others)} of that name."] if others else []
        said += [f"Near: {', '.join(near)}."] if near else []
        hint = " ".join(said) or "Name a file with its ending, or keep it first: conewise book add FILE."
        super().__init__(
            f"There is no {WORDS[kind]} '{name}': no file of that name here, and nothing in the book.",
            where=name,
            hint=hint,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class BookText:
    """A text of the book as it was when it was asked for; `str` is how messages call it.

    kind: as the book calls it, one of `WORDS`.
    name: its id.
    """

    kind: str
    name: str
    text: str

    def __str__(self) -> str:
        """Such as "course 'harbour-yard' of the book"."""
        return f"{WORDS[self.kind]} '{self.name}' of the book"


@dataclass(frozen=True, slots=True, kw_only=True)
class BookLog:
    """A recording of the book; its columns were understood when it was kept.

    name: its id.
    record: whose it is, and where its files are.
    folder: of the book.
    """

    name: str
    record: StoredLog
    folder: Path

    def __str__(self) -> str:
        """Such as "recording 'ben-3' of the book"."""
        return f"{WORDS['log']} '{self.name}' of the book"


Source: TypeAlias = Path | BookText
LogSource: TypeAlias = Path | BookLog


def source(word: str | Path, kind: str, place: BookPlace) -> Source:
    """What was typed for a file: the file where it is there, else what the book has under that name.

    A word with an ending or a folder in it is always a file; whoever reads it says what is wrong with it.

    Parameters
    ----------
    word : str or Path
        As it was typed.
    kind : str
        What is wanted: "course", "car-file", "driver-file", "changes" or "rules".
    place : BookPlace
        The book; there may be none.

    Raises
    ------
    NoSuchNameError
        If there is neither; near names are in the hint.
    ConewiseError
        If the book cannot be opened.
    """
    return _found(word, kind, place) or _refuse(str(word), kind, place)


def log_source(word: str | Path, place: BookPlace) -> LogSource:
    """What was typed for a recording; see `source`."""
    if _is_file(word):
        return Path(word)
    found = _in_book(str(word), "log", place)
    return found if isinstance(found, BookLog) else _refuse(str(word), "log", place)


def driver_source(word: str | Path, place: BookPlace) -> str | Source:
    """A driver's level as it is, else a file or what the book has; a word that is nothing of that stays a word."""
    return str(word) if str(word) in LEVELS else _found(word, "driver-file", place) or str(word)


def rules_source(word: str | Path, place: BookPlace) -> str | Source:
    """A shipped rule set as it is, else a file or what the book has; a word that is nothing of that stays a word."""
    return str(word) if str(word) in {"", *SHIPPED} else _found(word, "rules", place) or str(word)


def kept_source(book: Book, kind: str, name: str) -> BookText:
    """A text of the book by its id, for pages.

    Raises
    ------
    NoSuchRecordError
        If the book has none; near ids are named.
    """
    from conewise.store.kinds import BY_NAME

    return BookText(kind=kind, name=name, text=book.one(BY_NAME[kind].record, name).record.text)


def kept_recording(book: Book, name: str) -> BookLog:
    """A recording of the book by its id, for pages; NoSuchRecordError where there is none."""
    from conewise.store.logs import StoredLog

    return BookLog(name=name, record=book.one(StoredLog, name).record, folder=book.folder)


def course_from(source: Source) -> Course:
    """The course of a source; raises as `conewise.course.files.read_course`."""
    if isinstance(source, Path):
        return read_course(source)
    return read_course_text(source.text, file=str(source))


def car_from(source: Source) -> Car:
    """The car of a source; raises as `conewise.cars.car_file.read_car`."""
    return read_car(source) if isinstance(source, Path) else car_of(table_from(source))


def driver_from(source: Source) -> Driver:
    """The driver of a source; raises as `conewise.cars.driver.read_driver`."""
    return driver_of(table_from(source))


def changes_from(source: Source) -> tuple[Change, ...]:
    """Changes of a source; raises as `conewise.cars.changes_file.read_changes`."""
    return changes_of(table_from(source))


def parts_from(source: Source) -> tuple[Change, ...]:
    """Parts of a source; raises as `conewise.cars.changes_file.read_parts`."""
    return parts_of(table_from(source))


def rules_from(source: str | Source) -> RuleText:
    """The text of a rule set: shipped, of a file, or of the book; raises as `conewise.rule_set.rule_text`."""
    if isinstance(source, BookText):
        return RuleText(name=source.name, file=str(source), text=source.text)
    return rule_text(str(source))


def settings_from(source: Source) -> tuple[Setting, ...]:
    """Settings that a car lists; raises as `conewise.cars.car_file.settings_of_car`."""
    return settings_of_car(source) if isinstance(source, Path) else settings_of(table_from(source))


def log_from(source: BookLog) -> Log:
    """The channels of a recording of the book; FileNotKeptError or DamagedBookError where they are not as kept."""
    from conewise.store.files import Files
    from conewise.store.logs import log_of

    content = Files(source.folder / "files").content(source.record.channels)
    return log_of(content, where=str(source))


def called(source: Source) -> str:
    """A source by its bare name: that of the file without folder and ending, or the id."""
    return source.stem if isinstance(source, Path) else source.name


def table_from(source: Source) -> Table:
    """The table of a TOML source of cars; raises as `conewise.cars.toml_file.read_toml`."""
    return read_toml(source) if isinstance(source, Path) else Table.of_text(source.text, file=str(source))


def _is_file(word: str | Path) -> bool:
    """Whether a word stands for a file: one that is there, or one with an ending or a folder in it."""
    path = Path(word)
    return path.is_file() or bool(path.suffix) or path.name != str(word)


def _found(word: str | Path, kind: str, place: BookPlace) -> Source | None:
    if _is_file(word):
        return Path(word)
    found = _in_book(str(word), kind, place)
    return found if isinstance(found, BookText) else None


def _in_book(name: str, kind: str, place: BookPlace) -> BookText | BookLog | None:
    """What the book has under a name; None where there is nothing, or no book."""
    from conewise.store.kinds import BY_NAME

    if not place.exists:
        return None
    with place.opened(create=False) as book:
        found = book.find(BY_NAME[kind].record, name)
        if found is None:
            return None
        return kept_recording(book, name) if kind == "log" else BookText(kind=kind, name=name, text=found.record.text)


def _refuse(name: str, kind: str, place: BookPlace) -> NoReturn:
    """Say that there is nothing of that name, and what is near."""
    from conewise.store.kinds import BY_NAME

    near = [f"{path.name} (a file)" for path in sorted(Path().glob("*.*")) if path.stem == name][:3]
    others: list[str] = []
    if place.exists:
        with place.opened(create=False) as book, book.reading() as reader:
            known = {one: reader.ids(BY_NAME[one].record) for one in WORDS}
        near += difflib.get_close_matches(id_of(name), sorted(known[kind]), n=3) or sorted(known[kind])[:6]
        others = [WORDS[other] for other, ids in known.items() if other != kind and name in ids]
    raise NoSuchNameError(kind, name, near=near, others=others)
