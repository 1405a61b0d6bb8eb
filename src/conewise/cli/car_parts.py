"""`conewise car show --part` and `conewise car mass`: one part of a car on a sheet, and its mass budget."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path  # noqa: TC003  # typer reads the annotations
from typing import TYPE_CHECKING, Annotated

import typer

from conewise.cli.options import BookFolder, CarArgument, Shown

if TYPE_CHECKING:
    from conewise.workflows.named import Source


class Part(StrEnum):
    """Parts of a car that have a sheet of their own."""

    BRAKES = "brakes"
    SUSPENSION = "suspension"
    GEARING = "gearing"


def print_part(car: Source, part: Part, *, course: Source | None, units: Shown, as_json: bool) -> None:
    """The sheet of a part on the screen."""
    from rich.text import Text

    from conewise.cli import render
    from conewise.workflows import parts_of_a_car
    from conewise.workflows.cars import derived_row

    with render.progress("Driving the course"):
        sheet = parts_of_a_car.part_sheet(car, part.value, course=course)
    if as_json:
        render.print_json(parts_of_a_car.sheet_dict(sheet))
        return
    out = render.console()
    values = render.plain_table("value of", ">value", "meaning")
    for value in sheet.values:
        values.add_row(*map(Text, derived_row(value, units.value)))
    out.print(values)
    render.heading(out, sheet.table.title)
    table = render.plain_table("", *(f">{name}" for name, _ in sheet.table.columns))
    for row in parts_of_a_car.table_rows(sheet.table, units.value):
        table.add_row(*map(Text, row))
    out.print(table)
    for note in sheet.notes:
        out.print(Text(note), style="dim")
    render.print_findings(sheet.findings, out)
    out.print("Estimates, not permissions: officials, the rule book and a qualified mechanic decide.", style="dim")


def mass(
    car: CarArgument,
    *,
    changes: Annotated[
        Path | None, typer.Option("--changes", help="Changes or parts with moved mass: a file, or a list of the book.")
    ] = None,
    passenger: Annotated[
        str | None, typer.Option("--passenger", help='A passenger beside the driver: "75 kg".')
    ] = None,
    units: Annotated[Shown, typer.Option(help="Units shown; JSON is always SI.")] = Shown.METRIC,
    book: BookFolder = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead of text.")] = False,
) -> None:
    """Mass budget: what is put in or taken out where, and what it does to loads, centre of gravity and inertias."""
    from rich.text import Text

    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.quantities import show
    from conewise.workflows import parts_of_a_car
    from conewise.workflows.named import source

    place = book_place(book)
    listed = None if changes is None else source(changes, "changes", place)
    answer = parts_of_a_car.answer_mass(source(car, "car-file", place), changes=listed, passenger_mass=passenger)
    if as_json:
        render.print_json(answer.as_dict())
        return
    table = render.plain_table(
        "item", ">mass", ">car", ">front", ">to the left", ">height", ">yaw inertia", ">roll inertia"
    )
    rows = [(answer.car.name, None, answer.start), *((row.name, row.mass, row.after) for row in answer.rows)]
    for name, moved, s in rows:
        said = (show(x, "moment-of-inertia", units.value) for x in (s.yaw_inertia, s.roll_inertia))
        table.add_row(
            Text(name),
            "" if moved is None else show(moved, "mass", units.value),
            show(s.mass, "mass", units.value, 4),
            f"{s.front_share:.2%}",
            show(s.lateral, "length", units.value),
            show(s.cg_height, "length", units.value),
            *said,
        )
    out = render.console()
    out.print(table)
    out.print(
        Text("With the driver; each row after all above it. To the left: shift by the items alone. Estimates."),
        style="dim",
    )
