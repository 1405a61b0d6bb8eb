"""Event days for tests: one that is ready, and what is changed on it."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

from conewise.event.cars import CheckEntry, EventCar, WheelTorque
from conewise.event.day import Entry, Event, EventDay, Schedule
from conewise.event.helmets import Helmet, Look
from conewise.event.people import EmergencyContact, Guardian, Licence, Person
from conewise.event.rules import load_event_rules
from conewise.readiness.inspection import items_for
from conewise.workflows.book_place import BookPlace

DAY = date(2026, 5, 17)
CLUB = load_event_rules("club")
SOURCE = BookPlace(now=lambda: datetime(2026, 5, 17, 12, 0, tzinfo=UTC))


def moment(hour, minute=0, *, day=DAY):
    """A clock time on the day of the event."""
    return datetime.combine(day, time(hour, minute))


def person(key="ana", **facts):
    """A driver on whom nothing is open."""
    usual = {
        "name": key.title(),
        "born": date(1990, 4, 1),
        "events_driven": 20,
        "licence": Licence(seen=date(2026, 5, 1), valid_until=date(2030, 1, 1)),
        "waiver_signed": date(2026, 5, 1),
        "ride_alongs": True,
        "emergency": EmergencyContact(name="Kim", phone="555 0100"),
    }
    return Person.model_validate({"id": key} | usual | facts)


def helmet(key="red", **facts):
    """A helmet on which nothing is open."""
    look = Look(result="passed", looked_by="Bo", looked_at=date(2026, 5, 17))
    usual = dict.fromkeys(("fit", "strap", "liner", "impact"), look)
    return Helmet.model_validate({"id": key, "labels": ("SA2020",), "made": date(2022, 3, 1)} | usual | facts)


def car(key="pepper", **facts):
    """A car as the inspection sees it."""
    return EventCar.model_validate(
        {"id": key, "name": key.title(), "wheel_torque": WheelTorque(written="98 N m")} | facts
    )


def checks(of, *, at=None, rules=CLUB, event="spring", but=()):
    """Every item of a car's list passed; the cold check an hour after the rest."""
    start = at or moment(8)
    return tuple(
        CheckEntry(
            id=f"{of.id}-{item.id}", event=event, car=of.id, item=item.id, result="passed", looked_by="Bo",
            looked_at=start.replace(hour=start.hour + (item.id == "wheel-nuts-cold")),
            value=of.wheel_torque.written if item.needs and of.wheel_torque else "",
        )
        for item in items_for(of, rules.inspection)
        if item.id not in but
    )  # fmt: skip


def event(**facts):
    """An event in May with one entry."""
    usual = {
        "id": "spring",
        "name": "Spring day",
        "day": DAY,
        "classes": ("S",),
        "heats": ("A", "B"),
        "schedule": Schedule(first_car=time(9, 30)),
        "entries": (
            Entry(person="ana", car="pepper", helmet="red", number="12", class_code="S", heat="A", work_heat="B"),
        ),
    }
    return Event.model_validate(usual | facts)


def event_day(**facts):
    """A day on which nothing is open."""
    usual = {
        "event": event(),
        "people": (person(),),
        "cars": (car(),),
        "helmets": (helmet(),),
        "checks": checks(car()),
    }
    return EventDay.model_validate(usual | facts)


def minor(key="kid", **facts):
    """A driver of sixteen with a guardian's waiver."""
    guardian = Guardian(name="Pat", waiver_signed=date(2026, 5, 2))
    return person(key, born=date(2010, 1, 5), guardian=guardian, **facts)
