"""`conewise results`: provisional results by class and over all classes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from conewise.cli.options import AsJson, BookFolder, EventFile, RulesName, RunsFile  # noqa: TC001  # typer reads the annotations

if TYPE_CHECKING:
    from rich.console import Console

    from conewise.scoring.counting import CountedRun
    from conewise.scoring.results import ResultRow, Results
    from conewise.workflows.events import LoadedDay


def results(
    event: EventFile,
    *,
    runs: RunsFile = None,
    rules: RulesName = "",
    history: Annotated[bool, typer.Option("--history", help="Show what was corrected, and why.")] = False,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Places so far: raw time, cones and total of the best run, by class, and all classes by indexed time."""
    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.workflows.events import load_day
    from conewise.workflows.results import answer_results, results_record

    loaded = load_day(event, source=book_place(book), runs=runs, rules=rules)
    answer = answer_results(loaded)
    if as_json:
        render.print_json(results_record(answer, loaded.corrections))
        return
    print_results(answer)
    if history:
        _print_history(loaded)


def print_results(answer: Results) -> None:
    """One table a class, then all classes where they have indexes."""
    from rich.text import Text

    from conewise.cli import render
    from conewise.scoring.results import WHO_DECIDES

    out = render.console()
    out.print(Text(f"{answer.event}: results", style="bold"))
    for code in answer.classes:
        render.heading(out, f"Class {code}" if code else "Results")
        _print_class(answer.of_class(code), out)
    if len(answer.classes) > 1 and any(row.indexed is not None for row in answer.rows):
        render.heading(out, "All classes, by indexed time")
        table = render.plain_table(">place", "driver", "class", ">total s", ">index", ">indexed s")
        for row in answer.overall:
            place = "" if row.overall_place is None else str(row.overall_place)
            render.add_row(
                table,
                place,
                row.name,
                row.class_code,
                seconds_text(row.total),
                f"{row.index:.3f}",
                seconds_text(row.indexed),
            )
        out.print(table)
    if answer.not_entered:
        out.print(Text(f"\nDrove without an entry, not placed: {', '.join(answer.not_entered)}."))
    tied = [row for row in answer.rows if row.is_tied]
    if tied:
        out.print(Text(f"\nTied, not decided by the rules: {', '.join(row.name for row in tied)}."))
    out.print(Text(f"\n{WHO_DECIDES}", style="dim"))


def _print_class(rows: tuple[ResultRow, ...], out: Console) -> None:
    from conewise.cli import render

    table = render.plain_table(">place", "no.", "driver", "car", ">raw s", ">cones", ">total s", ">behind s", "runs")
    for row in rows:
        place = "" if row.place is None else f"{row.place}{'=' if row.is_tied else ''}"
        behind = "" if row.behind is None else f"{row.behind:.3f}"
        cones = "" if row.raw_time is None else str(row.cones)
        runs = "  ".join(run_words(one) for one in row.runs)
        render.add_row(
            table,
            place,
            row.number,
            row.name,
            row.car_name,
            seconds_text(row.raw_time),
            cones,
            seconds_text(row.total),
            behind,
            runs,
        )
    out.print(table)


def run_words(one: CountedRun) -> str:
    """A run in a few characters: time and cones, or what became of it."""
    if one.total is None:
        return one.why
    off = " off" if one.run.outcome == "off" else ""
    return f"{seconds_text(one.run.raw_time)}{f'+{one.run.cones}' if one.run.cones else ''}{off}"


def seconds_text(seconds: float | None) -> str:
    """Seconds to the thousandth; nothing where there is no time."""
    return "" if seconds is None else f"{seconds:.3f}"


def _print_history(loaded: LoadedDay) -> None:
    from conewise.cli import render

    out = render.console()
    render.heading(out, "Corrections")
    if not loaded.corrections:
        out.print("No result was corrected.")
        return
    table = render.plain_table("driver", ">run", "was", "is", "reason")
    for one in loaded.corrections:
        name = loaded.day.called(one.after.person)
        render.add_row(table, name, str(one.after.order), one.before.written, one.after.written, one.reason)
    out.print(table)
