"""`conewise run`: write runs down, plan the next ones, look at a driver's page."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from conewise.cli.options import (
    AsJson,
    BookFolder,
    EventFile,
    Paper,
    RulesName,
    RunsFile,
    SheetFile,
    SheetPaper,
    Shown,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from conewise.mentoring.pages import DriverPage
    from conewise.workflows.events import LoadedDay
    from conewise.workflows.mentoring import RunPlan

_LEAST_TOLD = 0.005  # a loss below it is shown as none [s]
run_app = typer.Typer(no_args_is_help=True, help="Write runs down, plan the next ones, look at a driver's page.")

Driver = Annotated[str, typer.Option(help="Id, number or name of the driver.")]
EventFiles = Annotated[
    list[Path] | None,
    typer.Argument(help="Event files (.toml) or ids of the book, in any order; every event of the book by default."),
]


@run_app.command()
def add(  # noqa: PLR0913  # one argument an option of the command
    event: EventFile,
    *,
    driver: Driver,
    time: Annotated[str, typer.Option(help="62.345, 62345 or 1:02.345; +N or (N) cones; DNF, DNS, DSQ, OFF, re-run.")],
    run: Annotated[int | None, typer.Option(min=1, help="Number of the run; the next one by default.")] = None,
    car: Annotated[str, typer.Option(help="Id of the car, where the driver has several.")] = "",
    passenger: Annotated[str, typer.Option(help="Who rides along.")] = "",
    setup: Annotated[str, typer.Option(help="Name of the set-up; `conewise prove` compares by it.")] = "",
    tyres: Annotated[str, typer.Option(help="Tyres.")] = "",
    cold: Annotated[str, typer.Option(help='Cold pressures, front left first: "32 32 30 30 psi".')] = "",
    hot: Annotated[str, typer.Option(help="Hot pressures after the run, alike.")] = "",
    surface: Annotated[str, typer.Option(help="Surface: dry, damp, wet, or in words.")] = "",
    focus: Annotated[str, typer.Option(help="What the run was about.")] = "",
    notes: Annotated[str, typer.Option(help="Anything else.")] = "",
    reason: Annotated[str, typer.Option(help="Why this corrects a run that is there; both stay.")] = "",
    sure: Annotated[bool, typer.Option("--sure", help="An odd run number or many cones are meant.")] = False,
    runs: RunsFile = None,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Write a run into the table of the day, EVENT.runs.csv, and say where it puts the driver."""
    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.workflows.events import load_day
    from conewise.workflows.results import results_record
    from conewise.workflows.run_entry import RunEntry, add_run

    entry = RunEntry(
        driver=driver, time=time, number=run, car=car, passenger=passenger, focus=focus, notes=notes, reason=reason,
        is_sure=sure, set_up=setup, tyres=tyres, cold_pressures=cold, hot_pressures=hot, surface=surface,
    )  # fmt: skip
    added = add_run(load_day(event, source=book_place(book), runs=runs, begins=True), entry)
    if as_json:
        record = results_record(added.results, added.loaded.corrections)
        said = {"driver": added.run.person, "run": added.run.order, "total_s": added.total, "why": added.why}
        render.print_json(record | {"added": said})
        return
    row, name = added.row, added.loaded.day.called(added.run.person)
    what = added.why if added.total is None else f"{added.total:.3f} s"
    was = f" (was {added.before.written})" if added.before else ""
    in_class = f" in class {row.class_code}" if row and row.class_code else ""
    place = f"; place {row.place}{in_class}" if row and row.place else ""
    typer.echo(f"{name}, run {added.run.order}: {what}{was}{place}. Written to {added.loaded.runs_file or 'the book'}.")


@run_app.command()
def plan(  # noqa: PLR0913  # one argument an option of the command
    event: EventFile,
    *,
    driver: Driver,
    runs: RunsFile = None,
    pdf: SheetFile = None,
    paper: SheetPaper = Paper.A4,
    quick: Annotated[
        bool, typer.Option("--quick", help="Nothing is solved: paces and focus, with times where the book has them.")
    ] = False,
    units: Annotated[Shown, typer.Option(help="Units shown; JSON is always SI.")] = Shown.METRIC,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Plan the runs still to come of a driver: pace, key speeds and one focus a run, anew after every run."""
    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.workflows.event_sheets import refuse_pdf, write_run_card
    from conewise.workflows.events import load_day
    from conewise.workflows.mentoring import answer_run_plan, run_plan_record
    from conewise.workflows.paces import solved_before

    refuse_pdf(pdf)
    loaded = load_day(event, source=book_place(book), runs=runs)
    known = solved_before(loaded, driver)
    if quick:
        answer = answer_run_plan(loaded, driver, progress=None, predictions=known)
    else:
        with render.progress("Reading the course and the car") as say:
            answer = answer_run_plan(loaded, driver, progress=say, predictions=known)
    if pdf is not None:
        write_run_card(answer, pdf, system=units.value, paper=paper.value)
    if as_json:
        render.print_json(run_plan_record(answer))
    else:
        _print_plan(answer, units)


@run_app.command()
def page(
    events: EventFiles = None,
    *,
    driver: Driver,
    rules: RulesName = "",
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Show a driver's page over the events given: runs, learning, cones, focus, progress, and the next step."""
    from conewise.cli import render
    from conewise.workflows.mentoring import answer_page, page_record

    found = answer_page(_days(events, book, rules), driver)
    if as_json:
        render.print_json({"ok": True} | page_record(found))
    else:
        _print_page(found)


@run_app.command()
def overview(
    events: EventFiles = None,
    *,
    mentor: Annotated[str, typer.Option(help="Only the drivers of this mentor.")] = "",
    rules: RulesName = "",
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Show who needs what, most first."""
    from conewise.cli import render
    from conewise.workflows.mentoring import answer_overview, page_record

    pages = answer_overview(_days(events, book, rules), mentor=mentor)
    if as_json:
        render.print_json({"ok": True, "drivers": [page_record(one) for one in pages]})
        return
    _print_overview(pages)


@run_app.command()
def season(
    events: EventFiles = None,
    *,
    driver: Annotated[str, typer.Option(help="Id, number or name of the driver; everybody by default.")] = "",
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Say where the time goes over a season, by kind of driving, from the debriefs that were kept with the runs."""
    from rich.text import Text

    from conewise.cli import render
    from conewise.workflows.mentoring import answer_season, season_record

    kinds = answer_season(_days(events, book, ""), driver)
    if as_json:
        render.print_json(season_record(kinds))
        return
    out = render.console()
    if not kinds:
        out.print(Text("No debrief is kept with these runs yet: conewise debrief RECORDING --keep."))
        return
    first = kinds[0]
    most = f"Most is lost in the {first.kind}: {first.loss:.2f} s of a run."
    nothing = "No kind of feature loses a hundredth of a second a run: nothing stands out."
    out.print(Text(most if first.loss >= _LEAST_TOLD else nothing, style="bold"))
    table = render.plain_table("kind", ">lost s a run", ">of the best", ">from event to event", ">events", ">passes")
    for one in kinds:
        spread = "" if one.share_spread is None else f"±{one.share_spread:.1%}"
        cells = (f"{one.loss:.2f}", f"{one.share:.1%}", spread, str(one.n_events), str(one.n_passes))
        render.add_row(table, one.kind, *cells)
    out.print(table)


def _days(events: Sequence[Path] | None, book: Path | None, rules: str) -> Sequence[LoadedDay]:
    """The events that were named, else every event of the book."""
    from conewise.cli.options import book_place
    from conewise.workflows.events import load_day
    from conewise.workflows.mentoring import every_event

    place = book_place(book)
    if not events:
        return every_event(place, rules=rules)
    return [load_day(event, source=place, rules=rules) for event in events]


def _print_plan(answer: RunPlan, units: Shown) -> None:
    from rich.text import Text

    from conewise.cli import render
    from conewise.quantities import show
    from conewise.workflows.mentoring import CAUTION, STEPPED, key_speeds

    out = render.console()
    out.print(Text(f"{answer.name}, {answer.car}, {answer.event}: the runs still to come", style="bold"))
    if not answer.plan.runs:
        out.print(Text("No run is left."))
    if answer.plan.reached_pace is not None:
        out.print(Text(f"The last run was driven at a pace of about {answer.plan.reached_pace:.2f}."))
    if not answer.is_predicted:
        out.print(Text("No times: name a course_file for the event and a car_file for the car, and leave out --quick."))
    if answer.is_stepped:
        out.print(Text(STEPPED))
    for run in answer.plan.runs:
        time = "" if run.time is None else f", about {run.time:.1f} s"
        out.print(Text(f"\nRun {run.number}: pace {run.pace:.2f}{time}. {run.focus}"))
        slowest = [f"{s.feature} {show(s.speed, 'speed', units.value, digits=2)}" for s in key_speeds(run.speeds)]
        if slowest:
            out.print(Text(f"  slowest: {', '.join(slowest)}"))
    out.print(Text(f"\n{CAUTION}", style="dim"))


def _print_page(found: DriverPage) -> None:
    from rich.text import Text

    from conewise.cli import render
    from conewise.cli.results import run_words, seconds_text

    out = render.console()
    out.print(Text(f"{found.name}: {found.next_step}", style="bold"))
    out.print(Text(found.reason))
    table = render.plain_table("event", "date", ">first s", ">best s", ">learned s", ">cones", ">no time", "runs")
    for day in found.days:
        cells = [
            seconds_text(day.first),
            seconds_text(day.best),
            seconds_text(day.learned),
            str(day.cones),
            str(day.n_without_time),
        ]
        runs = "  ".join(run_words(one) for one in day.runs)
        render.add_row(table, day.event, day.day.isoformat(), *cells, runs)
    render.heading(out, "Events")
    out.print(table)
    if found.progress:
        render.heading(out, "Seconds lost in a feature by kind of driving, as debriefs found it")
        events = list(dict.fromkeys(event for rows in found.progress.values() for event, _ in rows))
        losses = render.plain_table("kind", *(f">{event}" for event in events))
        for kind, rows in found.progress.items():
            lost = dict(rows)
            render.add_row(losses, kind, *(f"{lost[event]:.2f}" if event in lost else "" for event in events))
        out.print(losses)
    if found.ride_alongs:
        render.heading(out, "Ride-alongs")
        for line in found.ride_alongs:
            out.print(Text(line))


def _print_overview(pages: Sequence[DriverPage]) -> None:
    from rich.text import Text

    from conewise.cli import render

    out: Console = render.console()
    if not pages:
        out.print(Text("Nobody is entered."))
        return
    table = render.plain_table("driver", "next step", "because")
    for one in pages:
        render.add_row(table, one.name, one.next_step, one.reason)
    out.print(table)
