"""`conewise car setup`: what was changed on a car, when, and how it was set up for a run."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from conewise.cli.options import BookFolder, Paper, SheetFile, SheetPaper, Shown

if TYPE_CHECKING:
    from conewise.reports.setup_pdf import SetupSheet
    from conewise.workflows.setup import SetupAnswer

setup_app = typer.Typer(
    no_args_is_help=True, help="What was changed on a car and when; every change can be taken back."
)

CarFile = Annotated[Path, typer.Argument(help="Car file, or its set-up history (.setup.toml).")]
On = Annotated[str | None, typer.Option("--on", help='Date and time, such as "2026-05-02 10:15"; now unless given.')]
Units = Annotated[Shown, typer.Option(help="Units shown; JSON is always SI.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object instead of text.")]


@setup_app.command("list")
def list_entries(car: CarFile, *, as_json: AsJson = False) -> None:
    """List every change with its date, and until when it was on the car."""
    from conewise.cli import render
    from conewise.workflows import setup

    answer = setup.setup_on(car, _now())
    if as_json:
        render.print_json(answer.as_dict())
        return
    out = render.console()
    out.print(f"{answer.base.name}: set-up {answer.label} now")
    table = render.plain_table(">no.", "from", "until", "change", "fields")
    for entry in answer.history.entries:
        until = "" if entry.undone is None else f"{entry.undone:%Y-%m-%d %H:%M}"
        fields = ", ".join(name for edit in entry.change.edits for name in edit.fields)
        fields = ", ".join(part for part in (fields, "mass" if entry.change.masses else "") if part)
        table.add_row(str(entry.number), f"{entry.at:%Y-%m-%d %H:%M}", until, entry.change.name, fields)
    if answer.history.entries:
        out.print(table)
    else:
        out.print("Nothing was changed yet: the car is as its file says.")
    render.print_findings(answer.findings, out)


@setup_app.command()
def show(
    car: CarFile,
    *,
    on: On = None,
    units: Units = Shown.METRIC,
    pdf: SheetFile = None,
    paper: SheetPaper = Paper.A4,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Show the car as it was on a date: what is on it, and which numbers are not those of the car file.

    With --pdf the sheet to set it up by is written, of a car of the book too.
    """
    from conewise.cli.options import book_place
    from conewise.workflows import setup
    from conewise.workflows.event_sheets import refuse_pdf
    from conewise.workflows.named import source
    from conewise.workflows.setup_sheet import setup_sheet, write_setup

    refuse_pdf(pdf)
    place = book_place(book)
    named, when = source(car, "car-file", place), setup.when_named(on, _now())
    if pdf is not None or not isinstance(named, Path):
        sheet = setup_sheet(named, when, place=place)
        if pdf is not None:
            write_setup(sheet, pdf, system=units.value, paper=paper.value)
        if not isinstance(named, Path):
            _say_versions(sheet, as_json=as_json)
            return
    _said(setup.setup_on(car, when, system=units.value), units, as_json=as_json)


@setup_app.command()
def add(
    car: CarFile,
    name: Annotated[str, typer.Argument(help="What was done, in a few words; with --changes the name in that file.")],
    *,
    on: On = None,
    edit: Annotated[
        list[str] | None,
        typer.Option("--edit", help='"front.camber = -2.4 deg", "+= 2 mm" or "*= 0.9"; may be repeated.'),
    ] = None,
    changes: Annotated[Path | None, typer.Option("--changes", help="File of changes or parts that has NAME.")] = None,
    note: Annotated[str, typer.Option("--note", help="A line to remember it by.")] = "",
    as_json: AsJson = False,
) -> None:
    """Write down a change from its date on. Nothing of the car file is touched."""
    from conewise.workflows import setup

    when = setup.when_named(on, _now())
    change = setup.typed_change(name, edit or [], note=note) if changes is None else setup.named_change(changes, name)
    _said(setup.setup_add(car, change, when), Shown.METRIC, as_json=as_json)


@setup_app.command()
def undo(
    car: CarFile,
    number: Annotated[int, typer.Argument(help="Number of the entry, as `list` shows it.")],
    *,
    on: On = None,
    units: Units = Shown.METRIC,
    as_json: AsJson = False,
) -> None:
    """Take a change back from a date on. Runs before that date keep their set-up."""
    from conewise.workflows import setup

    when = setup.when_named(on, _now())
    _said(setup.setup_undo(car, number, when, system=units.value), units, as_json=as_json)


def _say_versions(sheet: SetupSheet, *, as_json: bool) -> None:
    """A car of the book: its versions are its set-ups."""
    from conewise.cli import render

    if as_json:
        versions = [{"date": date, "words": words} for date, words in sheet.changes]
        render.print_json({"car": sheet.car.name, "setup": sheet.label, "versions": versions})
        return
    typer.echo(f"{sheet.car.name}, {sheet.label} of the book")
    for date, words in sheet.changes:
        typer.echo(f"  {date}  {words}")


def _now() -> datetime:
    return datetime.now().replace(microsecond=0)  # noqa: DTZ005  # the clock where the car is


def _said(answer: SetupAnswer, units: Shown, *, as_json: bool) -> None:
    from rich.text import Text

    from conewise.cli import render
    from conewise.workflows import setup

    if as_json:
        render.print_json(answer.as_dict())
        return
    out = render.console()
    out.print(Text(f"{answer.base.name} on {answer.when:%Y-%m-%d %H:%M}: set-up {answer.label}"))
    for entry in answer.active:
        note = f" ({entry.change.note})" if entry.change.note else ""
        out.print(Text(f"  {entry.number}. since {entry.at:%Y-%m-%d %H:%M}: {entry.change.name}{note}"))
    for name, before, after in setup.difference_rows(answer.done, units.value):
        out.print(Text(f"  {name}: {before} becomes {after}", style="bold"))
    table = render.plain_table("field", ">car file", ">now")
    rows = setup.difference_rows(answer.differences, units.value)
    for row in rows:
        table.add_row(*map(Text, row))
    out.print(table if rows else Text("Everything is as the car file says."))
    render.print_findings(answer.findings, out)
    out.print(Text(f"History: {answer.history.source}"), style="dim")
