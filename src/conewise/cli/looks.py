"""`conewise event look` and `conewise event ride`: what was looked at, and who rode along and what was said."""

from __future__ import annotations

from pathlib import Path  # noqa: TC003  # typer reads the annotations
from typing import Annotated

import typer

from conewise.cli.options import AsJson, BookFolder, EventFile  # noqa: TC001


def look(  # noqa: PLR0913  # one argument an option of the command
    event: EventFile,
    *,
    of: Annotated[str, typer.Option("--of", help="Car or helmet of the event, by its id; a car also by its name.")],
    item: Annotated[str, typer.Option(help="Item of the inspection; of a helmet fit, strap, liner or impact.")],
    by: Annotated[str, typer.Option(help="Who looked.")],
    result: Annotated[str, typer.Option(help="passed, failed, does not apply (cars), not looked at (helmets).")] = (
        "passed"
    ),
    value: Annotated[str, typer.Option(help='What was measured or used, with its unit: "108 N m".')] = "",
    note: Annotated[str, typer.Option(help="Anything else.")] = "",
    photo: Annotated[Path | None, typer.Option(help="Picture of it; place, device and moment are cut out.")] = None,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Write down that somebody looked at an item of a car or a helmet, at an event of the book."""
    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.workflows.events import load_day
    from conewise.workflows.looks_typed import LookTyped, note_look

    place = book_place(book)
    typed = LookTyped(of=of, item=item, result=result, by=by, value=value, note=note, photo=photo)
    noted = note_look(load_day(event, source=place), place, typed)
    if as_json:
        render.print_json({"ok": True, "of": noted.of, "item": noted.item, "result": noted.result})
        return
    typer.echo(f"{noted.of}, {noted.item}: {noted.result}. Written into the book; conewise ready {event} shows it.")


def ride(
    event: EventFile,
    *,
    driver: Annotated[str, typer.Option(help="Who drove: id, number or name.")],
    passenger: Annotated[str, typer.Option(help="Who rode along: id, number or name.")],
    said: Annotated[str, typer.Option(help="What was said, for the driver's page.")] = "",
    run: Annotated[int | None, typer.Option(min=1, help="Run of the driver in which it was.")] = None,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Write down who rode along with whom and what was said, at an event of the book."""
    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.workflows.events import load_day
    from conewise.workflows.looks_typed import note_ride, ride_along

    place = book_place(book)
    loaded = load_day(event, source=place)
    noted = note_ride(loaded, place, ride_along(loaded, driver=driver, passenger=passenger, run=run, said=said))
    if as_json:
        render.print_json({"ok": True, **noted.model_dump(mode="json")})
        return
    day = loaded.day
    typer.echo(f"{day.called(noted.passenger)} with {day.called(noted.driver)}. Written into the book.")
