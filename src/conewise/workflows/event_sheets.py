"""Printed sheets of an event day: inspection of every car, and the run card of a driver."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.reports.files import refuse_unwritable, write_whole
from conewise.workflows.mentoring import run_plan_record
from conewise.workflows.ready import inspection_sheet

if TYPE_CHECKING:
    from pathlib import Path

    from conewise.quantities import System
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


def write_run_card(plan: RunPlan, into: Path, *, system: System = "metric", paper: str = "a4") -> None:
    """The runs still to come of one driver.

    Raises
    ------
    UnwritableFileError
        If the file cannot be written.
    """
    from conewise.reports.event_sheets import run_card_pdf

    write_whole(into, run_card_pdf(run_plan_record(plan), system=system, paper=paper))
