"""`conewise line`: the fastest clean way through a course for a car."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path  # noqa: TC003  # typer reads the annotations
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from conewise.reports.answer import LineAnswer


class Shown(StrEnum):
    """Units in which numbers are shown."""

    METRIC = "metric"
    US = "us"


class Paper(StrEnum):
    """Paper of a printed sheet."""

    A4 = "a4"
    LETTER = "letter"


class Level(StrEnum):
    """How much of the car is modelled."""

    POINT_MASS = "point-mass"
    QUASI_STEADY = "quasi-steady"
    TRANSIENT = "transient"


def line(  # noqa: PLR0913  # one argument an option of the command
    course: Annotated[Path, typer.Argument(help="Course file: .toml, .csv, .geojson or .gpx.")],
    *,
    car: Annotated[Path, typer.Option(help="Car file (.toml).")],
    driver: Annotated[str, typer.Option(help="novice, regular, expert, or a driver file.")] = "expert",
    pace: Annotated[float | None, typer.Option(help="Share of the friction used, 0.3 to 1.")] = None,
    surface: Annotated[str, typer.Option(help="Factor on friction, or dry, damp, wet.")] = "dry",
    level: Annotated[Level, typer.Option(help="How much of the car is modelled.")] = Level.TRANSIENT,
    units: Annotated[Shown, typer.Option(help="Units shown; JSON is always SI.")] = Shown.METRIC,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead of tables.")] = False,
    report: Annotated[Path | None, typer.Option(help="Write a self-contained HTML report.")] = None,
    svg: Annotated[Path | None, typer.Option(help="Write the map as SVG.")] = None,
    png: Annotated[Path | None, typer.Option(help="Write the map as PNG.")] = None,
) -> None:
    """Solve the fastest clean run: line, speeds, gears, and what every cone costs.

    Leaves with exit code 6 when the run failed one of its checks, and 10 when the stop area is too short for the
    speed at the finish.
    """
    from conewise.cli import render
    from conewise.reports.record import line_record
    from conewise.reports.units import UNIT_SYSTEMS
    from conewise.workflows.line import LineQuestion, answer_line, refuse_files, write_answer

    question = LineQuestion(course=course, car=car, driver=driver, pace=pace, surface=surface, level=level.value)
    shown = UNIT_SYSTEMS[units.value]
    refuse_files(report=report, svg=svg, png=png)
    with render.progress("Reading the course and the car") as say:

        def first(found: LineAnswer) -> None:
            with say.paused():
                render.print_answer(found, shown)

        answer = answer_line(question, progress=say, first=None if as_json else first)
        write_answer(answer, shown, report=report, svg=svg, png=png)
    if as_json:
        render.print_json(line_record(answer))
    else:
        render.print_details(answer, shown)
    raise typer.Exit(answer.exit_code)
