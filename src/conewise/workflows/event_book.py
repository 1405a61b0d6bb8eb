"""An event day goes from its files into the book: people, cars with their files, course, rules, checks and runs."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from conewise.course.toml_text import course_text
from conewise.records import id_of
from conewise.rule_set import SHIPPED, rule_text
from conewise.store.days import KeptDay, write_day
from conewise.store.texts import CarText, CourseText, RulesText, StoredText
from conewise.toml_source import plain_text
from conewise.workflows.events import course_of
from conewise.workflows.photos import photo_alone, photo_beside

if TYPE_CHECKING:
    from collections.abc import Mapping

    from conewise.event.cars import CheckEntry
    from conewise.store.book import Book
    from conewise.store.writer import Writer
    from conewise.workflows.book_place import BookPlace
    from conewise.workflows.events import LoadedDay

BY = "book add"


@dataclass(frozen=True, slots=True, kw_only=True)
class EventKept:
    """What came of keeping an event day."""

    event: str  # its id in the book
    folder: Path  # of the book
    kept: KeptDay


def keep_event(loaded: LoadedDay, source: BookPlace, *, reason: str = "") -> EventKept:
    """Keep a day that was read from files: what is new is added, what differs becomes a new version.

    Car files are kept under the car's id, the course and a rule file under the names of their files; the day in the
    book refers to them there.

    Parameters
    ----------
    loaded : LoadedDay
        Of files.
    source : BookPlace
        Says which book.
    reason : str, default ""
        For the history.

    Raises
    ------
    ConewiseError
        If the book cannot be opened or written to.
    """
    day, file = loaded.day, loaded.file
    assert file is not None
    texts: list[StoredText] = []
    cars = []
    for car in day.cars:
        if car.car_file:
            texts.append(CarText(id=car.id, text=plain_text((file.parent / car.car_file).read_bytes())))
        cars.append(car.changed(car_file=car.id) if car.car_file else car)
    event = day.event
    course = course_of(loaded)
    if course is not None:
        place = file.parent / event.course_file
        is_toml = place.suffix.lower() == ".toml"
        written = plain_text(place.read_bytes()) if is_toml else course_text(course)
        texts.append(CourseText(id=id_of(place.name.split(".")[0]), text=written))
        event = event.changed(course_file=texts[-1].id)
    if event.rules not in SHIPPED:
        found = rule_text(str(file.parent / event.rules), where=f"{file}, event, rules")
        texts.append(RulesText(id=id_of(found.name), text=found.text))
        event = event.changed(rules=texts[-1].id)
    day = day.changed(cars=tuple(cars), event=event)
    with source.opened() as book:
        pictures = {check.id: _picture(check, file) for check in day.checks if check.photo}
        with book.writing(by=BY) as writer:  # texts, photos and the day that names them, or none of them
            day = day.changed(checks=tuple(_with_photo(book, writer, check, pictures) for check in day.checks))
            kept = write_day(writer, day, before=texts, reason=reason)
        return EventKept(event=event.id, folder=book.folder, kept=kept)


def _picture(check: CheckEntry, file: Path) -> bytes:
    """The picture of a check's photo, which stands beside the event file."""
    content = photo_beside(file, check.photo, where=f"{file}, check {check.id}, photo")
    return photo_alone(content, Path(check.photo).name)


def _with_photo(book: Book, writer: Writer, check: CheckEntry, pictures: Mapping[str, bytes]) -> CheckEntry:
    """A check that names its photo by the address under which the book keeps it."""
    if check.id not in pictures:
        return check
    picture = pictures[check.id]
    address = book.files.keep(picture)
    writer.note_file(address, Path(check.photo).name, len(picture))
    return check.changed(photo=address)
