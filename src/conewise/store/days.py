"""Whole event days out of the book, and into it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

from conewise.event.cars import CarChange, CheckEntry, EventCar
from conewise.event.day import Event, EventDay, Expense, Packed
from conewise.event.helmets import Helmet, Loan
from conewise.event.people import Person
from conewise.event.runs import RideAlong, Run
from conewise.records import Record
from conewise.store.errors import ImportConflictError
from conewise.store.kinds import kind_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from conewise.store.book import Book
    from conewise.store.repository import Reader
    from conewise.store.writer import Writer

R = TypeVar("R", bound=Record)

_PEOPLE = ("person", "passenger", "driver")  # fields that name one
_BEFORE_THE_EVENT = ("people", "cars", "helmets")  # parts of a day that others of its parts name
_AFTER_THE_EVENT = ("loans", "checks", "changes", "runs", "ride_alongs", "expenses", "packed")


@dataclass(frozen=True, slots=True)
class KeptDay:
    """What came of keeping a day: what was new, what was changed ("kind id"), and how much was as it was."""

    added: tuple[str, ...]
    changed: tuple[str, ...]
    same: int


def event_day(book: Book, event_id: str) -> EventDay:
    """Everything of one event day, from one state of the book.

    People are those whom the event names, their mentors, and the owners of its cars and helmets; helmets are theirs and
    the club's; changes are all that its cars ever had.

    Raises
    ------
    NoSuchRecordError
        If there is no such event.
    """
    with book.reading() as reader:
        event = reader.one(Event, event_id).record
        parts: dict[str, tuple[Any, ...]] = {
            name: _records(reader, kind, event=event_id)
            for name, kind in (
                ("loans", Loan),
                ("checks", CheckEntry),
                ("runs", Run),
                ("ride_alongs", RideAlong),
                ("expenses", Expense),
                ("packed", Packed),
            )
        }
        named = [*event.entries, *(record for records in parts.values() for record in records)]
        car_ids = _named(named, ("car",))
        cars = tuple(car for car in _records(reader, EventCar) if car.id in car_ids)
        changes = tuple(change for change in _records(reader, CarChange) if change.car in car_ids)
        people = _people(reader, _named([*named, *cars], (*_PEOPLE, "owner")))
        ids, lent = {person.id for person in people}, _named(named, ("helmet",))
        helmets = tuple(
            helmet for helmet in _records(reader, Helmet) if helmet.id in lent or helmet.is_loan or helmet.owner in ids
        )
        people = _people(reader, ids | _named(helmets, ("owner",)))
    return EventDay(event=event, people=people, cars=cars, helmets=helmets, changes=changes, **parts)


def entry_list(book: Book, event_id: str) -> EventDay:
    """An event with its cars and everybody in the book: what it takes to write a run down, in a fraction of the time.

    Raises
    ------
    NoSuchRecordError
        If there is no such event.
    """
    with book.reading() as reader:
        event = reader.one(Event, event_id).record
        car_ids = _named(event.entries, ("car",))
        cars = tuple(car for car in _records(reader, EventCar) if car.id in car_ids)
        people = _records(reader, Person)
    return EventDay(event=event, people=people, cars=cars)


def keep_day(book: Book, day: EventDay, *, by: str = "", reason: str = "", replace: bool = True) -> KeptDay:
    """Keep a whole event day: what is new is added, what differs is a new version. All of it, or nothing.

    What the book has beyond the day stays, private details of its people too.

    Parameters
    ----------
    book : Book
    day : EventDay
    by, reason : str, optional
        For the history.
    replace : bool, default True
        Whether a record about which the book says something else may get a new version.

    Raises
    ------
    ImportConflictError
        If the book says something else and `replace` is False.
    BrokenLinkError
        If a record names one that is neither in the day nor in the book.
    """
    with book.writing(by=by) as writer:
        done = write_day(writer, day, reason=reason)
        if done.changed and not replace:
            raise ImportConflictError(list(done.changed), where=f"event {day.event.id}")
    return done


def write_day(writer: Writer, day: EventDay, *, before: Iterable[Record] = (), reason: str = "") -> KeptDay:
    """The same within a transaction that is open.

    Parameters
    ----------
    writer : Writer
    day : EventDay
    before : iterable of Record, optional
        What the day names beside its own records, such as files of cars and courses; it is kept first.
    reason : str, optional
        For the history.
    """
    done: dict[str, list[str]] = {"added": [], "changed": [], "same": []}
    for record in (*before, *_in_order(day)):
        done[writer.keep(record, reason=reason)].append(f"{kind_of(type(record)).name} {getattr(record, 'id', '')}")
    return KeptDay(tuple(done["added"]), tuple(done["changed"]), len(done["same"]))


def _in_order(day: EventDay) -> Iterable[Record]:
    for name in _BEFORE_THE_EVENT:
        yield from getattr(day, name)
    yield day.event
    for name in _AFTER_THE_EVENT:
        yield from getattr(day, name)


def _records(reader: Reader, kind: type[R], **fields: Any) -> tuple[R, ...]:
    return tuple(kept.record for kept in reader.every(kind, **fields))


def _named(records: Iterable[Any], fields: Iterable[str]) -> set[str]:
    """Ids that fields of records hold."""
    return {getattr(record, field, "") for record in records for field in fields} - {""}


def _people(reader: Reader, ids: set[str]) -> tuple[Person, ...]:
    """The people of some ids, with their mentors."""
    everyone = {kept.id: kept.record for kept in reader.every(Person)}
    wanted = set(ids)
    for one in ids & everyone.keys():
        wanted |= {everyone[one].mentor} - {""}
    return tuple(person for person in everyone.values() if person.id in wanted)
