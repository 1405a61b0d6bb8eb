"""Cars of an event day, what was looked at on them, and what reopens it."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Literal, get_args

from pydantic import Field, field_validator

from conewise import quantities
from conewise.errors import InputError
from conewise.records import Id, Line, Moment, OptionalId, OptionalLine, Record

ChangeKind = Literal[
    "wheels", "brakes", "suspension", "steering", "fuel", "seat", "belts", "contact", "leak", "noise"
]  # fmt: skip
CHANGE_KINDS: tuple[str, ...] = get_args(ChangeKind)
CheckResult = Literal["passed", "failed", "does not apply"]

_DATE_CODE = re.compile(r"(\d\d)(\d\d)")


class WheelTorque(Record):
    """Torque of the wheel nuts from the maker's manual, as it is written there with its unit."""

    written: Line
    source: OptionalLine = ""  # where it stands: manual, page

    @field_validator("written")
    @classmethod
    def _has_a_unit(cls, written: str) -> str:
        try:
            value = quantities.parse(written, "torque", where="written")
        except InputError as error:
            raise ValueError(f"{error.message} {error.hint}") from None
        if value <= 0.0:
            raise ValueError(f"{written} is no torque of a wheel nut")
        return written

    @property
    def value(self) -> float:
        """The torque. [N m]"""
        return quantities.parse(self.written, "torque", where="written")


class TyreState(Record):
    """The tyres of one axle."""

    axle: Literal["front", "rear"]
    date_code: str = Field(default="", pattern=r"^(?:(?:0[1-9]|[1-4]\d|5[0-3])\d\d)?$")  # week and year: "2319"
    tread: float | None = Field(default=None, ge=0.0, le=0.03, json_schema_extra={"dimension": "length"})  # least [m]

    @property
    def made(self) -> date | None:
        """Monday of the week of the date code, ISO 8601; None where no code is given."""
        found = _DATE_CODE.fullmatch(self.date_code)
        if found is None:
            return None
        week, year = int(found[1]), 2000 + int(found[2])
        return date.fromisocalendar(year, 1, 1) + timedelta(weeks=week - 1)


class EventCar(Record):
    """A car as the inspection sees it; `car_file` says how it drives."""

    id: Id
    name: Line
    owner: OptionalId = ""
    car_file: OptionalLine = ""  # docs/formats-cars.md
    body: Literal["closed", "open"] = "closed"
    roll_protection: Literal["none", "roof", "hoop", "cage", "unknown"] = "unknown"
    energy: Literal["fuel", "electric", "hybrid"] = "fuel"
    wheel_torque: WheelTorque | None = None
    tyres: tuple[TyreState, ...] = Field(default=(), max_length=2)
    passenger_seat: bool = True


class CheckEntry(Record):
    """One look at one item of the inspection of one car."""

    id: Id
    event: Id
    car: Id
    item: Id
    result: CheckResult
    looked_by: Line
    looked_at: Moment
    value: OptionalLine = ""  # what was measured, with its unit
    note: OptionalLine = ""
    photo: OptionalLine = ""  # in an event file a picture beside it, in the book the address of a kept one


class CarChange(Record):
    """Work on a car, an off with contact, a leak or a noise: it reopens items of the inspection."""

    id: Id
    event: OptionalId = ""
    car: Id
    kind: ChangeKind
    happened_at: Moment
    note: OptionalLine = ""
