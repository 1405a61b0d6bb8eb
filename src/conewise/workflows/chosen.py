"""Which event, driver and car a page is about, and what else there is to choose."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.event.cars import EventCar
from conewise.event.day import Event
from conewise.event.people import Person

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

    from conewise.workflows.book_place import BookPlace


@dataclass(frozen=True, slots=True)
class Named:
    """Something to choose: its id in the book, and what people call it."""

    id: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """What is chosen, and what else could be.

    event: None where the book has no event.
    driver, car: None where none is chosen; a page then speaks of all.
    level: of the driver who is chosen; "expert" where none is.
    car_file: name of the car file of the car that is chosen; empty where there is none.
    events: latest first.
    drivers, cars: of the event.
    unknown: "event", "driver" or "car" where an id was asked for that the book does not have.
    """

    event: Event | None
    driver: Named | None
    car: Named | None
    level: str = "expert"
    car_file: str = ""
    events: tuple[Named, ...] = ()
    drivers: tuple[Named, ...] = ()
    cars: tuple[Named, ...] = ()
    unknown: tuple[str, ...] = ()


def chosen(source: BookPlace, *, today: date, event: str = "", driver: str = "", car: str = "") -> Chosen:
    """The event, driver and car that somebody asked for, as far as the book has them.

    Parameters
    ----------
    source : BookPlace
        The book; it must be there.
    today : date
        Without an event that is asked for, the next one from this day on is chosen, else the latest.
    event, driver, car : str, default ""
        Ids. A driver who is chosen without a car gets that of the entry.

    Raises
    ------
    ConewiseError
        If the book cannot be read.
    """
    with source.opened(create=False) as book, book.reading() as reader:
        events = sorted((kept.record for kept in reader.every(Event)), key=lambda one: (one.day, one.id), reverse=True)
        known = {kept.id: kept.record for kept in reader.every(Person)}
        machines = {kept.id: kept.record for kept in reader.every(EventCar)}
    people = {key: one.name for key, one in known.items()}
    names = {key: one.name for key, one in machines.items()}
    of_day = next((one for one in events if one.id == event), None) or _next(events, today)
    asked = (("event", event, {one.id for one in events}), ("driver", driver, known), ("car", car, machines))
    unknown = tuple(name for name, one, there in asked if one and one not in there)
    if of_day is None:
        return Chosen(event=None, driver=None, car=None, unknown=unknown)
    drivers = _named((entry.person for entry in of_day.entries), people)
    cars = _named((entry.car for entry in of_day.entries), names)
    who = next((one for one in drivers if one.id == driver), None)
    own = [entry.car for entry in of_day.entries if who is not None and entry.person == who.id]
    wanted = car if car and (not own or car in own) else next(iter(own), "")
    return Chosen(
        event=of_day,
        driver=who,
        car=next((one for one in cars if one.id == wanted), None),
        level=known[who.id].level if who is not None and who.id in known else "expert",
        car_file=machines[wanted].car_file if wanted in machines else "",
        events=tuple(Named(one.id, one.name) for one in events),
        drivers=drivers,
        cars=cars,
        unknown=unknown,
    )


def _next(events: Sequence[Event], today: date) -> Event | None:
    """The event that comes next, else the latest; `events` are sorted with the latest first."""
    ahead = [one for one in events if one.day >= today]
    return ahead[-1] if ahead else next(iter(events), None)


def _named(ids: Iterable[str], names: dict[str, str]) -> tuple[Named, ...]:
    """Each id once, with its name, by name; two of one name keep their ids beside it."""
    found = [Named(one, names.get(one, one)) for one in dict.fromkeys(ids)]
    known = [one.name for one in found]
    told = [Named(one.id, f"{one.name} ({one.id})" if known.count(one.name) > 1 else one.name) for one in found]
    return tuple(sorted(told, key=lambda one: one.name.casefold()))
