"""`conewise course`: make, check, show and convert course files."""

from __future__ import annotations

import sys
from pathlib import Path  # noqa: TC003  # typer reads the annotations
from typing import TYPE_CHECKING, Annotated

import typer

from conewise.cli.options import BookFolder, CourseName, Paper, Shown

if TYPE_CHECKING:
    from rich.table import Table

    from conewise.quantities import System
    from conewise.workflows.courses import CourseSummary

course_app = typer.Typer(no_args_is_help=True, help="Make, check, show and convert course files.")

AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object instead of text.")]
Force = Annotated[bool, typer.Option("--force", help="Replace a file that is there.")]
UnitsShown = Annotated[Shown, typer.Option(help="Units shown; JSON is always SI.")]


@course_app.command()
def new(
    course: Annotated[Path, typer.Argument(help="Course file to write (.toml).")],
    *,
    force: Force = False,
    as_json: AsJson = False,
) -> None:
    """Answer eight questions and get a commented course file that can be solved at once.

    An empty answer, or "do not know", takes the typical value.
    """
    from conewise.cli import render
    from conewise.cli.asking import asked
    from conewise.course.questions import QUESTIONS, check_answer
    from conewise.workflows import courses

    courses.refuse_existing(course, force=force)
    summary = courses.new_course(asked(QUESTIONS, check_answer), course, force=force)
    if as_json:
        render.print_json(summary.as_dict())
    else:
        typer.echo(f"Wrote {course}. Change any line of it, then: conewise course check {course}")


@course_app.command()
def walk(
    course: Annotated[Path, typer.Argument(help="Course file to write (.toml).")],
    *,
    pace: Annotated[str, typer.Option(help='Length of your pace with its unit: "0.76 m".')] = "",
    name: Annotated[str, typer.Option(help="Name of the course; that of the file by default.")] = "",
    again: Annotated[bool, typer.Option("--again", help="A second walk of the course in this file.")] = False,
    force: Force = False,
    as_json: AsJson = False,
) -> None:
    """Type notes while you walk, one a line, and get the course; an empty line ends.

    A note that is not understood is said at once and asked for again. With --again the notes correct those of the file.
    """
    from conewise.cli import render
    from conewise.workflows import courses, walk_notes

    walk_notes.refuse_target(course, again=again, force=force)
    notes = _noted()
    if again:
        walk_notes.add_walk(course, notes, pace=pace)
    else:
        walk_notes.write_walk(course, notes, name=name, pace=pace, force=force)
    summary = courses.summary(course)
    if as_json:
        render.print_json(summary.as_dict())
        return
    for sentence in _sentences(summary, Shown.METRIC):
        typer.echo(sentence)
    typer.echo(f"Wrote {course}. Look at it: conewise course show {course} --svg plan.svg")


def _noted() -> list[str]:
    """Notes from the keyboard or a pipe, until an empty line; a person is asked again for what is not understood."""
    from conewise.errors import InputError, on_command_line
    from conewise.workflows.walk_notes import understood

    notes: list[str] = []
    while True:
        typer.echo(f"{len(notes) + 1}: ", nl=False, err=True)
        line = sys.stdin.readline().strip()
        if not line:
            return notes
        try:
            notes += [note.text for note in understood(line, number=len(notes) + 1)]
        except InputError as error:
            if not sys.stdin.isatty():
                raise
            typer.echo(f"{error.message} {on_command_line(error.hint)}", err=True)


@course_app.command()
def check(
    course: CourseName,
    *,
    car: Annotated[
        list[Path] | None,
        typer.Option(help="Car, file or of the book; say it for every fast, wide or tall car that is entered."),
    ] = None,
    rules: Annotated[
        str, typer.Option(help="club, student, a rule file, or rules of the book; else the course's own.")
    ] = "",
    units: UnitsShown = Shown.METRIC,
    note: Annotated[Path | None, typer.Option(help="Write the note for the safety official as PDF.")] = None,
    paper: Annotated[Paper, typer.Option(help="Paper of the note.")] = Paper.A4,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Is the course safe to run and within its rules? Leaves with exit code 10 when a finding says stop."""
    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.findings import in_short
    from conewise.workflows import courses
    from conewise.workflows.named import rules_source, source

    with render.progress("Checking the course"):
        if note is not None:
            courses.refuse_note(note)
        place = book_place(book)
        cars = [source(one, "car-file", place) for one in car or ()]
        named = source(course, "course", place)
        shown: System = "metric" if as_json and note is None else units.value
        checked = courses.check_course(named, rules=rules_source(rules, place), cars=cars, system=shown)
        if note is not None:
            courses.write_note(checked, note, cars=cars, paper=paper.value)
    if as_json:
        render.print_json(checked.as_dict())
    else:
        out = render.console()
        answer = in_short(checked.findings)
        out.print(f"{checked.course.name}, rules '{checked.rules}': {answer}.", markup=False)
        render.print_findings(checked.findings, out)
        out.print("Predicted speeds are estimates; the event's officials and rule book decide.", style="dim")
    if not checked.may_run:
        raise typer.Exit(10)


@course_app.command()
def show(
    course: CourseName,
    *,
    svg: Annotated[Path | None, typer.Option(help="Draw the plan into this SVG file.")] = None,
    units: UnitsShown = Shown.METRIC,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Features in driving order, in words, each with the place of its first cone or gate; the plan as SVG."""
    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.workflows import courses
    from conewise.workflows.named import source

    named = source(course, "course", book_place(book))
    if svg is not None:
        courses.draw_plan(named, svg, system=units.value)
    summary = courses.summary(named, system=units.value)
    if as_json:
        render.print_json(summary.as_dict())
        return
    out = render.console()
    for sentence in _sentences(summary, units):
        out.print(sentence, markup=False)
    out.print(_features(summary, units))


def _sentences(summary: CourseSummary, units: Shown) -> list[str]:
    """What is said above the table."""
    from conewise.quantities import show as shown

    said = [f"{summary.name}, rules '{summary.rules}'"]
    cones = f"{summary.n_standing} standing cones, pointers: {summary.n_pointers}"
    length = (
        "no path leads through it" if summary.length is None else f"{shown(summary.length, 'length', units.value)} long"
    )
    said.append(f"{length}, {len(summary.features)} features, {cones}")
    if summary.worst_position_sd > 0.0:
        worst = shown(summary.worst_position_sd, "length", units.value, digits=2)
        said.append(f"cones placed to within {worst} (one standard uncertainty, at worst)")
    if not summary.stop:
        said.append("no stop area is given")
    return said


def _features(summary: CourseSummary, units: Shown) -> Table:
    """The table of features."""
    from rich.table import Table
    from rich.text import Text

    from conewise.quantities import in_unit, shown_unit

    unit = shown_unit("length", units.value)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("#", justify="right")
    table.add_column("feature")
    table.add_column(f"at {unit}", justify="right")
    table.add_column("what it is")
    for row in summary.features:
        at = "" if row.at is None else f"{abs(in_unit(row.at, 'length', unit)):.0f}"
        table.add_row(str(row.number), Text(row.id), at, Text(row.words))
    return table


@course_app.command()
def convert(
    course: CourseName,
    target: Annotated[Path, typer.Argument(help="File to write: .toml, .csv or .geojson.")],
    *,
    force: Force = False,
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Write a course in another format, and say what that format leaves out."""
    from conewise.cli import render
    from conewise.cli.options import book_place
    from conewise.workflows import courses
    from conewise.workflows.named import source

    left_out = courses.convert_course(source(course, "course", book_place(book)), target, force=force)
    if as_json:
        render.print_json({"written": str(target), "left_out": left_out})
        return
    typer.echo(f"Wrote {target}.")
    if left_out:
        typer.echo(f"A {target.suffix} file cannot hold: {', '.join(left_out)}.")
