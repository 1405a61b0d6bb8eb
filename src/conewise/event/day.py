"""An event: when, where, what it costs, who enters; and everything of one day in one record."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Literal

from pydantic import Field, model_validator

from conewise.event.cars import CarChange, CheckEntry, EventCar
from conewise.event.helmets import Helmet, Loan
from conewise.event.people import Person
from conewise.event.runs import RideAlong, Run
from conewise.money import MoneyError, money
from conewise.records import Clock, Day, Id, Line, OptionalId, OptionalLine, Record

_SECONDS: Any = {"dimension": "time"}


def _duration(default: float, *, most: float = 36_000.0) -> Any:
    """Declare a duration. [s]"""
    return Field(default=default, ge=0.0, le=most, json_schema_extra=_SECONDS)


EXPENSE_KINDS = ("entry", "fuel", "tyres", "travel", "parts", "food", "other")


class Money(Record):
    """An amount of money, as `conewise.money` reads it."""

    amount: Decimal = Field(ge=0, max_digits=12, decimal_places=2)
    currency: str  # ISO 4217

    @model_validator(mode="before")
    @classmethod
    def _is_known(cls, value: Any) -> Any:
        if isinstance(value, str) or (isinstance(value, dict) and {"amount", "currency"} == set(value)):
            text = value if isinstance(value, str) else f"{value['amount']} {value['currency']}"
            try:
                read = money(text, where="money")
            except MoneyError as error:
                raise ValueError(error.message) from None
            if not read.currency:
                raise ValueError(f"{text} has no currency")
            return {"amount": read.amount, "currency": read.currency}
        return value


class Registration(Record):
    """When and how one registers."""

    opens: Day | None = None
    closes: Day | None = None
    on_the_day: bool = False


class Schedule(Record):
    """What the organiser sets; the rest of the day is computed backwards from the first car."""

    first_car: Clock
    gates_open: Clock | None = None
    registration_opens: Clock | None = None
    course_opens: Clock | None = None  # for walking
    registration_time: float = _duration(900.0)  # [s]
    inspection_time: float = _duration(1800.0)  # [s]
    meeting_time: float = _duration(900.0)  # [s]
    unloading_time: float = _duration(1200.0)  # [s]
    walks: int = Field(default=1, ge=0, le=5)
    course_length: float = Field(default=800.0, gt=0.0, le=5000.0, json_schema_extra={"dimension": "length"})  # [m]
    runs: int = Field(default=4, ge=1, le=30)  # of each driver
    interval: float = Field(default=45.0, gt=0.0, le=600.0, json_schema_extra=_SECONDS)  # from start to start [s]
    lunch_time: float = _duration(0.0)  # [s]


class Entry(Record):
    """One driver in one car at one event."""

    person: Id
    car: Id
    helmet: OptionalId = ""
    number: OptionalLine = ""
    class_code: OptionalLine = ""
    index: float | None = Field(default=None, gt=0.0, le=2.0)  # in place of the class's
    heat: OptionalLine = ""
    work_heat: OptionalLine = ""
    work_station: OptionalLine = ""


class Event(Record):
    """An event of one day."""

    id: Id
    name: Line
    day: Day
    place: OptionalLine = ""
    surface: OptionalLine = ""
    rules: Line = "club"  # name or file of a rule set
    course_file: OptionalLine = ""
    time_zone: OptionalLine = ""  # IANA name, such as "Europe/Dublin"; empty: clock time of the place
    weather: Literal["", "dry", "wet", "hot", "cold"] = ""
    fee: Money | None = None
    registration: Registration = Registration()
    classes: tuple[Line, ...] = ()
    heats: tuple[Line, ...] = ()
    schedule: Schedule | None = None
    entries: tuple[Entry, ...] = ()


class Expense(Record):
    """Money spent."""

    id: Id
    event: OptionalId = ""
    person: OptionalId = ""
    day: Day
    kind: Literal["entry", "fuel", "tyres", "travel", "parts", "food", "other"] = "other"
    money: Money
    note: OptionalLine = ""


class Packed(Record):
    """Something of the packing list is in the car."""

    id: Id
    event: Id
    person: OptionalId = ""
    item: Line
    is_packed: bool = True


class EventDay(Record):
    """Everything of one event day."""

    event: Event
    people: tuple[Person, ...] = ()
    cars: tuple[EventCar, ...] = ()
    helmets: tuple[Helmet, ...] = ()
    loans: tuple[Loan, ...] = ()
    checks: tuple[CheckEntry, ...] = ()
    changes: tuple[CarChange, ...] = ()
    runs: tuple[Run, ...] = ()
    ride_alongs: tuple[RideAlong, ...] = ()
    expenses: tuple[Expense, ...] = ()
    packed: tuple[Packed, ...] = ()

    def person(self, key: str) -> Person | None:
        """The person of an id."""
        return next((one for one in self.people if one.id == key), None)

    def car(self, key: str) -> EventCar | None:
        """The car of an id."""
        return next((one for one in self.cars if one.id == key), None)

    def helmet(self, key: str) -> Helmet | None:
        """The helmet of an id."""
        return next((one for one in self.helmets if one.id == key), None)

    def entry(self, key: str) -> Entry | None:
        """The entry of a person, the first where there are several."""
        return next((one for one in self.event.entries if one.person == key), None)

    def car_called(self, key: str) -> str:
        """The name of a car; its id where the day does not know it."""
        return next((car.name for car in self.cars if car.id == key), key)

    def called(self, key: str) -> str:
        """What a person is called: the name, with the number or the id behind it where another has the same name."""
        person = self.person(key)
        if person is None:
            return key
        if sum(other.name.casefold() == person.name.casefold() for other in self.people) < 2:
            return person.name
        entry = self.entry(key)
        return f"{person.name} ({entry.number if entry and entry.number else person.id})"
