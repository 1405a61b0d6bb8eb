"""`conewise log`: check, show and convert what a logger recorded."""

from __future__ import annotations

import sys
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from conewise.cli.options import BookFolder, CarName, CourseOption, Shown

if TYPE_CHECKING:
    from collections.abc import Callable

    from rich.table import Table

    from conewise.cli.render import Progress
    from conewise.workflows.logs import Log, LogSummary, Question
    from conewise.workflows.named import LogSource

_DIGITS = {"latitude": 6, "longitude": 6, "satellites": 0, "fix_quality": 0, "gear": 0}

log_app = typer.Typer(no_args_is_help=True, help="Check, show and convert recorded logs.")

LogFile = Annotated[
    Path, typer.Argument(help="Recording: delimited text, GPX, NMEA 0183, FIT or MDF 4; or its name in the book.")
]
MappingFile = Annotated[Path | None, typer.Option(help="TOML file that says what the columns are.")]
Columns = Annotated[
    list[str] | None, typer.Option("--map", metavar="COLUMN=QUANTITY[:UNIT]", help="What one column is; repeatable.")
]
BusFile = Annotated[Path | None, typer.Option(help="Description of the CAN bus, for raw frames in MDF.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object instead of text.")]
UnitsShown = Annotated[Shown, typer.Option(help="Units shown; JSON is always SI.")]


def _read(named: LogSource, mapping: Path | None, columns: list[str] | None, dbc: Path | None) -> Log:
    """The log, with questions where someone is there to answer them."""
    from conewise.cli import render
    from conewise.workflows import logs

    options = logs.LogOptions(mapping=mapping, columns=tuple(columns or ()), dbc=dbc)
    with render.progress(f"Reading {named.name}") as progress:
        return logs.open_log(named, options, ask=asking(progress) if sys.stdin.isatty() else None)


def asking(progress: Progress) -> Callable[[Question], str]:
    """A function that asks at the terminal until the answer can be used."""
    from conewise.workflows import logs

    def ask(question: Question) -> str:
        with progress.paused():
            values = ", ".join(f"{value:.6g}" for value in question.values)
            unit = f" [{question.unit}]" if question.unit else ""
            typer.echo(f"What is the column '{question.column}'{unit}? It has {values}.", err=True)
            guesses = zip(question.guesses, question.probabilities, strict=True)
            for number, (guess, probability) in enumerate(guesses, start=1):
                typer.echo(f"  {number}  {guess}  ({probability:.0%})", err=True)
            while True:
                typer.echo("A number, QUANTITY[:UNIT] or ignore [1]: ", nl=False, err=True)
                line = sys.stdin.readline()
                if not line:  # the input has ended: nobody answers
                    return ""
                answer, problem = logs.understood(line.strip(), question)
                if answer:
                    return answer
                typer.echo(problem, err=True)

    return ask


@log_app.command()
def check(
    log: LogFile,
    *,
    mapping: MappingFile = None,
    columns: Columns = None,
    dbc: BusFile = None,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """What is wrong with a recording, and where? Leaves with exit code 10 when nothing of it can be used."""
    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.workflows import logs
    from conewise.workflows.named import log_source

    summary = logs.log_summary(_read(log_source(log, book_place(book)), mapping, columns, dbc))
    if as_json:
        render.print_json(summary.as_dict())
    else:
        out = render.console()
        render.print_findings(summary.findings, out)
        n_wrong = sum(finding.severity != "note" for finding in summary.findings)
        answer = f"{n_wrong} to look at; what is usable is used." if n_wrong else "Nothing is wrong with it."
        out.print(f"{summary.file}: {answer}", markup=False)
    if not summary.is_usable:
        raise typer.Exit(10)


@log_app.command()
def show(
    log: LogFile,
    *,
    mapping: MappingFile = None,
    columns: Columns = None,
    dbc: BusFile = None,
    by_column: Annotated[
        bool, typer.Option("--columns", help="What each column is taken for, and how sure that is, instead.")
    ] = False,
    units: UnitsShown = Shown.METRIC,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """What was recorded: channels with their rate and range, start, duration, distance."""
    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.workflows import logs
    from conewise.workflows.named import log_source

    if by_column:
        _show_columns(log, dbc, as_json=as_json)
        return
    recorded = _read(log_source(log, book_place(book)), mapping, columns, dbc)
    if as_json:
        render.print_json(logs.log_summary(recorded).as_dict())
        return
    summary = logs.log_summary(recorded, system=units.value)
    out = render.console()
    for sentence in _sentences(summary, units):
        out.print(sentence, markup=False)
    out.print(_channels(summary))
    render.print_findings(summary.findings, out)


def _show_columns(path: Path, dbc: Path | None, *, as_json: bool) -> None:
    """What each column is taken for, before anyone says otherwise."""
    from conewise.cli import render
    from conewise.workflows import logs

    rows = logs.columns_of(path, dbc=dbc)
    if as_json:
        render.print_json({"columns": [asdict(row) for row in rows]})
        return
    if not rows:
        typer.echo("This format says itself what it holds.")
    width = max((len(row.column) for row in rows), default=0)
    for row in rows:
        doubt = "" if row.is_sure else "  asked for"
        typer.echo(f"{row.column:<{width}}  {row.probability:4.0%}  {row.meaning}{doubt}")


def _sentences(summary: LogSummary, units: Shown) -> list[str]:
    """What is said above the table."""
    from conewise.quantities import show as shown

    start = f"{summary.start:%Y-%m-%d %H:%M:%S} UTC" if summary.start else "date not known"
    said = [f"{summary.file}: {start}, {summary.duration:.1f} s"]
    if summary.distance is not None:
        said.append(f"way from place to place {shown(summary.distance, 'length', units.value)}")
    if summary.n_marks:
        said.append(f"pieces marked by the recorder: {summary.n_marks}")
    return said


def _channels(summary: LogSummary) -> Table:
    """The table of channels."""
    from rich.table import Table
    from rich.text import Text

    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    for name in ("quantity", "unit"):
        table.add_column(name)
    for name in ("samples", "a second", "lowest", "highest"):
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("from")
    for row in summary.channels:
        digits = _DIGITS.get(row.kind, 2)
        numbers = (str(row.n_samples), f"{row.rate:.3g}", f"{row.low:.{digits}f}", f"{row.high:.{digits}f}")
        table.add_row(row.kind.replace("_", " "), row.unit, *numbers, Text(row.source))
    return table


@log_app.command()
def convert(
    log: LogFile,
    target: Annotated[Path, typer.Argument(help="File to write: .csv or .gpx.")],
    *,
    mapping: MappingFile = None,
    columns: Columns = None,
    dbc: BusFile = None,
    force: Annotated[bool, typer.Option("--force", help="Replace a file that is there.")] = False,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Write what is usable as a table (CSV) or a track (GPX 1.1), and say what that format leaves out."""
    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.workflows import logs
    from conewise.workflows.named import log_source

    named = log_source(log, book_place(book))
    left_out = logs.convert_log(_read(named, mapping, columns, dbc), log, target, force=force)
    if as_json:
        render.print_json({"written": str(target), "left_out": list(left_out)})
        return
    typer.echo(f"Wrote {target}.")
    if left_out:
        typer.echo(f"A {target.suffix} file cannot hold: {', '.join(left_out)}.")


@log_app.command()
def day(  # noqa: PLR0913  # one argument an option of the command
    log: LogFile,
    *,
    course: CourseOption,
    car: CarName,
    cones: Annotated[
        list[str] | None, typer.Option(metavar="RUN:CONES", help="Cones that a run hit; repeatable.")
    ] = None,
    mapping: MappingFile = None,
    columns: Columns = None,
    dbc: BusFile = None,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """All runs of a recording: what was learned, how even they are, the best of every feature."""
    from conewise.cli import log_text, render
    from conewise.cli.options import book_place
    from conewise.reports.day_record import day_record
    from conewise.workflows import logs
    from conewise.workflows.day import answer_day, told_cones
    from conewise.workflows.named import log_source, source

    place = book_place(book)
    options = logs.LogOptions(mapping=mapping, columns=tuple(columns or ()), dbc=dbc)
    told = told_cones(cones or ())
    with render.progress(f"Reading {log.name}") as say:
        ask = asking(say) if sys.stdin.isatty() else None
        answer = answer_day(
            log_source(log, place),
            course=source(course, "course", place),
            car=source(car, "car-file", place),
            cones=told,
            options=options,
            ask=ask,
        )
    if as_json:
        render.print_json(day_record(answer))
    else:
        log_text.print_day(answer)


@log_app.command("course")
def course_(
    logs: Annotated[list[Path], typer.Argument(help="Recordings of one course, of one driver or several.")],
    *,
    to: Annotated[Path, typer.Option(help="Course file to write: .toml, .geojson or .csv.")],
    name: Annotated[str | None, typer.Option(help="Of the course; else that of the file.")] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace a file that is there.")] = False,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Make a course of what was driven: path, room that was used, and cones that stand for it."""
    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.workflows.day import course_of_logs
    from conewise.workflows.named import log_source

    place = book_place(book)
    with render.progress("Reading the recordings"):
        driven, left_out = course_of_logs([log_source(log, place) for log in logs], to, name=name, force=force)
    if as_json:
        render.print_json(
            {
                "written": str(to),
                "length_m": driven.path.length,
                "n_runs": len(driven.traces),
                "features": [{"id": f.id, "kind": f.kind.value} for f in driven.course.features],
                "left_out": left_out,
                "findings": [asdict(finding) for finding in driven.findings],
            }
        )
        return
    out = render.console()
    out.print(driven.summary, markup=False)
    render.print_findings(driven.findings, out)
    out.print("Its cones stand for the room that was driven, not for cones that were seen.", markup=False)
    typer.echo(f"Wrote {to}. Look at it: conewise course show {to}")
    if left_out:
        typer.echo(f"A {to.suffix} file cannot hold: {', '.join(left_out)}.")
