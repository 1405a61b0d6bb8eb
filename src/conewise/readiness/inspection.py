"""The inspection of a car: every item looked at by a person, and open again after work or an incident."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise import quantities
from conewise.errors import InputError
from conewise.readiness.items import OpenItem

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from conewise.event.cars import CarChange, CheckEntry, EventCar, WheelTorque
    from conewise.event.day import EventDay
    from conewise.event.rules import InspectionItem, InspectionRule

_SAME_TORQUE = 0.005  # share by which a value in another unit may differ by rounding
_WHAT_HAPPENED = {
    "contact": "an off with contact",
    "leak": "a reported leak",
    "noise": "a reported noise",
}


def items_for(car: EventCar, rule: InspectionRule) -> tuple[InspectionItem, ...]:
    """The items of the list that concern a car, by its body and what drives it."""
    kinds = {car.energy, car.body}
    return tuple(item for item in rule.items if not item.only or kinds & set(item.only))


def item_code(item: InspectionItem) -> str:
    """How an item of the list is called where it is open."""
    return f"inspection-{item.id}"


def judge_car(car: EventCar, day: EventDay, *, rule: InspectionRule) -> tuple[OpenItem, ...]:
    """What is open on a car at an event day: an item that nobody looked at blocks like one that failed.

    Parameters
    ----------
    car : EventCar
    day : EventDay
        Its checks of this event count, and its changes reopen them.
    rule : InspectionRule
        Of the event's rule set.
    """
    found: list[OpenItem] = []
    for item in items_for(car, rule):
        reason = _why_open(item, car, day)
        if reason:
            found.append(OpenItem(item_code(item), item.text, reason))
    listed = {item.id for item in rule.items}
    for check in _checks(car, day):
        if check.item not in listed:
            reason = f"Looked at '{check.item}', which is not on the list. Correct the item's name."
            found.append(OpenItem("inspection-unknown", check.item, reason))
    return (*found, *_roof_items(car), *_tyre_items(car, day.event.day, rule))


def last_check(item: str, car: EventCar, day: EventDay) -> CheckEntry | None:
    """The latest look at an item; the later entry of two at one moment."""
    return latest([check for check in _checks(car, day) if check.item == item])


def latest(checks: Sequence[CheckEntry]) -> CheckEntry | None:
    """The latest of some looks at one item; the later entry of two at one moment."""
    return max(enumerate(checks), key=lambda pair: (pair[1].looked_at, pair[0]))[1] if checks else None


def reopened(item: InspectionItem, check: CheckEntry, changes: tuple[CarChange, ...]) -> CarChange | None:
    """The last change to a car that opens an item again after it was looked at."""
    later = [
        change
        for change in changes
        if change.car == check.car and change.kind in item.reopened_by and change.happened_at >= check.looked_at
    ]
    return max(later, key=lambda change: change.happened_at, default=None)


def _checks(car: EventCar, day: EventDay) -> list[CheckEntry]:
    return [check for check in day.checks if (check.car, check.event) == (car.id, day.event.id)]


def _why_open(item: InspectionItem, car: EventCar, day: EventDay) -> str:
    """Why an item is open, in words; "" where it is not."""
    check = last_check(item.id, car, day)
    if check is None:
        return f"Nobody has looked at it yet. {_torque_reason(item, car, check)}".strip()
    who = f"{check.looked_by}, {check.looked_at:%Y-%m-%d %H:%M}"
    change = reopened(item, check, tuple(one for one in day.changes if one.happened_at.date() <= day.event.day))
    if check.result == "failed":
        return f"Failed ({who}){': ' + check.note if check.note else ''}."
    if check.looked_at.date() > day.event.day:
        return f"Looked at on {check.looked_at.date()}, after the event on {day.event.day}. Correct the date."
    if change is not None:
        what = _WHAT_HAPPENED.get(change.kind, f"work on the {change.kind}")
        note = f" ({change.note})" if change.note else ""
        return f"Open again since {change.happened_at:%Y-%m-%d %H:%M}: {what}{note}. Looked at before that by {who}."
    if check.result == "passed":
        return _early_reason(item, check, day) or _torque_reason(item, car, check)
    return ""


def _early_reason(item: InspectionItem, check: CheckEntry, day: EventDay) -> str:
    """Where an item was looked at before the one that comes first; "" elsewhere."""
    car = day.car(check.car)
    before = last_check(item.after, car, day) if item.after and car is not None else None
    if before is None or before.looked_at < check.looked_at:
        return ""
    return f"Checked at {check.looked_at:%H:%M}, not after the nuts were torqued at {before.looked_at:%H:%M}."


def _torque_reason(item: InspectionItem, car: EventCar, check: CheckEntry | None) -> str:
    """What is wrong with the torque of an item that needs one; "" where nothing is."""
    if item.needs != "wheel-torque":
        return ""
    if car.wheel_torque is None:
        return "Enter the torque from the maker's manual with its unit."
    if check is None or (item.after and not check.value):  # the second look says that they still hold
        return ""
    wanted = car.wheel_torque
    if not check.value:
        return f"Write down the torque that was used, with its unit; the maker's value is {wanted.written}."
    return _torque_difference(check, wanted)


def _torque_difference(check: CheckEntry, wanted: WheelTorque) -> str:
    """What is wrong with the torque that was written down; "" where it is the maker's value."""
    try:
        used = quantities.parse(check.value, "torque", where=f"check {check.id}, value")
    except InputError as error:
        return f"{error.message} {error.hint}"
    if abs(used - wanted.value) > _SAME_TORQUE * wanted.value:
        return f"Torqued to {check.value}; the maker's value is {wanted.written}."
    return ""


def _roof_items(car: EventCar) -> Iterator[OpenItem]:
    if car.body == "open" and car.roll_protection in {"none", "unknown"}:
        what = "has none" if car.roll_protection == "none" else "is not written down"
        reason = f"An open car, and its roof or roll protection {what}; ask the event what it wants."
        yield OpenItem("car-roll-protection", "Roof or roll protection", reason)


def _tyre_items(car: EventCar, day: date, rule: InspectionRule) -> Iterator[OpenItem]:
    for tyres in car.tyres:
        if tyres.made is None:
            continue
        if tyres.made > day:
            reason = f"Date code {tyres.date_code} is after the event on {day}. Read it again."
            yield OpenItem("tyre-from-the-future", f"Tyres {tyres.axle}", reason)
            continue
        years = (day - tyres.made).days / 365.25
        if years > rule.tyre_age:
            reason = f"{years:.1f} years old by date code {tyres.date_code}; look twice above {rule.tyre_age:g}."
            yield OpenItem("tyre-age", f"Tyres {tyres.axle}", reason, blocks=False)
