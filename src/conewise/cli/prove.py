"""`conewise prove`: did the change work, or was it just the driver learning?"""

from __future__ import annotations

from pathlib import Path  # noqa: TC003  # typer reads the annotations
from typing import TYPE_CHECKING, Annotated

import typer

from conewise.cli.options import BookFolder, Shown

if TYPE_CHECKING:
    from conewise.reports.proof_answer import PlanAnswer


def prove(  # noqa: PLR0913  # one argument an option of the command
    times: Annotated[
        list[Path] | None, typer.Argument(help="Times file (.csv), one row a run; or ids of events in the book.")
    ] = None,
    *,
    before: Annotated[str, typer.Option(help="Set-up before the change; else the one driven first.")] = "",
    after: Annotated[str, typer.Option(help="Set-up after the change.")] = "",
    driver: Annotated[list[str] | None, typer.Option(help="Driver whose change is judged; repeatable.")] = None,
    certainty: Annotated[float, typer.Option(help="Probability of the interval, 0.5 to 0.999.")] = 0.9,
    plan: Annotated[bool, typer.Option("--plan", help="Before the test: propose an order of runs.")] = False,
    runs: Annotated[int | None, typer.Option(help="With --plan: runs of a day.")] = None,
    days: Annotated[int, typer.Option(help="With --plan and --runs: days.")] = 1,
    effect: Annotated[float | None, typer.Option(help="With --plan: change that is to show, in seconds.")] = None,
    spread: Annotated[float | None, typer.Option(help="With --plan: standard deviation of a run, in seconds.")] = None,
    units: Annotated[Shown, typer.Option(help="Units shown; JSON is always SI.")] = Shown.METRIC,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead of text.")] = False,
    report: Annotated[Path | None, typer.Option(help="Write a self-contained HTML report.")] = None,
    svg: Annotated[Path | None, typer.Option(help="Write the picture of the runs as SVG.")] = None,
    book: BookFolder = None,
) -> None:
    """Tell from raw times whether a change made the car faster, with its interval and chance, or why they cannot tell.

    Leaves with exit code 5 when the times cannot tell.
    """
    from conewise.cli import proof_text, render
    from conewise.cli.main import UsageError
    from conewise.cli.options import book_place
    from conewise.reports.proof_record import proof_record
    from conewise.reports.units import UNIT_SYSTEMS
    from conewise.workflows import prove as proof

    driven = proof.times_named(times, book_place(book)) if times else None
    if plan:
        found = proof.plan_test(runs=runs, days=days, effect=effect, spread=spread, certainty=certainty, times=driven)
        _say_plan(found, as_json=as_json)
        return
    if driven is None:
        raise UsageError("A times file is missing; or say --plan for a test to come.", command="conewise prove")
    if any(value is not None for value in (runs, effect, spread)):
        raise UsageError("--runs, --effect and --spread belong to --plan.", command="conewise prove")
    proof.refuse_proof_files(report=report, svg=svg)
    shown = UNIT_SYSTEMS[units.value]
    with render.progress("Judging the runs"):
        answer = proof.prove(driven, before=before, after=after, drivers=tuple(driver or ()), certainty=certainty)
        proof.write_proof(answer, shown, report=report, svg=svg)
    if as_json:
        render.print_json(proof_record(answer))
    else:
        proof_text.print_proof(answer, shown)
    raise typer.Exit(answer.exit_code)


def _say_plan(found: PlanAnswer, *, as_json: bool) -> None:
    from conewise.cli import proof_text, render
    from conewise.reports.proof_record import plan_record

    if as_json:
        render.print_json(plan_record(found))
    else:
        proof_text.print_plan(found)
