"""`conewise fit`: do these wheels and tyres fit, and what do they change."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from pathlib import Path  # noqa: TC003  # typer reads the annotations
from typing import Annotated

import typer

from conewise.cli.options import BookFolder, CarArgument, Shown


class Axles(StrEnum):
    """Axles that get the wheels."""

    FRONT = "front"
    REAR = "rear"
    BOTH = "both"


def fit(  # noqa: PLR0913  # one argument an option of the command
    car: CarArgument,
    *,
    wheel: Annotated[str | None, typer.Option(help='Wheel: "18x9.5 +38", "18x9.5 bs 6.75 in".')] = None,
    tyre: Annotated[str | None, typer.Option(help='Tyre, "255/35R18 94Y"; else as on the car.')] = None,
    axle: Annotated[Axles, typer.Option(help="Axle that gets them.")] = Axles.BOTH,
    spacer: Annotated[str | None, typer.Option(help='All spacers of one side, "5 mm"; else as on the car.')] = None,
    mass: Annotated[str | None, typer.Option(help='One wheel with its tyre, weighed: "17.5 kg".')] = None,
    treadwear: Annotated[float | None, typer.Option(help="Treadwear grade of the tyre; else as on the car.")] = None,
    rims: Annotated[str | None, typer.Option(help='Rims that the tyre\'s maker approves: "8.5 to 10 in".')] = None,
    date_code: Annotated[str | None, typer.Option(help="Last digits of the tyre's DOT number: 2319.")] = None,
    bolt_pattern: Annotated[str | None, typer.Option(help="Of the wheel: 5x114.3.")] = None,
    bore: Annotated[str | None, typer.Option(help='Centre bore of the wheel: "73.1 mm".')] = None,
    centred: Annotated[bool, typer.Option("--centred", help="A ring, or the spacer's lip, centres the wheel.")] = False,
    seat: Annotated[str | None, typer.Option(help="Seat of the wheel: cone, ball or flat.")] = None,
    nut_seat: Annotated[str | None, typer.Option(help="Seat of other nuts or bolts than the car's.")] = None,
    turns: Annotated[float | None, typer.Option(help="Fewest turns until a nut is tight, new wheel on.")] = None,
    wheel_load: Annotated[str | None, typer.Option(help='Load marked on the wheel: "690 kg".')] = None,
    gap: Annotated[
        list[str] | None,
        typer.Option(help='Gap with the new wheel on: "front.strut=9 mm"; fender, full_lock, full_bump, caliper.'),
    ] = None,
    axle_load: Annotated[
        list[str] | None, typer.Option(help='Load of an axle with the driver in, weighed: "front=560 kg".')
    ] = None,
    day: Annotated[
        dt.datetime | None, typer.Option(formats=["%Y-%m-%d"], help="Day of the age; today unless given.")
    ] = None,
    picture: Annotated[Path | None, typer.Option(help="Draw old and new to scale (.svg).")] = None,
    book: BookFolder = None,
    units: Annotated[Shown, typer.Option(help="Units shown; JSON is always SI.")] = Shown.METRIC,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead of text.")] = False,
) -> None:
    """Say whether wheels and tyres fit a car, what is still open, and what they change.

    What is not known is an open item, never a pass. Leaves with exit code 10 when something does not fit or a safety
    item is open.
    """
    from conewise.cli import fit_text, render
    from conewise.cli.options import book_place
    from conewise.reports.fit_record import fit_record
    from conewise.workflows.fit import FitQuestion, answer_fit, write_picture
    from conewise.workflows.fit_options import candidate_of, gaps_of, grade_of, loads_of, mass_of, spacer_of
    from conewise.workflows.named import source

    known = candidate_of(
        bolt_pattern=bolt_pattern, bore=bore, centred=centred, seats=(seat, nut_seat), turns=turns,
        marked=(wheel_load, rims),
    )  # fmt: skip
    axles = ("front", "rear") if axle is Axles.BOTH else (axle.value,)
    question = FitQuestion(
        car=source(car, "car-file", book_place(book)),
        wheel=wheel,
        tyre=tyre,
        spacer=spacer_of(spacer),
        axles=axles,
        gaps=gaps_of(gap or [], axles),
        loads=loads_of(axle_load or [], axles),
        mass=mass_of(mass),
        treadwear=grade_of(treadwear),
        made=date_code,
        candidate=known,
        system=units.value,
    )
    answer = answer_fit(question, day=day.date() if day else dt.datetime.now().astimezone().date())
    if picture is not None:
        write_picture(answer, picture, system=units.value)
    if as_json:
        render.print_json(fit_record(answer))
    else:
        fit_text.print_fit(answer, units.value, render.console())
    raise typer.Exit(answer.exit_code)
