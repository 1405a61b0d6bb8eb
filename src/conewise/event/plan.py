"""The plan of an event day, computed backwards from the first car."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from math import ceil
from typing import TYPE_CHECKING

from conewise.findings import Finding

if TYPE_CHECKING:
    from collections.abc import Iterator

    from conewise.event.day import Entry, Event, EventDay, Schedule

SLACK = timedelta(minutes=10)  # of every step
WALKING_SPEED = 1.2  # [m/s]
WALK_ROUNDS = 3  # a walk goes over the course three times
WALK_EXTRA = timedelta(minutes=5)
LONG_DAY = timedelta(hours=6)  # from the first car to the last without a break, food is said

ARRIVE, REGISTER, INSPECTION = "arrive and unload", "register", "inspection"
WALK, MEETING = "walk the course", "drivers' meeting"
RUN, WORK, LUNCH = "run", "work", "lunch"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of the day; begin and end are clock times of the place."""

    name: str
    begin: datetime
    end: datetime
    heat: str = ""
    station: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonPlan:
    """What one driver does when."""

    person: str
    name: str
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DayPlan:
    """The day: the steps of everybody, those of each driver, and what does not fit."""

    event: str
    steps: tuple[Step, ...]
    people: tuple[PersonPlan, ...] = ()
    findings: tuple[Finding, ...] = field(default=())

    @property
    def begin(self) -> datetime:
        """When the first step begins."""
        return self.steps[0].begin


def walk_duration(course_length: float) -> timedelta:
    """One walk: three times over the course at 1.2 m/s, and five minutes.

    Parameters
    ----------
    course_length : float
        [m]

    Examples
    --------
    >>> walk_duration(720.0).total_seconds() / 60
    35.0
    """
    return timedelta(seconds=WALK_ROUNDS * course_length / WALKING_SPEED) + WALK_EXTRA


def plan_day(day: EventDay, schedule: Schedule) -> DayPlan:
    """The plan of a day.

    Every step ends ten minutes before the next begins, counted back from the first car. What would begin before the
    gates, the registration desk or the course open is a warning.

    Parameters
    ----------
    day : EventDay
        Whose entries run and work in heats.
    schedule : Schedule
        Of the event.
    """
    event = day.event
    before = _before_first_car(event, schedule)
    heats = tuple(_heats(event, schedule))
    people = tuple(_of_person(entry, day, before=before, heats=heats) for entry in _first_entries(event))
    findings = [*_too_early(event, schedule, before), *_long_day(schedule, heats), *_heat_findings(day)]
    return DayPlan(event=event.name, steps=(*before, *heats), people=people, findings=tuple(findings))


def _before_first_car(event: Event, schedule: Schedule) -> tuple[Step, ...]:
    """Steps from the last before the first car to the arrival, turned round."""
    durations = [(MEETING, timedelta(seconds=schedule.meeting_time))]
    durations += [(WALK, walk_duration(schedule.course_length))] * schedule.walks
    durations += [
        (INSPECTION, timedelta(seconds=schedule.inspection_time)),
        (REGISTER, timedelta(seconds=schedule.registration_time)),
        (ARRIVE, timedelta(seconds=schedule.unloading_time)),
    ]
    end = datetime.combine(event.day, schedule.first_car) - SLACK
    steps = []
    for name, duration in durations:
        begin = _whole_minutes(end - duration)
        steps.append(Step(name=name, begin=begin, end=begin + duration))
        end = begin - SLACK
    return tuple(reversed(steps))


def _whole_minutes(moment: datetime) -> datetime:
    """The last whole minute before a moment."""
    return moment.replace(second=0, microsecond=0)


def _heats(event: Event, schedule: Schedule) -> Iterator[Step]:
    """The heats one after another, with lunch in the middle where there is one."""
    names = event.heats or ("",)
    begin = datetime.combine(event.day, schedule.first_car)
    for number, name in enumerate(names):
        if schedule.lunch_time and number == ceil(len(names) / 2) and number > 0:
            end = begin + timedelta(seconds=schedule.lunch_time)
            yield Step(name=LUNCH, begin=begin, end=end)
            begin = end + SLACK
        n_cars = sum(entry.heat == name or not name for entry in event.entries)
        end = begin + timedelta(seconds=max(n_cars, 1) * schedule.runs * schedule.interval)
        yield Step(name=RUN, begin=begin, end=end, heat=name)
        begin = _whole_minutes(end + timedelta(seconds=59)) + SLACK


def _first_entries(event: Event) -> list[Entry]:
    return list({entry.person: entry for entry in reversed(event.entries)}.values())[::-1]


def _of_person(entry: Entry, day: EventDay, *, before: tuple[Step, ...], heats: tuple[Step, ...]) -> PersonPlan:
    """What one driver does: the common steps, the own heats, the work station."""
    own = [other for other in day.event.entries if other.person == entry.person]
    steps = list(before)
    for step in heats:
        if step.name == LUNCH or any(other.heat == step.heat or not step.heat for other in own):
            steps.append(step)
        steps += [
            Step(name=WORK, begin=step.begin, end=step.end, heat=step.heat, station=other.work_station)
            for other in own
            if other.work_heat and other.work_heat == step.heat
        ]
    return PersonPlan(person=entry.person, name=day.called(entry.person), steps=tuple(steps))


def _too_early(event: Event, schedule: Schedule, before: tuple[Step, ...]) -> Iterator[Finding]:
    """Steps that would begin before something opens, or on the day before."""
    openings = {
        ARRIVE: (schedule.gates_open, "the gates open"),
        REGISTER: (schedule.registration_opens, "registration opens"),
        WALK: (schedule.course_opens, "the course opens for walking"),
    }
    for step in before:
        opens, words = openings.get(step.name, (None, ""))
        if opens is not None and step.begin < datetime.combine(event.day, opens):
            late = datetime.combine(event.day, opens) - step.begin
            message = (
                f"'{step.name}' would begin at {step.begin:%H:%M}, and {words} at {opens:%H:%M}:"
                f" {_minutes(late)} min are missing before the first car at {schedule.first_car:%H:%M}."
            )
            yield Finding("warning", "day-does-not-fit", message, step.name)
        elif step.begin.date() < event.day:
            message = f"'{step.name}' would begin on the day before, at {step.begin:%H:%M}."
            yield Finding("warning", "day-does-not-fit", message, step.name)


def _minutes(duration: timedelta) -> int:
    return ceil(duration.total_seconds() / 60)


def _long_day(schedule: Schedule, heats: tuple[Step, ...]) -> Iterator[Finding]:
    duration = heats[-1].end - heats[0].begin
    if not schedule.lunch_time and duration > LONG_DAY / 2:
        hours = duration.total_seconds() / 3600
        words = f"Heats take {hours:.1f} h, and no lunch break is planned: bring food and water."
        yield Finding("note", "no-lunch-break", words, "lunch")
    if heats[-1].end.date() > heats[0].begin.date():
        yield Finding("warning", "day-does-not-fit", "The last heat would end after midnight.", "heats")


def _heat_findings(day: EventDay) -> Iterator[Finding]:
    """Entries that run in no heat of the event, and who works none."""
    heats = day.event.heats
    for entry in day.event.entries if heats else ():
        name = day.called(entry.person)
        if entry.heat not in heats:
            yield Finding("warning", "no-heat", f"{name} has no heat yet.", name)
        elif len(heats) > 1 and not entry.work_heat:
            yield Finding("note", "no-work-heat", f"{name} has no work station yet.", name)
