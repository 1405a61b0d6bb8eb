"""Arguments and options that several commands have, and what was named by them."""

from __future__ import annotations

from datetime import UTC, datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from conewise.workflows.book_place import BookPlace


class Shown(StrEnum):
    """Units in which numbers are shown."""

    METRIC = "metric"
    US = "us"


class Paper(StrEnum):
    """Paper of a printed sheet."""

    A4 = "a4"
    LETTER = "letter"


class Level(StrEnum):
    """How much of the car is modelled."""

    POINT_MASS = "point-mass"
    QUASI_STEADY = "quasi-steady"
    TRANSIENT = "transient"


BookFolder = Annotated[
    Path | None,
    typer.Option(
        "--book", envvar="CONEWISE_BOOK", help="Folder of the book; the one in your user data where left out."
    ),
]
CourseName = Annotated[Path, typer.Argument(help="Course: .toml, .csv, .geojson, .gpx, or its name in the book.")]
CarName = Annotated[Path, typer.Option(help="Car file (.toml), or its name in the book.")]
CarArgument = Annotated[
    Path, typer.Argument(metavar="CAR", help="Car file or its set-up history (.toml), or a car of the book.")
]
CourseOption = Annotated[Path, typer.Option(help="Course: .toml, .csv, .geojson, .gpx, or its name in the book.")]
LevelName = Annotated[str, typer.Option(help="novice, regular, expert, a driver file, or a driver of the book.")]
EventFile = Annotated[Path, typer.Argument(help="Event file (.toml), or the id of an event in the book.")]
RunsFile = Annotated[Path | None, typer.Option(help="Table of runs; EVENT.runs.csv beside the event by default.")]
RulesName = Annotated[str, typer.Option(help="club, student, a rule file, or rules of the book; else the event's own.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object instead of text.")]
DriverName = Annotated[str, typer.Option(help="Id, number or name of a driver.")]
SheetFile = Annotated[Path | None, typer.Option("--pdf", help="Write the sheet for printing as PDF.")]
SheetPaper = Annotated[Paper, typer.Option("--paper", help="Paper of the PDF.")]


def clock() -> datetime:
    """Now, in UTC."""
    return datetime.now(UTC)


def book_place(book: Path | None) -> BookPlace:
    """The book that was asked for, and the clock."""
    from conewise.workflows.book_place import BookPlace

    return BookPlace(book=book, now=clock)
