"""Courses of the book: which there are, one of them, a new version of one, and one as a file."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from conewise.course.checks import check
from conewise.course.files import NotACourseFileError, course_of_bytes, text_of
from conewise.course.rules import load, rules_of
from conewise.course.toml_file import read_toml
from conewise.course.toml_text import course_text
from conewise.errors import ConewiseError, InputError
from conewise.event.day import Event
from conewise.findings import Finding
from conewise.records import id_of
from conewise.reports.plan import plan_svg
from conewise.rule_set import SHIPPED, RuleText
from conewise.store.texts import CourseText, RulesText
from conewise.workflows.course_drawing import Drawn, Placed, drawn, path_points
from conewise.workflows.line_choices import car_setup
from conewise.workflows.named import called, car_from, kept_source
from conewise.workflows.notes_as_typed import as_typed

if TYPE_CHECKING:
    from datetime import datetime

    from conewise.course.layout import Course
    from conewise.course.rules import Rules
    from conewise.quantities import System
    from conewise.store.repository import Kept
    from conewise.workflows.book_place import BookPlace
    from conewise.workflows.named import Source

MOST_BYTES = 5_000_000  # of a file that is sent
FIRST_NOTES = "start\nslalom 4 cones every 18 m first to your left after 20 m\nfinish after 25 m"
FORMATS = {
    "toml": "application/toml",
    "csv": "text/csv",
    "geojson": "application/geo+json",
    "svg": "image/svg+xml",
}


class CourseFormatError(InputError):
    """A format in which courses are not written."""

    code = "course-format"
    default_hint = f"There are {', '.join(FORMATS)}."

    def __init__(self, name: str) -> None:
        super().__init__(f"Courses are not written as '{name[:40]}'.", where="format")


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseRow:
    """One course of the list."""

    id: str
    name: str
    version: int
    at: datetime  # when this version was written (UTC)
    n_standing: int
    n_pointers: int
    n_features: int
    events: tuple[str, ...]  # names of the events that run it
    problem: str  # why it cannot be read; "" as a rule


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptCourse:
    """A course of the book with the version that was read."""

    id: str
    version: int
    course: Course
    text: str

    @property
    def is_walked(self) -> bool:
        """Whether its text has walk notes; a drawing keeps cones in their place."""
        return "\n[walk]" in self.text


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseFile:
    """A course as a file."""

    name: str
    text: str
    media_type: str
    omitted: tuple[str, ...]  # what the format does not hold, in words


def courses(place: BookPlace) -> tuple[CourseRow, ...]:
    """All courses of the book by name."""
    with place.opened(create=False) as book, book.reading() as reader:
        texts = reader.every(CourseText)
        runs: dict[str, list[str]] = {}
        for kept in reader.every(Event):
            runs.setdefault(kept.record.course_file, []).append(kept.record.name)
    rows = [_row(kept, tuple(runs.get(kept.id, ()))) for kept in texts]
    return tuple(sorted(rows, key=lambda row: row.name.casefold()))


def _row(kept: Kept[CourseText], events: tuple[str, ...]) -> CourseRow:
    name, n_standing, n_pointers, n_features, problem = kept.id, 0, 0, 0, ""
    try:
        course = _read(kept)
    except ConewiseError as error:
        problem = error.message
    else:
        name, n_features = course.name, len(course.features)
        n_standing, n_pointers = course.n_standing, course.n_pointers
    return CourseRow(
        id=kept.id,
        name=name,
        version=kept.version,
        at=kept.at,
        n_standing=n_standing,
        n_pointers=n_pointers,
        n_features=n_features,
        events=events,
        problem=problem,
    )


def _read(kept: Kept[CourseText]) -> Course:
    return read_toml(kept.record.text, file=f"course '{kept.id}' of the book")


def kept_course(place: BookPlace, course: str) -> KeptCourse:
    """A course of the book.

    Raises
    ------
    NoSuchRecordError
        If the book has none of that id.
    InputError
        If its text cannot be read.
    """
    with place.opened(create=False) as book:
        kept = book.one(CourseText, course)
    return KeptCourse(id=kept.id, version=kept.version, course=_read(kept), text=kept.record.text)


def begin_course(place: BookPlace, name: str, *, notes: str = FIRST_NOTES, by: str = "") -> KeptCourse:
    """A new course of walk notes, kept under an id of its name.

    Raises
    ------
    InputError
        If the notes make no course.
    """
    return add_course(place, as_typed(name, notes).course, by=by)


def add_course(place: BookPlace, course: Course, *, by: str = "", reason: str = "") -> KeptCourse:
    """Keep a new course under a free id of its name."""
    with place.opened() as book, book.writing(by=by) as writer:
        name = id_of(course.name, {kept.id for kept in writer.every(CourseText)})
        kept = writer.add(CourseText(id=name, text=course_text(course)), reason=reason)
    return KeptCourse(id=kept.id, version=kept.version, course=course, text=kept.record.text)


def change_course(
    place: BookPlace, name: str, course: Course, *, version: int, by: str = "", reason: str = ""
) -> KeptCourse:
    """Keep a new version of a course.

    Raises
    ------
    NoSuchRecordError
        If the book has none of that id.
    ChangedMeanwhileError
        If somebody else has written a newer version than the one that was read; nothing is overwritten.
    """
    with place.opened(create=False) as book:
        kept = book.change(CourseText(id=name, text=course_text(course)), version=version, by=by, reason=reason)
    return KeptCourse(id=kept.id, version=kept.version, course=course, text=kept.record.text)


def course_of_file(content: bytes, name: str) -> Course:
    """The course of a file that somebody sent: TOML, CSV, GeoJSON or GPX by the ending of its name.

    Raises
    ------
    InputError
        If it cannot be used; line, feature and field are named.
    """
    file = Path(Path(name).name[-120:])
    if len(content) > MOST_BYTES:
        problem = f"'{file.name}' has more than {MOST_BYTES // 10**6} MB; a course is a small text."
        raise NotACourseFileError(problem, file)
    return course_of_bytes(content, file)


def as_file(course: Course, name: str, kind: str, *, system: System = "metric") -> CourseFile:
    """A course as a file in a format.

    Parameters
    ----------
    course : Course
    name : str
        Of the file, without its ending.
    kind : str
        One of `FORMATS`.
    system : str, default "metric"
        Units in a drawing.

    Raises
    ------
    CourseFormatError
        If there is no such format.
    NotAnchoredError
        If GeoJSON is asked for and the course has no anchor.
    """
    if kind not in FORMATS:
        raise CourseFormatError(kind)
    if kind == "svg":
        text = plan_svg(course, way=path_points(course), system=system)
        return CourseFile(name=f"{name}.{kind}", text=text, media_type=FORMATS[kind], omitted=())
    text, left_out = text_of(course, Path(f"{name}.{kind}"))
    return CourseFile(name=f"{name}.{kind}", text=text, media_type=FORMATS[kind], omitted=tuple(left_out))


def drawn_here(course: Course, place: BookPlace, *, system: System = "metric") -> Drawn:
    """A course as a page shows it, held to the rule set that it names: a shipped one, or one of the book.

    A rule set that is neither is said in a finding, and the usual one is used: a page reads no file of this computer.
    """
    rules, unknown = _rules_here(course, place)
    found = drawn(course, system=system, rules=rules)
    others = tuple(Placed(finding=finding, entries=(), cones=(), others=()) for finding in unknown)
    return replace(found, findings=(*others, *found.findings))


def note_here(
    course: Course, place: BookPlace, *, car: str = "", system: System = "metric", paper: str = "a4"
) -> bytes:
    """The note for the safety official as PDF, with the speeds of a car's quasi-steady run where one is named.

    Parameters
    ----------
    course : Course
    place : BookPlace
    car : str, default ""
        Car file of the book, with a colon and the number of a set-up behind it where an earlier one is meant.
    system, paper : str

    Raises
    ------
    NoSuchRecordError, NoSuchSetupError
        If the book has no such car.
    """
    from conewise.workflows.courses import checked_with, laid_out, note_of

    rules, unknown = _rules_here(course, place)
    if car:
        source = _car_source(place, car)
        found = checked_with([car_from(source)], course, laid_out(course), rules=rules, system=system)
        cars = [called(source)]
    else:
        found = check(course, laid_out(course), rules=rules, system=system)
        cars = []
    return note_of(course, [*unknown, *found], rules=rules.name, cars=cars, paper=paper)


def _car_source(place: BookPlace, car: str) -> Source:
    name, _, version = car.partition(":")
    if version.isdecimal() and 0 < len(version) < 7 and int(version):
        return car_setup(place, name, int(version))
    with place.opened(create=False) as book:
        return kept_source(book, "car-file", name)


def _rules_here(course: Course, place: BookPlace) -> tuple[Rules, tuple[Finding, ...]]:
    """The rule set that a course names, and a finding where there is none such."""
    if course.rules in SHIPPED:
        return load(course.rules), ()
    with place.opened(create=False) as book:
        kept = book.find(RulesText, course.rules)
    if kept is not None:
        text = RuleText(name=kept.id, file=f"rule set '{kept.id}' of the book", text=kept.record.text)
        try:
            return rules_of(text), ()
        except InputError as error:
            words = (
                f"The rule set '{kept.id}' of the book cannot be used: {error.message} The course is held to 'club'."
            )
    else:
        words = f"There is no rule set '{course.rules}' in the book; the course is held to 'club'."
    return load("club"), (Finding("warning", "rules-unknown", words, "rules"),)
