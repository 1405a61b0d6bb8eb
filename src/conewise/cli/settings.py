"""`conewise settings`: the best combination of settings for a set of courses, and what one click off costs."""

from __future__ import annotations

import datetime as dt
from pathlib import Path  # noqa: TC003  # typer reads the annotations
from typing import TYPE_CHECKING, Annotated

import typer
from rich.text import Text

from conewise.cli.options import BookFolder, CarName, LevelName, Shown
from conewise.errors import on_command_line

if TYPE_CHECKING:
    from rich.console import Console

    from conewise.reports.settings_answer import SettingsAnswer
    from conewise.reports.units import Units


def settings(  # noqa: PLR0913  # one argument an option of the command
    courses: Annotated[list[Path], typer.Argument(help="Courses, files or of the book; times are averaged over them.")],
    *,
    car: CarName,
    ranges: Annotated[Path | None, typer.Option(help="What can be adjusted, how far, in which steps (.toml).")] = None,
    weight: Annotated[list[float] | None, typer.Option(help="Weight of each course, in their order.")] = None,
    driver: LevelName = "expert",
    pace: Annotated[float | None, typer.Option(help="Share of the friction used, 0.3 to 1.")] = None,
    surface: Annotated[str, typer.Option(help="Factor on friction, or dry, damp, wet.")] = "dry",
    units: Annotated[Shown, typer.Option(help="Units shown; JSON is always SI.")] = Shown.METRIC,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead of tables.")] = False,
    report: Annotated[Path | None, typer.Option(help="Write the answer as one HTML file.")] = None,
    workers: Annotated[int | None, typer.Option(help="Processes that solve; every core without it.")] = None,
    book: BookFolder = None,
) -> None:
    """Find the settings with the least time that keep the car safe, and say what one click off costs.

    Moves only what gains time for sure; the rest is answered with "cannot tell". Leaves with exit code 6 when a run
    failed one of its checks.
    """
    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.reports.units import UNIT_SYSTEMS
    from conewise.workflows.named import driver_source, source
    from conewise.workflows.settings import SettingsQuestion, answer_settings, write_report

    out, shown, place = render.console(), UNIT_SYSTEMS[units.value], book_place(book)
    question = SettingsQuestion(
        courses=tuple(source(course, "course", place) for course in courses),
        car=source(car, "car-file", place),
        ranges=ranges,
        weights=tuple(weight or ()),
        driver=driver_source(driver, place),
        pace=pace,
        surface=surface,
        report=report,
        day=dt.datetime.now().astimezone().date(),
        workers=workers,
    )
    with render.progress("Reading") as progress:
        answer = answer_settings(
            question, progress=progress, step=lambda done: progress(f"Solving other settings: {done} runs")
        )
    if report is not None:
        write_report(answer, shown, report)
    if as_json:
        render.print_json(answer.as_record())
    else:
        print_settings(answer, shown, out)
    if answer.exit_code:
        raise typer.Exit(answer.exit_code)


def print_settings(answer: SettingsAnswer, units: Units, out: Console) -> None:
    """The answer for a person: the sentence, the settings, the bounds, the handling, what to mind."""
    from conewise.cli import render

    for doubt in answer.doubts:
        out.print(Text(doubt, style="bold"))
    out.print(Text(answer.headline, style="bold"))
    if leaning := answer.leaning_words(units.name):
        out.print(Text(leaning))
    for note in map(on_command_line, answer.notes):
        out.print(Text(note, style="dim"))
    _courses(answer, out)
    _rows(answer, units, out)
    for name, reason in answer.not_moved:
        out.print(Text(f"Not moved: {name}: {reason}.", style="dim"))
    _bounds(answer, out)
    _handling(answer, out)
    render.print_findings(answer.findings, out)
    render.heading(out, "Before you work on the car")
    for caution in answer.cautions:
        out.print(Text(caution, style="dim"))


def _courses(answer: SettingsAnswer, out: Console) -> None:
    from conewise.cli import render

    table = render.plain_table("course", "weight", "now", "with these settings")
    for course in answer.courses:
        render.add_row(
            table, course.name, f"{100 * course.weight:.0f} %", f"{course.now:.2f} s", f"{course.best:.2f} s"
        )
    out.print(table)


def _rows(answer: SettingsAnswer, units: Units, out: Console) -> None:
    from conewise.cli import render

    render.heading(out, "Settings")
    table = render.plain_table("setting", "now", "best", "gain alone", "one click up costs", "one click down costs")
    for row in answer.rows:
        is_moved = row.verdict == "moved"
        cells = (
            row.name,
            row.shown(row.now, units.name),
            row.shown(row.best, units.name) if is_moved else row.verdict,
            "" if row.alone is None else row.alone.words,
            row.up.words,
            row.down.words,
        )
        render.add_row(table, *cells, is_best=is_moved)
    out.print(table)
    for row in answer.rows:
        if row.note:
            out.print(Text(f"{row.name}: {row.note}", style="dim"))


def _bounds(answer: SettingsAnswer, out: Console) -> None:
    from conewise.cli import render

    render.heading(out, "Bounds")
    for bound in answer.bounds:
        words = (
            f"{bound.name}: {bound.asks}. {bound.number(bound.after)} (before {bound.number(bound.before)}); "
            f"{bound.cost_words}"
        )
        out.print(Text(words))
    for end in answer.range_ends:
        out.print(Text(end.words))


def _handling(answer: SettingsAnswer, out: Console) -> None:
    from conewise.cli import render

    render.heading(out, "Handling")
    table = render.plain_table("", "before", "after")
    for line in answer.handling:
        render.add_row(table, line.name, line.before, line.after)
    out.print(table)
