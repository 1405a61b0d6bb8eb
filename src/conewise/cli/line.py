"""`conewise line`: the fastest clean way through a course for a car."""

from __future__ import annotations

from pathlib import Path  # noqa: TC003  # typer reads the annotations
from typing import TYPE_CHECKING, Annotated, Any

import typer

from conewise.cli.options import BookFolder, CarName, CourseName, Level, LevelName, Shown

if TYPE_CHECKING:
    from conewise.reports.answer import LineAnswer
    from conewise.workflows.line import LineQuestion


def line(  # noqa: PLR0913  # one argument an option of the command
    course: CourseName,
    *,
    car: CarName,
    driver: LevelName = "expert",
    pace: Annotated[float | None, typer.Option(help="Share of the friction used, 0.3 to 1.")] = None,
    surface: Annotated[str, typer.Option(help="Factor on friction, or dry, damp, wet.")] = "dry",
    level: Annotated[Level, typer.Option(help="How much of the car is modelled.")] = Level.TRANSIENT,
    units: Annotated[Shown, typer.Option(help="Units shown; JSON is always SI.")] = Shown.METRIC,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead of tables.")] = False,
    report: Annotated[Path | None, typer.Option(help="Write a self-contained HTML report.")] = None,
    svg: Annotated[Path | None, typer.Option(help="Write the map as SVG.")] = None,
    png: Annotated[Path | None, typer.Option(help="Write the map as PNG.")] = None,
    book: BookFolder = None,
) -> None:
    """Solve the fastest clean run: line, speeds, gears, and what every cone costs.

    Leaves with exit code 6 when the run failed one of its checks, and 10 when a finding says stop, such as a stop area
    that is too short.
    """
    from conewise.cli import render
    from conewise.reports.record import line_record
    from conewise.reports.units import UNIT_SYSTEMS
    from conewise.workflows.line import answer_line, refuse_files, write_answer

    question = line_question(course, car=car, driver=driver, pace=pace, surface=surface, level=level.value, book=book)
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


def line_question(course: Path, *, car: Path, driver: str, book: Path | None, **conditions: Any) -> LineQuestion:
    """What `line` and `walk` are asked, names and files as they were typed."""
    from conewise.cli.options import book_place
    from conewise.workflows.line import LineQuestion
    from conewise.workflows.named import driver_source, source

    place = book_place(book)
    return LineQuestion(
        course=source(course, "course", place),
        car=source(car, "car-file", place),
        driver=driver_source(driver, place),
        **conditions,
    )
