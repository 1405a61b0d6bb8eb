"""`conewise event`: make, show and plan an event day."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from conewise.cli.looks import look, ride
from conewise.cli.options import (  # typer reads the annotations
    AsJson,
    BookFolder,
    DriverName,
    EventFile,
    Paper,
    RulesName,
    RunsFile,
    SheetFile,
    SheetPaper,
)

if TYPE_CHECKING:
    from rich.console import Console

    from conewise.event.plan import Step
    from conewise.workflows.event_plan import EventPlanned, EventShown

event_app = typer.Typer(no_args_is_help=True, help="Make, show and plan an event day.")

EventFiles = Annotated[list[Path], typer.Argument(help="Event files (.toml), the one in question last.")]
Force = Annotated[bool, typer.Option("--force", help="Replace a file that is there.")]


@event_app.command()
def new(
    event: Annotated[Path, typer.Argument(help="Event file to write (.toml).")],
    *,
    force: Force = False,
    as_json: AsJson = False,
) -> None:
    """Answer eight questions and get a commented event file to fill in."""
    from conewise.cli import render
    from conewise.cli.asking import asked
    from conewise.event.questions import QUESTIONS, check_answer
    from conewise.workflows import event_plan

    event_plan.refuse_existing(event, force=force)
    day = event_plan.new_event(asked(QUESTIONS, check_answer), event, force=force)
    if as_json:
        render.print_json({"ok": True, "file": str(event), "id": day.event.id, "date": day.event.day.isoformat()})
    else:
        typer.echo(f"Wrote {event}. Enter drivers, cars and helmets, then: conewise ready {event}")


@event_app.command()
def show(
    events: EventFiles,
    *,
    card: Annotated[bool, typer.Option("--card", help="The card for a first event alone.")] = False,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Show entries, fee, dates and the packing list of the last event, and the money of all that are named."""
    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.workflows.event_plan import event_record, show_event
    from conewise.workflows.events import load_day

    shown = show_event([load_day(event, source=book_place(book)) for event in events])
    if as_json:
        render.print_json(event_record(shown))
    elif card:
        _print_card(shown)
    else:
        _print_event(shown)


@event_app.command()
def plan(
    event: EventFile,
    *,
    driver: DriverName = "",
    runs: RunsFile = None,
    rules: RulesName = "",
    pdf: SheetFile = None,
    paper: SheetPaper = Paper.A4,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Compute the day backwards from the first car: what everybody does when, and who mentors whom."""
    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.workflows.event_plan import plan_event, plan_record
    from conewise.workflows.event_sheets import refuse_pdf, write_day_plan
    from conewise.workflows.events import load_day

    refuse_pdf(pdf)
    answer = plan_event(load_day(event, source=book_place(book), runs=runs, rules=rules))
    record = plan_record(answer, driver)
    if pdf is not None:
        write_day_plan(answer, pdf, driver=driver, paper=paper.value)
    if as_json:
        render.print_json(record)
        return
    _print_plan(answer, {row["driver"] for row in record["drivers"]} if driver else None)


@event_app.command()
def calendar(
    event: EventFile,
    *,
    out: Annotated[Path, typer.Option(help="Calendar file to write (.ics).")],
    driver: DriverName = "",
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Write the day as a calendar file (RFC 5545); with a driver, what that one does when."""
    from datetime import UTC, datetime

    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.workflows.event_plan import write_calendar
    from conewise.workflows.events import load_day

    n_entries = write_calendar(load_day(event, source=book_place(book)), out, stamp=datetime.now(UTC), driver=driver)
    if as_json:
        render.print_json({"ok": True, "file": str(out), "n_entries": n_entries})
    else:
        typer.echo(f"Wrote {out}: {n_entries} entries.")


@event_app.command()
def contact(
    event: Annotated[
        Path | None, typer.Argument(help="Event file, or the id of one; without it everybody whom the book knows.")
    ] = None,
    *,
    driver: DriverName = "",
    mentor: Annotated[str, typer.Option(help="With --pdf: the mentor who prints it and keeps it.")] = "",
    pdf: SheetFile = None,
    paper: SheetPaper = Paper.A4,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Show emergency contacts and medical notes of a driver, or of everybody. They stay on this machine."""
    from rich.text import Text

    from conewise.cli import render
    from conewise.cli.main import UsageError
    from conewise.cli.options import book_place
    from conewise.workflows.event_plan import emergency_contacts, everyones_contacts
    from conewise.workflows.event_sheets import refuse_pdf, write_emergency
    from conewise.workflows.events import load_day

    refuse_pdf(pdf)
    loaded = None if event is None else load_day(event, source=book_place(book))
    if pdf is not None:
        if loaded is None:
            raise UsageError("The emergency sheet is of an event: name it.", command="conewise event contact")
        write_emergency(loaded, pdf, mentor=mentor, driver=driver, paper=paper.value)
    found = everyones_contacts(book_place(book), driver) if loaded is None else emergency_contacts(loaded, driver)
    rows = []
    for person, name in found:
        whom = person.emergency
        parts = [whom.name, whom.relation, whom.phone] if whom else []
        rows.append((name, ", ".join(part for part in parts if part), person.medical))
    if as_json:
        people = [{"name": name, "contact": reach, "medical": medical} for name, reach, medical in rows]
        render.print_json({"ok": True, "people": people})
        return
    out = render.console()
    for name, reach, medical in rows:
        out.print(Text(f"{name}: {reach or 'no contact written down'}", style="bold"))
        if medical:
            out.print(Text(f"  {medical}"))


for noted in (look, ride):  # behind the commands of this module
    event_app.command()(noted)


def _print_event(shown: EventShown) -> None:
    from rich.text import Text

    from conewise.cli import render

    out, day = render.console(), shown.loaded.day
    event = day.event
    parts = [f"{event.name}, {event.day:%A} {event.day.isoformat()}", event.place, event.surface]
    out.print(Text(", ".join(part for part in parts if part), style="bold"))
    fee = f"fee {event.fee.amount} {event.fee.currency}; " if event.fee else ""
    opens, closes = event.registration.opens, event.registration.closes
    dates = f"registration {opens or '?'} to {closes or '?'}" if opens or closes else "no registration dates"
    door = ", or on the day" if event.registration.on_the_day else ""
    out.print(Text(f"{fee}{dates}{door}; rules '{event.rules}'"))
    if event.entries:
        render.heading(out, "Entries")
        table = render.plain_table("no.", "driver", "car", "class", "heat", "works", "station")
        for entry in event.entries:
            cells = (entry.class_code, entry.heat, entry.work_heat, entry.work_station)
            render.add_row(table, entry.number, day.called(entry.person), entry.car, *cells)
        out.print(table)
    _print_loans(shown, out)
    render.heading(out, "To pack")
    for row in shown.packing:
        out.print(Text(f"[{'x' if row.is_packed else ' '}] {row.item}"))
    _print_costs(shown, out)


def _print_loans(shown: EventShown, out: Console) -> None:
    from conewise.cli import render

    day = shown.loaded.day
    helmets = [helmet for helmet in day.helmets if helmet.is_loan]
    if not helmets:
        return
    render.heading(out, "Loan helmets")
    table = render.plain_table("helmet", "size", "label", "with")
    for helmet in helmets:
        taken = [
            day.called(loan.person) for loan in day.loans if (loan.helmet, loan.event) == (helmet.id, day.event.id)
        ]
        render.add_row(table, helmet.id, helmet.size, ", ".join(helmet.labels), ", ".join(taken) or "nobody")
    out.print(table)


def _print_costs(shown: EventShown, out: Console) -> None:
    from rich.text import Text

    from conewise.cli import render

    if not shown.costs:
        return
    render.heading(out, "Money")
    for cost in shown.costs:
        kinds = ", ".join(f"{kind} {amount}" for kind, amount in cost.by_kind.items())
        out.print(Text(f"{cost.year}: {cost.total} {cost.currency} ({kinds})"))


def _print_card(shown: EventShown) -> None:
    from rich.text import Text

    from conewise.cli import render

    out = render.console()
    out.print(Text(f"{shown.loaded.day.event.name}: your first event", style="bold"))
    for number, line in enumerate(shown.card, start=1):
        out.print(Text(f"{number}. {line}"))
    out.print(Text("The event's officials and its drivers' meeting decide.", style="dim"))


def _print_plan(answer: EventPlanned, only: set[str] | None) -> None:
    from rich.text import Text

    from conewise.cli import render

    out, day = render.console(), answer.loaded.day
    out.print(
        Text(f"{answer.plan.event}, {day.event.day.isoformat()}: begin at {answer.plan.begin:%H:%M}", style="bold")
    )
    render.print_findings(answer.plan.findings, out)
    if only is None:
        _print_steps("Everybody", answer.plan.steps, out)
    for one in answer.plan.people:
        if only is None or one.person in only:
            own = one.steps if only else tuple(step for step in one.steps if step.heat or step.name in {"run", "work"})
            _print_steps(one.name, own, out)
    if answer.mentors:
        render.heading(out, "Mentors")
        table = render.plain_table("beginner", "mentor", "")
        for pair in answer.mentors:
            note = "" if pair.is_chosen else "proposed" if pair.mentor else "nobody is free"
            busy = "both run in one heat" if pair.same_heat else ""
            mentor = day.called(pair.mentor) if pair.mentor else "-"
            render.add_row(table, day.called(pair.driver), mentor, ", ".join(w for w in (note, busy) if w))
        out.print(table)


def _print_steps(title: str, steps: tuple[Step, ...], out: Console) -> None:
    from conewise.cli import render
    from conewise.event.calendar import said

    render.heading(out, title)
    table = render.plain_table("from", "to", "what")
    for step in steps:
        render.add_row(table, f"{step.begin:%H:%M}", f"{step.end:%H:%M}", said(step))
    out.print(table)
