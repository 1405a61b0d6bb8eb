"""An event: made, shown, planned, put into a calendar."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from conewise.errors import ConflictError, InputError
from conewise.event.calendar import calendar_text, said
from conewise.event.day import Event, EventDay
from conewise.event.event_file import event_day
from conewise.event.lists import PackingRow, SeasonCost, first_event_card, packing_list, season_costs
from conewise.event.naming import People
from conewise.event.people import Person
from conewise.event.plan import DayPlan, plan_day
from conewise.event.questions import event_file
from conewise.mentoring.mentors import Pairing, assign_mentors
from conewise.reports.files import refuse_unwritable, write_whole
from conewise.workflows.events import course_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime
    from pathlib import Path

    from conewise.event.day import Schedule
    from conewise.workflows.book_place import BookPlace
    from conewise.workflows.events import LoadedDay


class EventFileExistsError(ConflictError):
    """There is a file already where the event would be written."""

    code = "event-file-exists"

    def __init__(self, path: Path) -> None:
        super().__init__(f"There is a file '{path.name}' already.", where=str(path))


class NoScheduleError(InputError):
    """The event has no schedule to plan the day by."""

    code = "no-schedule"
    default_hint = 'Add [event.schedule] with first_car = "09:30"; docs/formats-event.md shows the rest.'

    def __init__(self, event: str, *, where: str) -> None:
        super().__init__(f"{event} has no schedule: when the first car starts is not known.", where=where)


@dataclass(frozen=True, slots=True, kw_only=True)
class EventShown:
    """An event at a glance."""

    loaded: LoadedDay
    packing: tuple[PackingRow, ...]
    costs: tuple[SeasonCost, ...]
    card: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class EventPlanned:
    """The plan of a day, and who mentors whom."""

    loaded: LoadedDay
    plan: DayPlan
    mentors: tuple[Pairing, ...]


def refuse_existing(path: Path, *, force: bool) -> None:
    """Refuse to write over a file, or to a place that cannot be written to, before questions are asked.

    Raises
    ------
    EventFileExistsError
        If there is one and `force` is not said.
    UnwritableFileError, FileEndingError
        If it cannot be written.
    """
    if path.exists() and not force:
        raise EventFileExistsError(path)
    refuse_unwritable(path, "An event", ".toml")


def new_event(answers: Mapping[str, str], path: Path, *, force: bool = False) -> EventDay:
    """Write a commented event file from answers; see `conewise.event.questions`."""
    refuse_existing(path, force=force)
    text = event_file(answers)
    day = event_day(text, file=str(path))
    write_whole(path, text.encode())
    return day


def show_event(days: Sequence[LoadedDay]) -> EventShown:
    """The last of the events given, with the money of all of them."""
    loaded = days[-1]
    return EventShown(
        loaded=loaded,
        packing=packing_list(loaded.day, adult_age=loaded.rules.people.adult_age),
        costs=season_costs([one.day for one in days]),
        card=first_event_card(),
    )


def plan_event(loaded: LoadedDay) -> EventPlanned:
    """The plan of a day, computed backwards from the first car, and a mentor for every beginner.

    Raises
    ------
    NoScheduleError
        If the event has no schedule.
    """
    schedule = loaded.day.event.schedule
    if schedule is None:
        raise NoScheduleError(loaded.day.event.name, where=f"{loaded.place}, event")
    plan = plan_day(loaded.day, _with_course(loaded, schedule))
    return EventPlanned(loaded=loaded, plan=plan, mentors=assign_mentors(loaded.day, loaded.rules.people))


def _with_course(loaded: LoadedDay, schedule: Schedule) -> Schedule:
    """The schedule with the length of the course, where its file is named and the length is not."""
    if not loaded.day.event.course_file or "course_length" in schedule.model_fields_set:
        return schedule
    from conewise.course.reference import lay_out

    course = course_of(loaded)
    return schedule if course is None else schedule.changed(course_length=float(lay_out(course).path.length))


def write_calendar(loaded: LoadedDay, out: Path, *, stamp: datetime, driver: str = "") -> int:
    """Write the day as a calendar file; the number of its entries comes back.

    Raises
    ------
    TimeZoneUnknownError
        If the event names a time zone that is not known.
    UnwritableFileError, FileEndingError
        If the file cannot be written.
    """
    refuse_unwritable(out, "A calendar", ".ics")
    text = calendar_of(loaded, stamp=stamp, driver=driver)
    write_whole(out, text.encode())
    return text.count("BEGIN:VEVENT")


def calendar_of(loaded: LoadedDay, *, stamp: datetime, driver: str = "") -> str:
    """The day as the text of a calendar file; see `conewise.event.calendar.calendar_text`."""
    event = loaded.day.event
    person = People(loaded.day).named(driver, where="--driver").id if driver else ""
    plan = plan_event(loaded).plan if event.schedule is not None else None
    return calendar_text(event, plan, stamp=stamp, person=person)


def emergency_contacts(loaded: LoadedDay, driver: str = "") -> list[tuple[Person, str]]:
    """People of a day with what they are called; those entered, or the one named. It stays on this machine."""
    day = loaded.day
    if driver:
        named = People(day).named(driver, where="--driver")
        return [(named, day.called(named.id))]
    entered = dict.fromkeys(entry.person for entry in day.event.entries)
    return [(person, day.called(key)) for key in entered if (person := day.person(key)) is not None]


def everyones_contacts(place: BookPlace, driver: str = "") -> list[tuple[Person, str]]:
    """The same of everybody whom the book knows, or of the one named, without an event: one command from anywhere.

    Raises
    ------
    NoBookError
        If there is no book.
    ConewiseError
        If nobody is called so, or several are.
    """
    with place.opened(create=False) as book:
        people = tuple(kept.record for kept in book.every(Person))
    everybody = EventDay(event=Event(id="everybody", name="everybody", day=place.now().date()), people=people)
    if driver:
        named = People(everybody).named(driver, where="--driver")
        return [(named, everybody.called(named.id))]
    return [(person, everybody.called(person.id)) for person in people]


def plan_record(answer: EventPlanned, driver: str = "") -> dict[str, Any]:
    """The plan as one JSON object."""
    day = answer.loaded.day
    only = People(day).named(driver, where="--driver").id if driver else ""
    return {
        "ok": True,
        "event": answer.plan.event,
        "steps": [_step(step) for step in answer.plan.steps],
        "drivers": [
            {"driver": one.person, "name": one.name, "steps": [_step(step) for step in one.steps]}
            for one in answer.plan.people
            if not only or one.person == only
        ],
        "mentors": [
            {"driver": p.driver, "mentor": p.mentor, "is_chosen": p.is_chosen, "same_heat": p.same_heat}
            for p in answer.mentors
        ],
        "findings": [
            {"severity": f.severity, "code": f.code, "message": f.message, "where": f.where}
            for f in answer.plan.findings
        ],
    }


def _step(step: Any) -> dict[str, Any]:
    return {
        "what": said(step), "begin": step.begin.isoformat(), "end": step.end.isoformat(), "heat": step.heat,
        "station": step.station,
    }  # fmt: skip


def event_record(answer: EventShown) -> dict[str, Any]:
    """The event as one JSON object, without private fields."""
    day = answer.loaded.day
    event = day.event
    return {
        "ok": True,
        "event": event.name,
        "id": event.id,
        "date": event.day.isoformat(),
        "place": event.place,
        "surface": event.surface,
        "rules": event.rules,
        "classes": list(event.classes),
        "heats": list(event.heats),
        "fee": None if event.fee is None else {"amount": str(event.fee.amount), "currency": event.fee.currency},
        "entries": [
            {
                "driver": entry.person, "name": day.called(entry.person), "car": entry.car,
                "car_name": day.car_called(entry.car), "number": entry.number,
                "class": entry.class_code, "heat": entry.heat, "work_heat": entry.work_heat,
                "work_station": entry.work_station,
            }
            for entry in event.entries
        ],
        "packing": [{"item": row.item, "is_packed": row.is_packed} for row in answer.packing],
        "costs": [
            {
                "year": cost.year, "currency": cost.currency, "total": str(cost.total),
                "by_kind": {kind: str(amount) for kind, amount in cost.by_kind.items()},
            }
            for cost in answer.costs
        ],
        "first_event": list(answer.card),
    }  # fmt: skip
