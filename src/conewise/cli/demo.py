"""`conewise demo`: the program at work on an invented course."""

from __future__ import annotations

import datetime as dt
import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from conewise.cli.options import Shown

if TYPE_CHECKING:
    from conewise.advisor.advice import Advice
    from conewise.reports.answer import LineAnswer
    from conewise.reports.debrief_answer import DebriefAnswer
    from conewise.reports.units import Units


def demo(
    *,
    into: Annotated[Path, typer.Option(help="Folder for the example files and the report.")] = Path("conewise-demo"),
    force: Annotated[bool, typer.Option("--force", help="Put changed example files back as they were.")] = False,
    units: Annotated[Shown, typer.Option(help="Units shown.")] = Shown.METRIC,
) -> None:
    """Write the example files, solve a course with a car, write a report, debrief a run, find the package for a budget.

    Everything in the examples is invented.
    """
    from conewise.cli import proof_text, render
    from conewise.cli.options import clock
    from conewise.cli.ready import print_readiness
    from conewise.cli.results import print_results
    from conewise.reports.units import UNIT_SYSTEMS
    from conewise.workflows import demo as demonstration

    shown = UNIT_SYSTEMS[units.value]
    with render.progress("Writing the examples", lines=True) as say:

        def known(answer: LineAnswer | DebriefAnswer | Advice) -> None:
            with say.paused():
                _print_part(answer, shown)

        day = dt.datetime.now().astimezone().date()
        try:
            found = demonstration.show(into, shown, force=force, day=day, now=clock, progress=say, known=known)
        except KeyboardInterrupt:
            report = into / demonstration.REPORT
            with say.paused():
                typer.echo(f"Stopped before its end. Examples: {into}" + (f"\nReport: {report}" * report.is_file()))
            raise
    render.heading(render.console(), "May we run? The last event of an invented season")
    print_readiness(found.season.readiness)
    print_results(found.season.results)
    proof_text.print_earlier(found.proof)
    asked = found.debriefed
    call = _as_called()
    debriefed = f"{call} debrief {asked.log} --course {asked.course} --car {asked.car}"
    told = found.advised
    advised = f'{call} advise {told.courses[0]} --car {told.car} --parts {told.parts} --budget "{told.budget}"'
    again = f"{call} line {found.question.course} --car {found.question.car}"
    written = f"Report: {found.report}\nExamples: {into} ({len(found.written)} files written)"
    asked_book = f"{call} ready {found.season.event} --book {found.season.book}"
    typer.echo(f"\n{written}\nAgain: {again}\n       {debriefed}\n       {advised}\n       {asked_book}")
    typer.echo(f"All of it on pages, in the browser: {call} serve --demo")
    raise typer.Exit(found.answer.exit_code)


def _print_part(answer: LineAnswer | DebriefAnswer | Advice, shown: Units) -> None:
    """One answer of the demonstration, as soon as it is there."""
    from conewise.advisor.advice import Advice
    from conewise.cli import advise_text, debrief_text, render
    from conewise.reports.debrief_answer import DebriefAnswer

    if isinstance(answer, DebriefAnswer):
        debrief_text.print_focus(answer)
    elif isinstance(answer, Advice):
        advise_text.print_package(answer)
    else:
        render.print_answer(answer, shown)
        render.print_details(answer, shown)


def _as_called() -> str:
    """How this program can be called again: by its name where the shell finds it, else by the path that was typed."""
    typed = Path(sys.argv[0])
    return "conewise" if shutil.which("conewise") or typed.stem != "conewise" else str(typed)
