"""Somebody looked at an item of a car or a helmet, or something happened to a car: it goes into the book at once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from conewise.errors import ConflictError, InputError
from conewise.event.cars import CarChange, CheckEntry, EventCar, WheelTorque
from conewise.event.day import Event
from conewise.event.helmets import LOOKS, Helmet, Loan, Look
from conewise.readiness.inspection import latest
from conewise.workflows.place_clock import clock_at

if TYPE_CHECKING:
    from conewise.event.cars import ChangeKind, CheckResult
    from conewise.event.helmets import LookResult
    from conewise.store.writer import Writer
    from conewise.workflows.book_place import BookPlace


class LookedMeanwhileError(ConflictError):
    """Somebody else looked at the item after the page was made."""

    code = "looked-meanwhile"
    default_hint = "The page shows it now. Look again if you see it otherwise; nothing was overwritten."

    def __init__(self, check: CheckEntry) -> None:
        super().__init__(
            f"{check.looked_by} looked at it meanwhile, at {check.looked_at:%H:%M}: {check.result}."
            " Your look was not written down.",
            where=check.item,
        )


class NoSuchLookError(InputError):
    """A helmet has no such thing to look at."""

    code = "helmet-look"

    def __init__(self, name: str) -> None:
        super().__init__(f"A helmet has no '{name}' to look at.", where="look", hint=f"One of {', '.join(LOOKS)}.")


@dataclass(frozen=True, slots=True, kw_only=True)
class CarLook:
    """One look at one item of the inspection.

    look_id: made by whoever sends it; the same once more is no second look.
    seen: id of the last look at the item that the page showed; empty where it showed none.
    """

    look_id: str
    car: str
    item: str
    result: CheckResult
    looked_by: str
    seen: str = ""
    value: str = ""
    note: str = ""
    photo: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class HelmetLook:
    """One look at one thing of a helmet; `version` of the helmet is what the page showed."""

    helmet: str
    look: str
    result: LookResult
    looked_by: str
    version: int
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CarReport:
    """Work on a car, an off with contact, a leak, a noise: it opens items of the inspection again."""

    report_id: str
    car: str
    kind: ChangeKind
    by: str
    note: str = ""


def look_at_car(source: BookPlace, event_id: str, look: CarLook) -> CheckEntry:
    """Write down a look at an item of a car; it comes after what the book has of the car already.

    Raises
    ------
    LookedMeanwhileError
        If somebody looked at it after the page was made.
    ConewiseError
        If the car or the event is not in the book, or the book cannot be written.
    """
    with source.opened(create=False) as book, book.writing(by=look.looked_by) as writer:
        before = writer.find(CheckEntry, look.look_id)
        if before is not None:
            return before.record
        event = writer.one(Event, event_id).record
        writer.one(EventCar, look.car)
        checks = [kept.record for kept in writer.every(CheckEntry, event=event_id, car=look.car)]
        last = latest([check for check in checks if check.item == look.item])
        if (last.id if last else "") != look.seen and last is not None:
            raise LookedMeanwhileError(last)
        changes = [kept.record.happened_at for kept in writer.every(CarChange, car=look.car)]
        earlier = [moment for moment in (*changes, *(c.looked_at for c in checks)) if moment.date() <= event.day]
        moment = max([clock_at(event, source.now), *(one + timedelta(seconds=1) for one in earlier)])
        check = CheckEntry(
            id=look.look_id, event=event_id, car=look.car, item=look.item, result=look.result,
            looked_by=look.looked_by, looked_at=moment, value=look.value, note=look.note, photo=look.photo,
        )  # fmt: skip
        writer.add(check)
        return check


def take_look_back(source: BookPlace, look_id: str, *, by: str) -> None:
    """Take back a look at a car, as if nobody had looked; its history stays."""
    _remove(source, CheckEntry, look_id, by=by)


def report_car(source: BookPlace, event_id: str, report: CarReport) -> CarChange:
    """Write down what happened to a car; the items concerned are open again at once.

    Raises
    ------
    ConewiseError
        If the car or the event is not in the book, or the book cannot be written.
    """
    with source.opened(create=False) as book, book.writing(by=report.by) as writer:
        before = writer.find(CarChange, report.report_id)
        if before is not None:
            return before.record
        event = writer.one(Event, event_id).record
        change = CarChange(
            id=report.report_id, event=event_id, car=report.car, kind=report.kind,
            happened_at=clock_at(event, source.now), note=report.note,
        )  # fmt: skip
        writer.add(change)
        return change


def take_report_back(source: BookPlace, report_id: str, *, by: str) -> None:
    """Take back what was said to have happened to a car."""
    _remove(source, CarChange, report_id, by=by)


def look_at_helmet(source: BookPlace, event_id: str, look: HelmetLook) -> int:
    """Write down a look at a helmet; its new version comes back.

    Raises
    ------
    NoSuchLookError
        If a helmet has nothing of that name.
    ChangedMeanwhileError
        If the helmet was changed after the page was made.
    """
    if look.look not in LOOKS:
        raise NoSuchLookError(look.look)
    with source.opened(create=False) as book, book.writing(by=look.looked_by) as writer:
        event, helmet = writer.one(Event, event_id).record, writer.one(Helmet, look.helmet).record
        seen = Look(
            result=look.result, looked_by=look.looked_by, looked_at=clock_at(event, source.now).date(), note=look.note
        )
        return writer.change(helmet.changed(**{look.look: seen}), version=look.version).version


def set_wheel_torque(source: BookPlace, car_id: str, *, written: str, origin: str, version: int, by: str) -> int:
    """Write down the torque of a car's wheel nuts from the maker's manual; the car's new version comes back.

    Raises
    ------
    WheelTorqueError
        If it is no torque with its unit.
    ChangedMeanwhileError
        If the car was changed after the page was made.
    """
    with source.opened(create=False) as book, book.writing(by=by) as writer:
        car = writer.one(EventCar, car_id).record
        torque = _torque(written, origin)
        return writer.change(car.changed(wheel_torque=torque), version=version).version


class WheelTorqueError(InputError):
    """A torque of wheel nuts that is none."""

    code = "wheel-torque"
    default_hint = "Write the number from the maker's manual with its unit, such as 110 N m or 80 lb ft."

    def __init__(self, written: str) -> None:
        super().__init__(f"'{written}' is no torque of wheel nuts.", where="written")


def _torque(written: str, origin: str) -> WheelTorque:
    try:
        return WheelTorque(written=" ".join(written.split()), source=origin)
    except ValueError:
        raise WheelTorqueError(written) from None


def lend_helmet(source: BookPlace, event_id: str, *, loan_id: str, helmet: str, person: str, by: str) -> Loan:
    """Write down who has which of the club's helmets today.

    Raises
    ------
    HelmetOnLoanError
        If somebody has it already.
    """
    with source.opened(create=False) as book, book.writing(by=by) as writer:
        before = writer.find(Loan, loan_id)
        if before is not None:
            return before.record
        _refuse_lent(writer, event_id, helmet)
        loan = Loan(id=loan_id, event=event_id, helmet=helmet, person=person)
        writer.add(loan)
        return loan


def take_helmet_back(source: BookPlace, loan_id: str, *, by: str) -> None:
    """A helmet that was lent is with the club again."""
    _remove(source, Loan, loan_id, by=by)


class HelmetOnLoanError(ConflictError):
    """A helmet that is lent already."""

    code = "helmet-on-loan"
    default_hint = "Take it back first, or lend another one."

    def __init__(self, helmet: str, person: str) -> None:
        super().__init__(f"Helmet {helmet} is lent to {person} already.", where=helmet)


def _refuse_lent(writer: Writer, event_id: str, helmet: str) -> None:
    for kept in writer.every(Loan, event=event_id, helmet=helmet):
        raise HelmetOnLoanError(helmet, kept.record.person)


def _remove(source: BookPlace, kind: type[CheckEntry | CarChange | Loan], record_id: str, *, by: str) -> None:
    """Take a record out; one that was taken out before is out."""
    with source.opened(create=False) as book, book.writing(by=by) as writer:
        if writer.find(kind, record_id) is None and writer.history(kind, record_id):
            return
        writer.remove(kind, record_id)
