"""Arguments and options that several commands of an event day have."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from conewise.cli.book import clock
from conewise.cli.line import Paper

if TYPE_CHECKING:
    from conewise.workflows.events import DaySource

EventFile = Annotated[Path, typer.Argument(help="Event file (.toml), or the id of an event in the book.")]
RunsFile = Annotated[Path | None, typer.Option(help="Table of runs; EVENT.runs.csv beside the event by default.")]
RulesName = Annotated[str, typer.Option(help="club, student or a rule file; the event's own by default.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object instead of text.")]
DriverName = Annotated[str, typer.Option(help="Id, number or name of a driver.")]
SheetFile = Annotated[Path | None, typer.Option("--pdf", help="Write the sheet for printing as PDF.")]
SheetPaper = Annotated[Paper, typer.Option("--paper", help="Paper of the PDF.")]


def day_source(book: Path | None) -> DaySource:
    """Files by their path, the book for ids."""
    from conewise.workflows.events import DaySource

    return DaySource(book=book, now=clock)
