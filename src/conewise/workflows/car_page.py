"""A car of the book as a page shows it: its sheet, its versions, and what was looked at and torqued."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.cars.car_file import car_of
from conewise.cars.toml_file import Table
from conewise.event.cars import CarChange, CheckEntry, EventCar
from conewise.event.day import Event
from conewise.store.texts import CarText
from conewise.workflows.setup import difference_rows, differences

if TYPE_CHECKING:
    from datetime import datetime

    from conewise.quantities import System
    from conewise.workflows.book_place import BookPlace


@dataclass(frozen=True, slots=True, kw_only=True)
class CarVersion:
    """One version of a car file: when it was kept, why, and what became of which number."""

    version: int
    at: datetime
    by: str
    reason: str
    rows: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LookRow:
    """One look at a car, or work on it."""

    at: datetime
    event: str
    what: str
    result: str
    by: str
    value: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CarLog:
    """What was done and looked at on a car, the latest first.

    torque: the maker's value as somebody entered it; empty where nobody did.
    """

    name: str
    torque: str
    source: str
    torqued: tuple[LookRow, ...]
    rows: tuple[LookRow, ...]


def car_versions(place: BookPlace, car_file: str, *, system: System = "metric") -> tuple[CarVersion, ...]:
    """Versions of a car file, the latest first; what changed against the one before.

    Raises
    ------
    NoSuchRecordError
        If the book has no car file of that id.
    """
    with place.opened(create=False) as book:
        versions = [one for one in book.history(CarText, car_file) if one.record is not None]
    found, before = [], None
    for one in versions:
        assert one.record is not None
        car = car_of(Table.of_text(one.record.text, file=f"car '{car_file}', version {one.version}"))
        rows = () if before is None else tuple(difference_rows(differences(before, car), system))
        found.append(CarVersion(version=one.version, at=one.at, by=one.by, reason=one.reason, rows=rows))
        before = car
    return tuple(reversed(found))


def car_log(place: BookPlace, car: str) -> CarLog:
    """What was looked at on a car over all events; looks that have a value, such as a torque, once more by themselves.

    Raises
    ------
    NoSuchRecordError
        If the book has no such car.
    """
    with place.opened(create=False) as book, book.reading() as reader:
        record = reader.one(EventCar, car).record
        events = {kept.id: kept.record.name for kept in reader.every(Event)}
        checks = [kept.record for kept in reader.every(CheckEntry, car=car)]
        work = [kept.record for kept in reader.every(CarChange, car=car)]
    rows = [
        LookRow(
            at=one.looked_at, event=events.get(one.event, one.event), what=one.item.replace("-", " "),
            result=one.result, by=one.looked_by, value=one.value, note=one.note,
        )
        for one in checks
    ]  # fmt: skip
    rows += [
        LookRow(
            at=one.happened_at, event=events.get(one.event, one.event), what=one.kind, result="", by="", value="",
            note=one.note,
        )
        for one in work
    ]  # fmt: skip
    rows.sort(key=lambda row: (row.at, row.what), reverse=True)
    torque = record.wheel_torque
    return CarLog(
        name=record.name,
        torque="" if torque is None else torque.written,
        source="" if torque is None else torque.source,
        torqued=tuple(row for row in rows if row.value),
        rows=tuple(rows),
    )


def car_of_file(place: BookPlace, car_file: str) -> str:
    """Id of the car that drives as a car file says; empty where there is none."""
    with place.opened(create=False) as book:
        cars = book.every(EventCar)
    return next((kept.id for kept in cars if kept.record.car_file == car_file), "")
