"""`conewise book`: what is in the book, whole copies of it, and whether all of it can be read."""

from __future__ import annotations

import sys
from pathlib import Path  # noqa: TC003  # typer reads the annotations
from typing import TYPE_CHECKING, Annotated

import typer

from conewise.cli.options import AsJson, BookFolder, book_place, clock

if TYPE_CHECKING:
    from collections.abc import Sequence

CleanPhotos = Annotated[
    bool, typer.Option("--clean-photos", help="Take place, device and moment out of photos, where the book is whole.")
]

book_app = typer.Typer(no_args_is_help=True, help="What is remembered: look, back up, hand over, check.")


@book_app.command()
def show(*, book: BookFolder = None, as_json: AsJson = False) -> None:
    """Where the book is, and how much of what is in it."""
    from conewise.cli import render
    from conewise.workflows import book as books

    summary = books.summary_of(book, now=clock)
    if as_json:
        render.print_json({"ok": True, **summary.as_dict()})
        return
    typer.echo(f"The book in {summary.folder}")
    for kind, number in summary.counts.items():
        if number:
            typer.echo(f"{number:>7}  {kind}")
    for what, names in summary.names.items():
        if names:
            typer.echo(f"{what}: {', '.join(names)}")
    if not any(summary.counts.values()):
        typer.echo("Nothing is in it yet.")


@book_app.command()
def backup(
    target: Annotated[Path, typer.Argument(help="File to write, such as book-2026-05-01.zip.")],
    *,
    book: BookFolder = None,
    force: Annotated[bool, typer.Option("--force", help="Replace a file that is there.")] = False,
    as_json: AsJson = False,
) -> None:
    """Write the whole book to one file, for safety or to hand it over to another laptop."""
    from conewise.cli import render
    from conewise.workflows import book as books

    done = books.back_up(book, target, now=clock, force=force)
    if as_json:
        render.print_json({"ok": True, "written": str(target), "files": done.n_files, "bytes": done.n_bytes})
        return
    typer.echo(f"Wrote {target} and read it back: the database and {done.n_files} files.")
    typer.echo("It has everything, private details too: keep it as you keep the book, on another disk.")


@book_app.command()
def restore(
    source: Annotated[Path, typer.Argument(help="A backup.")],
    *,
    book: BookFolder = None,
    force: Annotated[bool, typer.Option("--force", help="Take the place of a book that is there; it is kept.")] = False,
    as_json: AsJson = False,
) -> None:
    """Make a backup the book. It is read whole and checked first; a book that is there stays unless you say --force."""
    from conewise.cli import render
    from conewise.workflows import book as books

    done, folder = books.restore(book, source, now=clock, force=force)
    if as_json:
        aside = None if done.aside is None else str(done.aside)
        render.print_json({"ok": True, "book": str(folder), "made_at": done.made_at, "kept_aside": aside})
        return
    typer.echo(f"The book in {folder} is the one that was backed up on {done.made_at}.")
    if done.aside is not None:
        typer.echo(f"The book that was there is kept in {done.aside}.")


@book_app.command()
def export(
    folder: Annotated[Path, typer.Argument(help="Folder to write; it must not be there yet.")],
    *,
    book: BookFolder = None,
    with_private: Annotated[
        bool, typer.Option("--with-private", help="Medical and contact details too; they stay here otherwise.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Write everything as TOML, CSV, GeoJSON and Parquet, and every recording and photo as it came."""
    from conewise.cli import render
    from conewise.workflows import book as books

    done = books.export_book(book, folder, now=clock, with_private=with_private)
    if as_json:
        record = {"written": str(folder), "counts": done.counts, "files": done.n_files, "private": done.has_private}
        render.print_json({"ok": True, **record})
        return
    typer.echo(f"Wrote {folder}: {sum(done.counts.values())} records with all their versions, {done.n_files} files.")
    private = (
        "Private details are in it." if done.has_private else "Private details are left out; --with-private adds them."
    )
    typer.echo(private)


@book_app.command()
def add(  # noqa: PLR0913  # one argument an option of the command
    files: Annotated[
        list[Path],
        typer.Argument(
            help="Courses, cars, drivers, changes, parts, rules, recordings, events: known by what is in them."
        ),
    ],
    *,
    name: Annotated[
        str, typer.Option("--as", help="Name to keep the one file under; that of the file otherwise.")
    ] = "",
    event: Annotated[str, typer.Option(help="Of a recording: id of the event in the book.")] = "",
    driver: Annotated[str, typer.Option(help="Of a recording: id of the driver.")] = "",
    car: Annotated[str, typer.Option(help="Of a recording: id of the car.")] = "",
    runs: Annotated[Path | None, typer.Option(help="Of an event: its table of runs; beside it by default.")] = None,
    columns: Annotated[
        list[str] | None, typer.Option("--map", metavar="COLUMN=QUANTITY[:UNIT]", help="Of a recording; repeatable.")
    ] = None,
    reason: Annotated[str, typer.Option(help="Why, for the history.")] = "",
    book: BookFolder = None,
    as_json: AsJson = False,
) -> None:
    """Keep files in the book; every command then takes their names. A file that has changed becomes a new version."""
    from conewise.cli import render
    from conewise.cli.log import asking
    from conewise.workflows.book_add import Said, Whose, add_files
    from conewise.workflows.logs import LogOptions

    with render.progress("Reading") as say:
        done = add_files(
            book_place(book),
            files,
            Said(
                name=name,
                whose=Whose(event=event, person=driver, car=car),
                runs=runs,
                options=LogOptions(columns=tuple(columns or ())),
                reason=reason,
            ),
            ask=asking(say) if sys.stdin.isatty() else None,
        )
    if as_json:
        render.print_json({"ok": True, **done.as_dict()})
        return
    _say_places(done.added, done.changed, done.n_same)


@book_app.command(name="import")
def import_(
    folder: Annotated[Path, typer.Argument(help="Folder that `conewise book export` wrote.")],
    *,
    book: BookFolder = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Where the book says something else, take this as new.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Take an exported book with its history into the book, all of it or nothing."""
    from conewise.cli import render
    from conewise.workflows import book as books

    done = books.import_into(book, folder, now=clock, replace=replace)
    if as_json:
        record = {"added": list(done.added), "changed": list(done.changed), "same": done.same}
        render.print_json({"ok": True, **record})
        return
    _say_places(done.added, done.changed, done.same)


def _say_places(added: Sequence[str], changed: Sequence[str], n_same: int) -> None:
    typer.echo(f"New: {len(added)}, changed: {len(changed)}, as they were: {n_same}.")
    for place in [*added, *changed][:20]:
        typer.echo(f"  {place}")


@book_app.command()
def check(*, book: BookFolder = None, clean: CleanPhotos = False, as_json: AsJson = False) -> None:
    """Read everything: every page, version and file. Exit code 10 where something cannot be read any more."""
    from conewise.cli import render
    from conewise.workflows import book as books

    checked = books.check(book, now=clock, clean=clean)
    if as_json:
        render.print_json(checked.as_dict())
    else:
        out = render.console()
        render.print_findings(checked.findings, out)
        if checked.n_cleaned is not None:
            out.print(f"Photos out of which place, device and moment were taken: {checked.n_cleaned}.", markup=False)
        answer = "Everything that was kept can be read." if checked.is_whole else "Something that was kept is lost."
        out.print(f"The book in {checked.folder}: {answer}", markup=False, soft_wrap=True)
    if not checked.is_whole:
        raise typer.Exit(10)
