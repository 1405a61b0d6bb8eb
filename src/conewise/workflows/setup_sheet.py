"""How is this car to be set up? The sheet that is printed and filled in at the car, of a file or of the book."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from conewise.errors import NotFoundError
from conewise.event.cars import EventCar
from conewise.reports.files import write_whole
from conewise.reports.setup_pdf import SetupSheet, setup_pdf
from conewise.workflows.named import car_from, settings_from
from conewise.workflows.setup import setup_on

if TYPE_CHECKING:
    from datetime import datetime

    from conewise.quantities import System
    from conewise.workflows.book_place import BookPlace
    from conewise.workflows.named import BookText, Source


class NotKeptYetError(NotFoundError):
    """A car of the book as it was before the book had it."""

    code = "car-not-kept-yet"

    def __init__(self, car: str, when: datetime, first: datetime) -> None:
        super().__init__(
            f"The book did not have the car '{car}' on {when:%Y-%m-%d %H:%M}.",
            where="--on",
            hint=f"Its first version is of {first.astimezone():%Y-%m-%d %H:%M}; leave --on out for today's.",
        )


def setup_sheet(source: Source, when: datetime, *, place: BookPlace) -> SetupSheet:
    """The set-up of a car at a time.

    Parameters
    ----------
    source : Path or BookText
        A car file with the history beside it, a history, or a car of the book, whose versions are its set-ups.
    when : datetime
        By the clock where the car is. Versions of the book were made by the clock of this computer.
    place : BookPlace
        The book, for the torque of the wheel nuts and the versions.

    Raises
    ------
    NotKeptYetError
        If the book did not have the car then.
    ConewiseError
        If a file or the book cannot be read.
    """
    day = f"{when:%Y-%m-%d %H:%M}"
    if not isinstance(source, Path):
        return _of_book(source, when, place)
    answer = setup_on(source, when)
    changes = [(f"{one.at:%Y-%m-%d}", _words(one.change.name, one.change.note)) for one in answer.active]
    return SetupSheet(
        car=answer.car,
        label=f"set-up {answer.label}" if answer.history.entries else "as the car file",
        when=day,
        changes=tuple(changes),
        settings=settings_from(source),
    )


def write_setup(sheet: SetupSheet, into: Path, *, system: System = "metric", paper: str = "a4") -> None:
    """Write the sheet as PDF; UnwritableFileError where that cannot be."""
    write_whole(into, setup_pdf(sheet, system=system, paper=paper))


def _of_book(source: BookText, when: datetime, place: BookPlace) -> SetupSheet:
    from conewise.store.texts import CarText

    with place.opened(create=False) as book:
        history = book.history(CarText, source.name)
        torques = [
            kept.record.wheel_torque.written
            for kept in book.every(EventCar)
            if kept.record.car_file == source.name and kept.record.wheel_torque is not None
        ]
    versions = [one for one in history if one.at.replace(second=0, microsecond=0) <= when.astimezone()]
    if not versions or versions[-1].record is None:
        raise NotKeptYetError(source.name, when, history[0].at)
    source = replace(source, text=versions[-1].record.text)
    return SetupSheet(
        car=car_from(source),
        label=f"version {versions[-1].version}",
        when=f"{when:%Y-%m-%d %H:%M}",
        changes=tuple(
            (f"{one.at.astimezone():%Y-%m-%d}", _words(f"version {one.version}", one.reason)) for one in versions
        ),
        torque=torques[0] if len(set(torques)) == 1 else "",
        settings=settings_from(source),
    )


def _words(name: str, note: str) -> str:
    return f"{name}: {note}" if note else name
