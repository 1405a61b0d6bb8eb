"""The first event of an empty book: a car, a driver, an event and a course out of eleven answers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time
from functools import partial
from typing import TYPE_CHECKING

from conewise.cars.driver import LEVELS
from conewise.cars.questions import QUESTIONS, answered, car_file
from conewise.course.checks import check
from conewise.course.toml_file import read_toml
from conewise.course.walk_notes import read_note, split_notes
from conewise.errors import InputError
from conewise.event.cars import EventCar
from conewise.event.day import Entry, Event, Schedule
from conewise.event.people import Person
from conewise.records import FIRST_DAY, LAST_DAY, id_of
from conewise.store.texts import CarText, CourseText
from conewise.toml_writing import toml_string

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from conewise.course.layout import Course
    from conewise.store.repository import Reader
    from conewise.workflows.book_place import BookPlace

CAR_FIELDS = ("car_name", "kind", "mass", "power", "tyre")
EVENT_FIELDS = ("event_name", "day", "driver_name", "level")
COURSE_FIELDS = ("course_name", "notes")
FIELDS = (CAR_FIELDS, EVENT_FIELDS, COURSE_FIELDS)  # of each page, in this order
FIRST_CAR = time(9, 30)
_UNDRIVABLE = ("no-path", "order-impossible")  # findings about a course that no car gets through
_MOST_LETTERS = 200
_MOST_NOTES = 20_000  # letters
_QUESTIONS = {"car_name": "name"} | {name: name for name in CAR_FIELDS[1:]}


class FirstAnswerError(InputError):
    """An answer on the way to the first event that cannot be used."""

    code = "first-answer"
    default_hint = "Correct it and go on; everything can be changed later."


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstEvent:
    """What was kept, by ids."""

    event: str
    driver: str
    car: str
    course: str


def check_answers(answers: Mapping[str, str], page: int) -> None:
    """Refuse what cannot be used on a page, counted from 1.

    Raises
    ------
    FirstAnswerError
        If an answer is missing or cannot be used; `where` is its field.
    """
    (_car, _event, _course)[page - 1](answers)


def keep_first_event(place: BookPlace, answers: Mapping[str, str]) -> FirstEvent:
    """Keep car, driver, event and course in the book, all of them or nothing.

    The same answers sent twice, by a second press or a step back, are kept once.

    Parameters
    ----------
    place : BookPlace
        A book without an event, or none yet.
    answers : Mapping
        Text by the names of `FIELDS`.

    Raises
    ------
    FirstAnswerError
        If an answer is missing or cannot be used; nothing is kept then.
    ConewiseError
        If the book cannot be written to.
    """
    car_text, course_text, day = _car(answers), _course(answers), _event(answers)
    event_name, driver_name = _line(answers, "event_name"), _line(answers, "driver_name")
    with place.opened() as book, book.writing(by="first event") as writer:
        for kept in _alike(writer, event_name, day):
            texts = writer.find(CarText, kept.car), writer.find(CourseText, kept.course)
            person = writer.find(Person, kept.driver)
            same = [one.record.text if one else "" for one in texts] == [car_text, course_text]
            if same and person and (person.record.name, person.record.level) == (driver_name, answers["level"]):
                return kept
        taken = {key for kind in (CarText, CourseText, Person, EventCar, Event) for key in writer.ids(kind)}
        car, course = (id_of(_line(answers, field), taken) for field in ("car_name", "course_name"))
        driver, event = (id_of(name, taken) for name in (driver_name, event_name))
        happening = Event(
            id=event, name=event_name, day=day, course_file=course,
            schedule=Schedule(first_car=FIRST_CAR), entries=(Entry(person=driver, car=car),),
        )  # fmt: skip
        writer.add(CarText(id=car, text=car_text))
        writer.add(CourseText(id=course, text=course_text))
        writer.add(Person.model_validate({"id": driver, "name": driver_name, "level": answers["level"]}))
        writer.add(EventCar(id=car, name=_line(answers, "car_name"), car_file=car, owner=driver))
        writer.add(happening)
    return FirstEvent(event=event, driver=driver, car=car, course=course)


def _alike(reader: Reader, name: str, day: date) -> Iterator[FirstEvent]:
    """Events of that name and day with one entry."""
    for kept in reader.every(Event):
        event = kept.record
        if (event.name, event.day) == (name, day) and len(event.entries) == 1:
            entry = event.entries[0]
            yield FirstEvent(event=event.id, driver=entry.person, car=entry.car, course=event.course_file)


def _line(answers: Mapping[str, str], field: str) -> str:
    """A name that was given, on one line."""
    told = " ".join(answers.get(field, "").split())
    if not told:
        raise FirstAnswerError("A name is wanted here.", where=field)
    if len(told) > _MOST_LETTERS or not told.isprintable():
        raise FirstAnswerError(f"A name of up to {_MOST_LETTERS} letters is wanted here.", where=field)
    return told


def _car(answers: Mapping[str, str]) -> str:
    """The car file of the answers."""
    _line(answers, "car_name")
    for field, key in _QUESTIONS.items():
        _told(field, partial(answered, {key: answers.get(field, "")}))
    told = answered({key: answers.get(field, "") for field, key in _QUESTIONS.items()})
    made: list[str] = []
    _told("car_name", lambda: made.append(car_file(told)))
    return made[0]


def _event(answers: Mapping[str, str]) -> date:
    """The day of the event; the other answers are looked at too."""
    for field in ("event_name", "driver_name"):
        _line(answers, field)
    if answers.get("level", "") not in LEVELS:
        raise FirstAnswerError(f"One of {', '.join(LEVELS)} is wanted here.", where="level")
    try:
        day = date.fromisoformat(answers.get("day", ""))
    except ValueError:
        raise FirstAnswerError("A day such as 2026-05-17 is wanted here.", where="day") from None
    if not FIRST_DAY <= day <= LAST_DAY:
        raise FirstAnswerError(f"A day from {FIRST_DAY.year} to {LAST_DAY.year} is wanted here.", where="day")
    return day


def _course(answers: Mapping[str, str]) -> str:
    """The course file of the answers."""
    name, notes = _line(answers, "course_name"), answers.get("notes", "")
    if len(notes) > _MOST_NOTES:
        raise FirstAnswerError(f"These are {len(notes)} letters; up to {_MOST_NOTES} can be read.", where="notes")
    pieces = [(line, piece) for line, piece in split_notes(notes) if piece]
    for line, piece in pieces:
        _told("notes", partial(read_note, piece, where=f"line {line + 1}"))
    body = "\n".join(piece.replace("\\", " ").replace('"', " ") for _, piece in pieces)
    text = f'name = {toml_string(name)}\n\n[walk]\nnotes = """\n{body}\n"""\n'
    _told("notes", lambda: _refuse_undrivable(read_toml(text, file="the notes")))
    return text


def _refuse_undrivable(course: Course) -> None:
    """Refuse a course through which no way leads; a slalom without room for a car is named as the reason.

    Raises
    ------
    FirstAnswerError
        With what was found, and where.
    """
    found = check(course)
    stop = next((one for one in found if one.code in _UNDRIVABLE), None)
    if stop is not None:
        why = next((one for one in found if one.code == "slalom-tight"), stop)
        raise FirstAnswerError(f"Nobody can drive this course: {why.where}. {why.message}", where="notes")


def _told(field: str, read: Callable[[], object]) -> None:
    """Read an answer; what is wrong with it is said at its field."""
    try:
        read()
    except InputError as error:
        at = f"{error.where}: " if field == "notes" and error.where.startswith("line") else ""
        raise FirstAnswerError(f"{at}{error.message}", where=field, hint=error.hint) from None


KINDS = next(question.choices for question in QUESTIONS if question.key == "kind")
