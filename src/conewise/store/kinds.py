"""Kinds of records: which class, which table, which file of an export."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from conewise.event.cars import CarChange, CheckEntry, EventCar
from conewise.event.day import Event, Expense, Packed
from conewise.event.helmets import Helmet, Loan
from conewise.event.people import Person
from conewise.event.runs import RideAlong, Run
from conewise.records import Record
from conewise.store import tables
from conewise.store.content import may_be_private
from conewise.store.logs import StoredLog
from conewise.store.texts import (
    CarText,
    ChangesText,
    CourseText,
    DriverText,
    RulesText,
    StoredText,
    refuse_unreadable,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

R = TypeVar("R", bound=Record)


@dataclass(frozen=True, slots=True)
class Link:
    """A field that holds the id of another record, or the address of a file."""

    field: str
    kind: str  # "kept_file" for a file
    is_optional: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind(Generic[R]):
    """How one kind of record is kept.

    name: as it is said, and as revisions have it.
    file: where an export has it: `NAME.toml` and `NAME.csv` hold them all, `FOLDER/*.toml` one text each.
    order: fields by which lists are sorted, before the id.
    """

    name: str
    record: type[R]
    row: type[tables.RecordRow]
    file: str
    order: tuple[str, ...] = ()

    @property
    def table(self) -> str:
        """Name of the kind's table."""
        return str(self.row.__tablename__)

    @property
    def has_private(self) -> bool:
        """Whether records of the kind can have private details."""
        return may_be_private(self.record)

    def columns(self, record: Record) -> dict[str, Any]:
        """What the kind's table repeats of a record; an empty link is None."""
        links = {link.field for link in links_of(self.table)}
        names = [name for name in _column_names(self.table) if name in type(record).model_fields and name != "id"]
        return {name: _as_column(getattr(record, name), is_link=name in links) for name in names}

    def children(self, record: Record, record_id: str) -> list[tables.Row]:
        """Rows that hold links inside the record."""
        if self.row is not tables.EventRow:
            return []
        return [
            tables.EntryRow(event=record_id, place=place, **{name: getattr(entry, name) or None for name in _ENTRY})
            for place, entry in enumerate(getattr(record, "entries", ()))
        ]

    def refuse_unreadable(self, record: Record) -> None:
        """Hold a text to the reader of its form; other records are checked when made."""
        if isinstance(record, StoredText):
            refuse_unreadable(record)


def _as_column(value: Any, *, is_link: bool) -> Any:
    """A value as a table repeats it: no link is None, a moment is what the clock of the event shows."""
    if is_link:
        return value or None
    return value.replace(tzinfo=None) if isinstance(value, datetime) else value


_ENTRY = ("person", "car", "helmet")


@cache
def _column_names(table: str) -> tuple[str, ...]:
    return tuple(tables.Row.metadata.tables[table].columns.keys())


@cache
def links_of(table: str) -> tuple[Link, ...]:
    """Columns of a table that name another record or a file."""
    found = []
    for name, column in tables.Row.metadata.tables[table].columns.items():
        for key in column.foreign_keys:
            target = key.target_fullname.split(".")[0]
            if target != tables.Revision.__tablename__:
                found.append(Link(name, target, bool(column.nullable)))
    return tuple(found)


KINDS: tuple[Kind[Any], ...] = (
    Kind(name="person", record=Person, row=tables.PersonRow, file="people.toml", order=("name",)),
    Kind(name="helmet", record=Helmet, row=tables.HelmetRow, file="helmets.toml"),
    Kind(name="car", record=EventCar, row=tables.CarRow, file="cars.toml", order=("name",)),
    Kind(name="event", record=Event, row=tables.EventRow, file="events.toml", order=("day",)),
    Kind(name="loan", record=Loan, row=tables.LoanRow, file="loans.csv", order=("event",)),
    Kind(name="check", record=CheckEntry, row=tables.CheckRow, file="checks.csv", order=("event", "looked_at")),
    Kind(name="car-change", record=CarChange, row=tables.CarChangeRow, file="car-changes.csv", order=("happened_at",)),
    Kind(name="run", record=Run, row=tables.RunRow, file="runs.csv", order=("event", "person", "order")),
    Kind(name="ride-along", record=RideAlong, row=tables.RideAlongRow, file="ride-alongs.csv", order=("event",)),
    Kind(name="expense", record=Expense, row=tables.ExpenseRow, file="expenses.csv", order=("day",)),
    Kind(name="packed", record=Packed, row=tables.PackedRow, file="packed.csv", order=("event", "item")),
    Kind(name="car-file", record=CarText, row=tables.CarTextRow, file="car-files/*.toml"),
    Kind(name="course", record=CourseText, row=tables.CourseTextRow, file="courses/*.toml"),
    Kind(name="driver-file", record=DriverText, row=tables.DriverTextRow, file="driver-files/*.toml"),
    Kind(name="rules", record=RulesText, row=tables.RulesTextRow, file="rules/*.toml"),
    Kind(name="changes", record=ChangesText, row=tables.ChangesTextRow, file="changes/*.toml"),
    Kind(name="log", record=StoredLog, row=tables.LogRow, file="logs.toml"),
)
BY_NAME: Mapping[str, Kind[Any]] = {kind.name: kind for kind in KINDS}
BY_RECORD: Mapping[type[Record], Kind[Any]] = {kind.record: kind for kind in KINDS}
BY_TABLE: Mapping[str, Kind[Any]] = {kind.table: kind for kind in KINDS}


def kind_of(record: type[R]) -> Kind[R]:
    """How records of a class are kept."""
    return BY_RECORD[record]
