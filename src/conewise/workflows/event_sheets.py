"""Printed sheets of an event day: inspection of every car, and the run card of a driver."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.errors import InputError
from conewise.event.lists import first_event_card
from conewise.event.naming import People
from conewise.mentoring.mentors import assign_mentors
from conewise.reports.files import refuse_unwritable, write_whole
from conewise.workflows.event_plan import emergency_contacts
from conewise.workflows.mentoring import run_plan_record
from conewise.workflows.ready import inspection_sheet

if TYPE_CHECKING:
    from pathlib import Path

    from conewise.event.people import Person
    from conewise.quantities import System
    from conewise.workflows.event_plan import EventPlanned
    from conewise.workflows.events import LoadedDay
    from conewise.workflows.mentoring import RunPlan


def refuse_pdf(path: Path | None) -> None:
    """Say before any work that a sheet cannot be written where it was asked for.

    Raises
    ------
    FileEndingError, UnwritableFileError
        If the name does not end in .pdf, or cannot be written.
    """
    if path is not None:
        refuse_unwritable(path, "A sheet", ".pdf")


def write_inspection(loaded: LoadedDay, into: Path, *, paper: str = "a4") -> None:
    """The inspection sheet, a page for every car that is entered.

    Raises
    ------
    UnwritableFileError
        If the file cannot be written.
    """
    from conewise.reports.event_sheets import inspection_pdf

    day = loaded.day
    entered = {entry.car for entry in day.event.entries}
    cars = [
        (car.name, inspection_sheet(car, day, loaded.rules)) for car in day.cars if not entered or car.id in entered
    ]
    event = f"{day.event.name}, {day.event.day.isoformat()}"
    write_whole(into, inspection_pdf(event, rules=loaded.rules.name, cars=cars, paper=paper))


def write_day_plan(answer: EventPlanned, into: Path, *, driver: str = "", paper: str = "a4") -> None:
    """The plan of a day for everybody, or for one driver with the card of a first event.

    Raises
    ------
    NobodyError, UnwritableFileError
        If there is no such driver, or the file cannot be written.
    """
    from conewise.reports.day_pdf import day_plan_pdf

    day = answer.loaded.day
    only = People(day).named(driver, where="--driver").id if driver else ""
    mentors = {pair.driver: day.called(pair.mentor) for pair in answer.mentors if pair.mentor}
    made = day_plan_pdf(day, answer.plan, mentors=mentors, only=only, card=first_event_card(), paper=paper)
    write_whole(into, made)


def write_emergency(loaded: LoadedDay, into: Path, *, mentor: str, driver: str = "", paper: str = "a4") -> None:
    """Whom to call and medical notes, for a mentor to keep; those whom the mentor leads come first.

    Raises
    ------
    NotAMentorError
        If the one who prints it is no mentor.
    ConewiseError
        If nobody is called so, or the file cannot be written.
    """
    from conewise.reports.day_pdf import Reachable, emergency_pdf

    day = loaded.day
    who = mentor_named(loaded, mentor)
    led = {pair.driver for pair in assign_mentors(day, loaded.rules.people) if pair.mentor == who.id}
    led |= {person.id for person in day.people if person.mentor == who.id}
    found = sorted(emergency_contacts(loaded, driver), key=lambda pair: pair[0].id not in led)
    entries = {entry.person: entry for entry in reversed(day.event.entries)}
    people = [
        Reachable(
            person=person,
            called=name,
            number=entries[person.id].number if person.id in entries else "",
            car=entries[person.id].car if person.id in entries else "",
        )
        for person, name in found
    ]
    write_whole(into, emergency_pdf(day, people, mentor=day.called(who.id), paper=paper), is_private=True)


def mentor_named(loaded: LoadedDay, mentor: str) -> Person:
    """The mentor of an id, a number or a name.

    Raises
    ------
    NotAMentorError
        If that one is no mentor, or nobody is named.
    """
    if not mentor:
        raise NotAMentorError("")
    person = People(loaded.day).named(mentor, where="--mentor")
    is_chosen = any(one.mentor == person.id for one in loaded.day.people)
    if not (person.can_mentor or is_chosen):
        raise NotAMentorError(loaded.day.called(person.id))
    return person


class NotAMentorError(InputError):
    """Somebody who is no mentor, or nobody, wants what only a mentor may have."""

    code = "not-a-mentor"
    default_hint = "Say with --mentor who prints it: somebody with can_mentor = true, or whom a driver has as mentor."

    def __init__(self, name: str) -> None:
        said = f"{name} is no mentor of this event" if name else "Nobody is named who prints it"
        super().__init__(f"{said}; contacts and medical notes are printed by a mentor only.", where="--mentor")


def write_run_card(plan: RunPlan, into: Path, *, system: System = "metric", paper: str = "a4") -> None:
    """The runs still to come of one driver.

    Raises
    ------
    UnwritableFileError
        If the file cannot be written.
    """
    from conewise.reports.event_sheets import run_card_pdf

    write_whole(into, run_card_pdf(run_plan_record(plan), system=system, paper=paper))
