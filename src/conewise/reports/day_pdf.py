"""Sheets of the whole day as PDF: its plan, and whom to call, for the mentor alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from conewise.event.calendar import said
from conewise.event.plan import RUN, WORK
from conewise.reports import documents

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from conewise.event.day import EventDay
    from conewise.event.people import Person
    from conewise.event.plan import DayPlan, PersonPlan, Step

_PLAN = (
    "Computed backwards from the first car, ten minutes between steps. The event's own times and officials decide.",
    "Nobody working a station on course uses a phone. Red flag: slow, stop under control, wait for a worker.",
)
_EMERGENCY = (
    "For the mentor alone: keep it on you, show it only to whoever helps, and destroy it after the event.",
    "First the event's safety official and its medical plan. Do not move anybody who may have hurt head, neck or back.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reachable:
    """A person of the emergency sheet.

    called: name, told from another of the same name.
    number, car: of the entry.
    """

    person: Person
    called: str
    number: str = ""
    car: str = ""


def day_plan_pdf(
    day: EventDay, plan: DayPlan, *, mentors: Mapping[str, str], only: str = "", card: Sequence[str], paper: str = "a4"
) -> bytes:
    """The plan of a day: for everybody, or for one driver with the card of a first event.

    Parameters
    ----------
    day : EventDay
    plan : DayPlan
    mentors : Mapping of str to str
        Name of the mentor by the driver's id.
    only : str, default ""
        Id of a driver; everybody where left out.
    card : sequence of str
        What a first event asks.
    paper : str, default "a4"
        "a4" or "letter".
    """
    return documents.pdf("day_plan", day_plan_data(day, plan, mentors=mentors, only=only, card=card), paper=paper)


def day_plan_data(
    day: EventDay, plan: DayPlan, *, mentors: Mapping[str, str], only: str = "", card: Sequence[str]
) -> dict[str, Any]:
    """What the template sets: texts only."""
    people = [one for one in plan.people if not only or one.person == only]
    steps = people[0].steps if only and people else plan.steps
    return {
        "title": people[0].name if only and people else plan.event,
        "sentence": ", ".join(
            part for part in (plan.event if only else "", f"{day.event.day:%A} {day.event.day.isoformat()}",
                              day.event.place) if part
        ),
        "answer": f"be there at {(steps[0] if steps else plan.steps[0]).begin:%H:%M}",
        "steps": [[f"{step.begin:%H:%M}", f"{step.end:%H:%M}", said(step)] for step in steps],
        "people": [] if only else [_row(one, day, mentors) for one in people],
        "mentor": mentors.get(only, "") if only else "",
        "findings": [finding.message for finding in plan.findings],
        "card": list(card) if only else [],
        "cautions": list(_PLAN),
    }  # fmt: skip


def _row(one: PersonPlan, day: EventDay, mentors: Mapping[str, str]) -> list[str]:
    entry = day.entry(one.person)
    runs = [step for step in one.steps if step.name == RUN]
    works = [step for step in one.steps if step.name == WORK]
    return [
        entry.number if entry else "",
        one.name,
        entry.car if entry else "",
        "; ".join(map(_time, runs)),
        "; ".join(map(_time, works)),
        mentors.get(one.person, ""),
    ]


def _time(step: Step) -> str:
    station = f", station {step.station}" if step.station else ""
    return f"{step.begin:%H:%M}{station}"


def emergency_pdf(day: EventDay, people: Sequence[Reachable], *, mentor: str, paper: str = "a4") -> bytes:
    """Whom to call for each driver, and medical notes; `mentor` is who prints it and keeps it."""
    return documents.pdf("emergency", emergency_data(day, people, mentor=mentor), paper=paper)


def emergency_data(day: EventDay, people: Sequence[Reachable], *, mentor: str) -> dict[str, Any]:
    """What the template sets: texts only."""
    return {
        "title": f"{day.event.name}, {day.event.day.isoformat()}",
        "mentor": mentor,
        "place": day.event.place,
        "people": [_reached(one) for one in people],
        "cautions": list(_EMERGENCY),
    }


def _reached(one: Reachable) -> dict[str, Any]:
    whom, guardian = one.person.emergency, one.person.guardian
    calls = [] if whom is None else [_call(whom.name, whom.relation, whom.phone)]
    if guardian is not None and guardian.phone and (whom is None or guardian.phone != whom.phone):
        calls.append(_call(guardian.name, "guardian", guardian.phone))
    return {
        "name": one.called,
        "about": ", ".join(part for part in (f"number {one.number}" if one.number else "", one.car) if part),
        "born": "" if one.person.born is None else f"born {one.person.born.isoformat()}",
        "calls": [call for call in calls if any(call)],
        "medical": one.person.medical,
    }


def _call(name: str, relation: str, phone: str) -> list[str]:
    return [phone, ", ".join(part for part in (name, relation) if part)]
