"""`conewise advise`: which change to the car is worth how many seconds."""

from __future__ import annotations

from pathlib import Path  # noqa: TC003  # typer reads the annotations
from typing import TYPE_CHECKING, Annotated

import typer
from rich.table import Table
from rich.text import Text

from conewise.cli.line import Shown
from conewise.errors import ConvergenceError

if TYPE_CHECKING:
    from rich.console import Console

    from conewise.advisor import Advice, Row


def advise(  # noqa: PLR0913  # one argument an option of the command
    courses: Annotated[list[Path], typer.Argument(help="Course files; gains are averaged over them.")],
    *,
    car: Annotated[Path, typer.Option(help="Car file (.toml).")],
    changes: Annotated[Path, typer.Option(help="File with the changes to compare (.toml).")],
    driver: Annotated[str, typer.Option(help="novice, regular, expert, or a driver file.")] = "expert",
    pace: Annotated[float | None, typer.Option(help="Share of the friction used, 0.3 to 1.")] = None,
    surface: Annotated[str, typer.Option(help="Factor on friction, or dry, damp, wet.")] = "dry",
    units: Annotated[Shown, typer.Option(help="Units shown; JSON is always SI.")] = Shown.METRIC,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead of tables.")] = False,
    workers: Annotated[int | None, typer.Option(help="Processes that solve; every core without it.")] = None,
) -> None:
    """Rank changes by the time that they gain, with an interval, a price per tenth and what they do to the handling.

    Ranks by derivatives at once, then solves every change on every course. Leaves with exit code 6 when a run without
    a change failed one of its checks.
    """
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    from conewise.cli import render
    from conewise.workflows.advise import AdviceQuestion, answer_advise

    del units  # gains are in seconds in both systems
    out = render.console()
    question = AdviceQuestion(
        courses=tuple(courses), car=car, changes=changes, driver=driver, pace=pace, surface=surface, workers=workers
    )
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=render.console(stderr=True), transient=True) as bar:
        task = bar.add_task("Reading", total=None)

        def first(advice: Advice) -> None:
            if not as_json:
                _print_linear(advice, out)
            bar.update(task, description="Solving every change")

        answer = answer_advise(
            question,
            progress=lambda words: bar.update(task, description=words),
            first=first,
            step=lambda done, total: bar.update(task, completed=done, total=total),
        )
    if as_json:
        render.print_json(answer.as_record())
    else:
        _print_advice(answer, out)
    if answer.doubts:
        raise typer.Exit(ConvergenceError.exit_code)


def _print_linear(advice: Advice, out: Console) -> None:
    _print_doubts(advice, out)
    for course, time in advice.base.items():
        out.print(Text(f"{course}: {time:.2f} s without a change.", style="bold"))
    out.print(Text("First ranking, by derivatives; every change is solved next:"))
    for rank, row in enumerate(advice.rows, start=1):
        out.print(Text(f"  {rank:2d}  {row.option.name}  {seconds(row.linear)}"))
    out.print()


def _print_doubts(advice: Advice, out: Console) -> None:
    for doubt in advice.doubts:
        out.print(Text(doubt, style="bold"))


def _print_advice(advice: Advice, out: Console) -> None:
    _print_doubts(advice, out)
    out.print(Text(_headline(advice), style="bold"))
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    for name, is_number in (("", True), ("change", False), ("gain", True), ("90 % interval", True)):
        table.add_column(name, justify="right" if is_number else "left", no_wrap=is_number)
    for name in ("price", "per tenth"):
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("handling")
    for rank, row in enumerate(advice.rows, start=1):
        table.add_row(*(Text(cell) for cell in _cells(rank, row)))
    out.print(table)
    if len(advice.base) > 1:
        _print_courses(advice, out)
    out.print()
    for row in advice.rows:
        if row.note:
            out.print(Text(f"{row.option.name}: {row.note}", style="dim"))
    out.print()
    out.print(Text("Before you work on the car", style="bold underline"))
    for caution in dict.fromkeys(caution for row in advice.rows for caution in row.cautions):
        out.print(Text(caution), style="dim")


def _print_courses(advice: Advice, out: Console) -> None:
    """Gain per course."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("gain by course")
    for course in advice.base:
        table.add_column(course, justify="right")
    for row in advice.rows:
        cells = [seconds(effect.gain) if effect.is_solved else "not solved" for effect in row.effects]
        table.add_row(Text(row.option.name), *map(Text, cells))
    out.print()
    out.print(table)


def _headline(advice: Advice) -> str:
    best = next((row for row in advice.rows if row.option.is_proposed and row.solved and not row.is_small), None)
    if best is None or best.gain <= 0:
        return "None of these changes gains time on these courses."
    low, high = best.interval
    return f"Most time: {best.option.name}, {seconds(best.gain)} a run ({seconds(low)} to {seconds(high)})."


def _cells(rank: int, row: Row) -> tuple[str, ...]:
    number = f"{rank}" if row.option.is_proposed else "–"
    price = "" if row.option.price is None else f"{row.option.price:g}"
    if not row.solved:
        return number, row.option.name, "not solved", "", price, "", row.handling
    low, high = row.interval
    gain = "under 0.01 s" if row.is_small else seconds(row.gain)
    tenth = "" if row.price_per_tenth is None else f"{row.price_per_tenth:.0f}"
    return number, row.option.name, gain, f"{seconds(low)} to {seconds(high)}", price, tenth, row.handling


def seconds(gain: float) -> str:
    """A gain with its sign: `+0.12 s` is faster."""
    text = f"{abs(gain):.2f} s"
    if float(text[:-2]) == 0.0:
        return text
    return ("−" if gain < 0.0 else "+") + text
