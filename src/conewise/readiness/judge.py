"""The whole answer to "may we run?": every driver, car and helmet of an event day."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.readiness.driver import helmet_of, judge_driver
from conewise.readiness.helmet import judge_helmet
from conewise.readiness.inspection import judge_car
from conewise.readiness.items import Judged, OpenItem, Readiness
from conewise.readiness.standards import load_standards

if TYPE_CHECKING:
    from collections.abc import Iterator

    from conewise.event.day import EventDay
    from conewise.event.rules import EventRules


def judge_day(day: EventDay, rules: EventRules) -> Readiness:
    """Everything that is open before the first car.

    Only people, cars and helmets that are entered are judged; a helmet that nobody wears today is not.

    Parameters
    ----------
    day : EventDay
        With the checks and changes so far.
    rules : EventRules
        Of the event.
    """
    entries = day.event.entries
    people = list(dict.fromkeys(entry.person for entry in entries))
    cars = list(dict.fromkeys(entry.car for entry in entries))
    helmets = list(dict.fromkeys(key for entry in entries if (key := helmet_of(entry, day))))
    return Readiness(
        event=day.event.name,
        rules=rules.name,
        rules_title=rules.title,
        drivers=tuple(_driver(key, day, rules) for key in people),
        cars=tuple(judged_car(key, day, rules) for key in cars),
        helmets=tuple(_helmet(key, day, rules) for key in helmets),
        day=tuple(_day_items(day)),
        from_club=rules.from_club,
    )


def _driver(key: str, day: EventDay, rules: EventRules) -> Judged:
    person = day.person(key)
    if person is None:
        return Judged(key, key, (OpenItem("driver-unknown", "Driver", "Nobody is known by this id."),))
    return Judged(key, day.called(key), judge_driver(person, day, rule=rules.people))


def judged_car(key: str, day: EventDay, rules: EventRules) -> Judged:
    """One car by its id, with what is open on it."""
    car = day.car(key)
    if car is None:
        return Judged(key, key, (OpenItem("car-unknown", "Car", "There is no car of this id."),))
    items = judge_car(car, day, rule=rules.inspection)
    early = [
        run for run in day.runs if run.car == key and (run.event, run.outcome == "dns") == (day.event.id, False)
    ]  # fmt: skip
    if early and any(item.blocks for item in items):
        who = ", ".join(dict.fromkeys(day.called(run.person) for run in early))
        reason = f"{len(early)} runs are written down ({who}) while items of the inspection are open."
        items = (OpenItem("run-before-inspection", "Runs", reason), *items)
    return Judged(key, car.name, items)


def _helmet(key: str, day: EventDay, rules: EventRules) -> Judged:
    helmet = day.helmet(key)
    if helmet is None:
        return Judged(key, key, (OpenItem("helmet-unknown", "Helmet", "There is no helmet of this id."),))
    worn = [entry for entry in day.event.entries if helmet_of(entry, day) == key]
    in_open_car = any((car := day.car(entry.car)) is not None and car.body == "open" for entry in worn)
    items = judge_helmet(
        helmet, day.event.day, rule=rules.helmet, standards=load_standards(), in_open_car=in_open_car
    )  # fmt: skip
    wearers = " and ".join(dict.fromkeys(day.called(entry.person) for entry in worn))
    kind = "loan helmet" if helmet.is_loan else "helmet"
    return Judged(key, f"{kind} {key} ({wearers})", (*items, *_shared(key, day)))


def _shared(key: str, day: EventDay) -> Iterator[OpenItem]:
    """One helmet on two heads at once."""
    by_heat: dict[str, list[str]] = {}
    for entry in day.event.entries:
        if helmet_of(entry, day) == key and entry.person not in by_heat.setdefault(entry.heat, []):
            by_heat[entry.heat].append(entry.person)
    for heat, people in by_heat.items():
        if len(people) > 1:
            names = " and ".join(day.called(person) for person in people)
            when = f" in heat {heat}" if heat else ""
            reason = f"{names} wear it{when}; one must have it off before the other starts."
            yield OpenItem("helmet-shared", "Wearers", reason, blocks=False)


def _day_items(day: EventDay) -> Iterator[OpenItem]:
    event = day.event
    opens, closes = event.registration.opens, event.registration.closes
    if opens is not None and closes is not None and closes < opens:
        reason = f"Registration closes on {closes}, before it opens on {opens}."
        yield OpenItem("registration-dates", "Registration", reason, blocks=False)
    if closes is not None and closes > event.day:
        reason = f"Registration closes on {closes}, after the event on {event.day}."
        yield OpenItem("registration-dates", "Registration", reason, blocks=False)
