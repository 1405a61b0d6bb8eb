"""`conewise car`: make and show car files."""

from __future__ import annotations

from pathlib import Path  # noqa: TC003  # typer reads the annotations
from typing import TYPE_CHECKING, Annotated

import typer

from conewise.cli.car_parts import Part, mass, print_part
from conewise.cli.options import BookFolder, CarArgument, Shown
from conewise.cli.setup import setup_app
from conewise.cli.weighing import lift, scales

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rich.table import Table

    from conewise.workflows.cars import CarSheet

car_app = typer.Typer(no_args_is_help=True, help="Make, show, weigh and change cars.")


AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object instead of text.")]


@car_app.command()
def new(
    car: Annotated[Path, typer.Argument(help="Car file to write (.toml).")],
    *,
    force: Annotated[bool, typer.Option("--force", help="Replace a file that is there.")] = False,
    as_json: AsJson = False,
) -> None:
    """Answer eight questions and get a commented car file that can be solved with at once.

    An empty answer, or "do not know", takes the typical value.
    """
    from conewise.cars.questions import QUESTIONS, check_answer
    from conewise.cli import render
    from conewise.cli.asking import asked
    from conewise.workflows import cars

    cars.refuse_existing(car, force=force)
    sheet = cars.new_car(asked(QUESTIONS, check_answer), car, force=force)
    if as_json:
        render.print_json(sheet.as_dict())
        return
    typer.echo(f"Wrote {car}. Change any line of it, then: conewise car show {car}")
    render.print_findings(sheet.findings, render.console())


@car_app.command()
def show(
    car: CarArgument,
    *,
    part: Annotated[Part | None, typer.Option("--part", help="One part only, in detail.")] = None,
    course: Annotated[Path | None, typer.Option("--course", help="With --part brakes: heat of a run there.")] = None,
    units: Annotated[Shown, typer.Option(help="Units shown; JSON is always SI.")] = Shown.METRIC,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Show what is given, what is typical or estimated, what follows, and what looks odd."""
    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.workflows import cars
    from conewise.workflows.named import source

    if course is not None and part is not Part.BRAKES:
        raise typer.BadParameter("--course tells the heat of a run: say --part brakes too.")
    place = book_place(book)
    named = source(car, "car-file", place)
    if part is not None:
        driven = None if course is None else source(course, "course", place)
        print_part(named, part, course=driven, units=units, as_json=as_json)
        return
    sheet = cars.car_sheet(named, system=units.value)
    if as_json:
        render.print_json(sheet.as_dict())
        return
    out = render.console()
    out.print(_heading(sheet))
    for table in _tables(sheet, units):
        out.print(table)
    render.print_findings(sheet.findings, out)
    out.print("Estimates, not permissions: officials, the rule book and a qualified mechanic decide.", style="dim")


def _heading(sheet: CarSheet) -> str:
    car = sheet.car
    axles = {"front": (car.front,), "rear": (car.rear,), "all": (car.front, car.rear)}[car.drive]
    kinds = " and ".join(str(axle.differential.kind) for axle in axles)
    brakes = "with anti-lock brakes" if car.brakes.abs else "without anti-lock brakes"
    return f"{car.name}: {car.kind}, {car.drive} drive, {kinds} differential, {car.transmission.kind}, {brakes}"


def _tables(sheet: CarSheet, units: Shown) -> list[Table]:
    from conewise.quantities import Origin
    from conewise.workflows.cars import derived_row, value_row

    given: list[tuple[str, ...]] = []
    filled: list[tuple[str, ...]] = []
    for name, value in sheet.car.values.items():
        into = filled if value.origin in {Origin.TYPICAL, Origin.ESTIMATED} else given
        mark = " *" if name in sheet.outside else ""
        row = value_row(name, value, units.value)
        into.append((row[0] + mark, *row[1:]))
    columns = ("field", "value", "plus or minus", "from")
    known = [_table("Given (* not part of the time model)", columns, given)] if given else []
    return [
        *known,
        _table("Filled in (* not part of the time model)", columns, filled),
        _table("Derived", ("value of", "value", "meaning"), [derived_row(d, units.value) for d in sheet.derived]),
    ]


def _table(title: str, columns: Iterable[str], rows: Iterable[tuple[str, ...]]) -> Table:
    from rich.table import Table
    from rich.text import Text

    table = Table(title=title, title_justify="left", box=None, pad_edge=False)
    for i, column in enumerate(columns):
        table.add_column(column, justify="right" if i in {1, 2} and column != "meaning" else "left")
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    return table


for measured in (mass, scales, lift):  # behind the commands of this module
    car_app.command()(measured)
car_app.add_typer(setup_app, name="setup")
