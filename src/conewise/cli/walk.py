"""`conewise walk`: what to learn on the course walk."""

from __future__ import annotations

from pathlib import Path  # noqa: TC003  # typer reads the annotations
from typing import Annotated

import typer

from conewise.cli.line import line_question
from conewise.cli.options import BookFolder, CarName, CourseName, Level, LevelName, Paper, Shown


def walk(  # noqa: PLR0913  # one argument an option of the command
    course: CourseName,
    *,
    car: CarName,
    driver: LevelName = "expert",
    pace: Annotated[float | None, typer.Option(help="Share of the friction used, 0.3 to 1.")] = None,
    surface: Annotated[str, typer.Option(help="Factor on friction, or dry, damp, wet.")] = "dry",
    level: Annotated[Level, typer.Option(help="How much of the car is modelled.")] = Level.TRANSIENT,
    units: Annotated[Shown, typer.Option(help="Units shown; JSON is always SI.")] = Shown.METRIC,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead of tables.")] = False,
    pdf: Annotated[Path | None, typer.Option(help="Write the sheet for printing as PDF.")] = None,
    paper: Annotated[Paper, typer.Option(help="Paper of the PDF.")] = Paper.A4,
    svg: Annotated[Path | None, typer.Option(help="Write the map, turned as the driver stands, as SVG.")] = None,
    book: BookFolder = None,
) -> None:
    """Say what to learn on foot: key cones, where to look, brake and drive, and three things to remember.

    Leaves with exit code 6 when the run behind it failed one of its checks, and 10 when a finding says stop.
    """
    from conewise.cli import render, walk_text
    from conewise.reports.units import UNIT_SYSTEMS
    from conewise.reports.walk_record import walk_record
    from conewise.workflows.walk import answer_walk, refuse_sheets, write_sheets

    shown = UNIT_SYSTEMS[units.value]
    refuse_sheets(pdf=pdf, svg=svg)
    question = line_question(course, car=car, driver=driver, pace=pace, surface=surface, level=level.value, book=book)
    with render.progress("Reading the course and the car") as say:
        sheet = answer_walk(question, progress=say)
        write_sheets(sheet, shown, paper=paper.value, pdf=pdf, svg=svg)
    if as_json:
        render.print_json(walk_record(sheet))
    else:
        walk_text.print_sheet(sheet, shown)
    raise typer.Exit(sheet.answer.exit_code)
