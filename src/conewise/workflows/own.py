"""What is a driver's own in the book: the events that the driver is entered at, and what belongs to them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.cars.driver import LEVELS
from conewise.event.cars import EventCar
from conewise.event.day import Event
from conewise.event.people import Person
from conewise.event.runs import Run
from conewise.store.logs import StoredLog

if TYPE_CHECKING:
    from collections.abc import Mapping

    from conewise.workflows.book_place import BookPlace


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """What belongs to a driver.

    person: id of the driver.
    names: ids of what is the driver's by kind of record, such as "event"; of "driver-file" the levels too.
    files: addresses of files that are somebody else's recordings.
    """

    person: str
    names: Mapping[str, frozenset[str]]
    files: frozenset[str]


def own_of(place: BookPlace, person: str) -> Own:
    """What belongs to a driver; nothing does where the book does not know the person.

    Raises
    ------
    ConewiseError
        If the book cannot be read.
    """
    with place.opened(create=False) as book, book.reading() as reader:
        known = reader.find(Person, person) if person else None
        events = [kept.record for kept in reader.every(Event)]
        files = {kept.id: kept.record.car_file for kept in reader.every(EventCar)}
        logs = [kept.record for kept in reader.every(StoredLog)]
        runs = [kept.id for kept in reader.every(Run, person=person)]
    if known is None:
        return Own(person="", names={}, files=frozenset(log.original for log in logs))
    mine = [event for event in events if any(entry.person == person for entry in event.entries)]
    cars = {entry.car for event in mine for entry in event.entries if entry.person == person}
    names = {
        "person": {person},
        "event": {event.id for event in mine},
        "course": {event.course_file for event in mine},
        "car": cars,
        "car-file": {files[car] for car in cars if car in files},
        "driver-file": {*LEVELS, known.record.driver_file},
        "log": {log.id for log in logs if log.person == person},
        "run": set(runs),
    }
    return Own(
        person=person,
        names={kind: frozenset(one for one in found if one) for kind, found in names.items()},
        files=frozenset(log.original for log in logs if log.person not in ("", person)),
    )
