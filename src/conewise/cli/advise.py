"""`conewise advise`: which change to the car is worth how many seconds, and the best package for a budget."""

from __future__ import annotations

import datetime as dt
from pathlib import Path  # noqa: TC003  # typer reads the annotations
from typing import TYPE_CHECKING, Annotated

import typer

from conewise.cli.options import BookFolder, CarName, LevelName, Shown
from conewise.errors import ConvergenceError

if TYPE_CHECKING:
    from collections.abc import Callable

    from conewise.advisor.advice import Advice
    from conewise.advisor.rows import Row
    from conewise.workflows.advise_question import AdviceQuestion


def advise(  # noqa: PLR0913  # one argument an option of the command
    courses: Annotated[list[Path], typer.Argument(help="Courses, files or of the book; gains are averaged over them.")],
    *,
    car: CarName,
    parts: Annotated[
        Path | None, typer.Option(help="Parts that could be bought: a file, or a list of the book.")
    ] = None,
    changes: Annotated[
        Path | None, typer.Option(help="Other changes to compare: a file, or a list of the book.")
    ] = None,
    budget: Annotated[str | None, typer.Option(help='Best packages for this money: 1500 or "1500 EUR".')] = None,
    hours: Annotated[float | None, typer.Option(help="Most hours of work in a package.")] = None,
    rules: Annotated[
        str | None, typer.Option(help="Rule set with the classes: its name, its file, or of the book.")
    ] = None,
    car_class: Annotated[
        str | None, typer.Option("--class", help="Class that a package must keep; the car's own without it.")
    ] = None,
    weight: Annotated[
        list[float] | None, typer.Option(help="Weight of each course, in their order; repeat it. Equal without it.")
    ] = None,
    driver: LevelName = "expert",
    runs: Annotated[int | None, typer.Option(help="Runs that the driver has made in this car.")] = None,
    debrief: Annotated[
        list[Path] | None, typer.Option(help="Debrief of this driver, as --json printed it; repeat it.")
    ] = None,
    pace: Annotated[float | None, typer.Option(help="Share of the friction used, 0.3 to 1.")] = None,
    surface: Annotated[str, typer.Option(help="Factor on friction, or dry, damp, wet.")] = "dry",
    units: Annotated[Shown, typer.Option(help="Units shown; JSON is always SI.")] = Shown.METRIC,
    report: Annotated[Path | None, typer.Option(help="Write a self-contained HTML report.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead of tables.")] = False,
    workers: Annotated[int | None, typer.Option(help="Processes that solve; every core without it.")] = None,
    book: BookFolder = None,
) -> None:
    """Rank parts, changes and seat time by the seconds that they gain, and find the best package for a budget.

    Ranks by derivatives at once, then solves every change on every course. With a budget or hours the best packages
    are solved as wholes and shown as steps. Ctrl-C shows what is solved by then, and leaves with exit code 130. Exit
    code 6: a run without a change failed one of its checks.
    """
    from conewise.cli import advise_text, render
    from conewise.cli.options import book_place
    from conewise.reports.advice_record import advice_record
    from conewise.workflows.advise import refuse_report, write_report
    from conewise.workflows.advise_question import AdviceQuestion
    from conewise.workflows.named import driver_source, rules_source, source

    del units  # gains are in seconds in both systems
    out, place = render.console(), book_place(book)
    question = AdviceQuestion(
        courses=tuple(source(course, "course", place) for course in courses),
        car=source(car, "car-file", place),
        day=dt.datetime.now().astimezone().date(),
        parts=None if parts is None else source(parts, "changes", place),
        changes=None if changes is None else source(changes, "changes", place),
        budget=budget,
        hours=hours,
        rules=None if rules is None else rules_source(rules, place),
        car_class=car_class,
        weights=tuple(weight or ()),
        driver=driver_source(driver, place),
        runs=runs,
        debriefs=tuple(debrief or ()),
        pace=pace,
        surface=surface,
        workers=workers,
    )
    refuse_report(report)

    def first(advice: Advice) -> None:
        if not as_json:
            advise_text.print_linear(advice, out)

    def show(answer: Advice) -> None:
        write_report(answer, report)
        if as_json:
            render.print_json(advice_record(answer))
        else:
            advise_text.print_advice(answer, out)

    answer = _answered(question, first, stopped=show)
    show(answer)
    if answer.doubts:
        raise typer.Exit(ConvergenceError.exit_code)


def _answered(
    question: AdviceQuestion, first: Callable[[Advice], None], *, stopped: Callable[[Advice], None]
) -> Advice:
    """The answer, with a bar on the error stream that says how far it is and what leads so far."""
    from rich.markup import escape
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    from conewise.cli import render
    from conewise.reports.advice_words import seconds
    from conewise.workflows.advise import answer_advise

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=render.console(stderr=True), transient=True) as bar:
        task = bar.add_task("Reading", total=None)
        best = 0.0

        def partial(row: Row) -> None:
            nonlocal best
            if row.solved and row.gain > best:
                best = row.gain
                words = f"Solving every change; best so far: {row.option.name}, {seconds(row.gain)}"
                bar.update(task, description=escape(words))

        def told(advice: Advice) -> None:
            first(advice)
            bar.update(task, description="Solving every change")

        def shown(advice: Advice) -> None:
            bar.stop()
            stopped(advice)

        return answer_advise(
            question,
            progress=lambda words: bar.update(task, description=escape(words)),
            first=told,
            step=lambda done, total: bar.update(task, completed=done, total=total),
            partial=partial,
            stopped=shown,
        )
