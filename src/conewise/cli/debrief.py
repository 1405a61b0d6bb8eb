"""`conewise debrief`: where a run lost its time, and the one thing to work on next."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path  # noqa: TC003  # typer reads the annotations
from typing import TYPE_CHECKING, Annotated

import typer

from conewise.cli.log import BusFile, Columns, MappingFile, asking
from conewise.cli.options import BookFolder, Paper, SheetFile, SheetPaper, Shown, book_place

if TYPE_CHECKING:
    from conewise.reports.run_told import RunTold
    from conewise.workflows.book_place import BookPlace
    from conewise.workflows.compared import SecondRun
    from conewise.workflows.debrief import DebriefQuestion
    from conewise.workflows.named import Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """How and where the answer goes; `keep` is the id of a run, "" for the one that has the time, None for nowhere."""

    units: Shown
    is_json: bool
    report: Path | None
    best: Path | None
    sheet: Path | None
    paper: Paper
    keep: str | None
    place: BookPlace


def debrief(  # noqa: PLR0913  # one argument an option of the command
    log: Annotated[
        Path | None, typer.Argument(help="Recording of the run or of the whole day; a file or one of the book.")
    ] = None,
    *,
    course: Annotated[
        Path | None, typer.Option(help="Course, a file or of the book; else that of the recording's event.")
    ] = None,
    car: Annotated[
        Path | None, typer.Option(help="Car, a file or of the book; else that of the recording's driver.")
    ] = None,
    run: Annotated[int | None, typer.Option(help="Number of the run in the recording; else the last finished.")] = None,
    against: Annotated[
        str | None, typer.Option(metavar="RUN|FILE[:RUN]", help="Compare with another recorded run; nothing is solved.")
    ] = None,
    time: Annotated[
        list[str] | None, typer.Option(metavar="SECONDS[+CONES]", help="Without a recording: a raw time; repeatable.")
    ] = None,
    hit: Annotated[list[str] | None, typer.Option(help="Id of a cone that the run hit; repeatable.")] = None,
    surface: Annotated[str | None, typer.Option(help="Factor on friction, or dry, damp, wet, where known.")] = None,
    limit: Annotated[
        list[Path] | None, typer.Option(help="Recording of a circle or stops at the limit, same tyres; repeatable.")
    ] = None,
    other: Annotated[
        list[Path] | None, typer.Option(help="Another recording of the day, same kind of tyre; repeatable.")
    ] = None,
    mapping: MappingFile = None,
    columns: Columns = None,
    dbc: BusFile = None,
    units: Annotated[Shown, typer.Option(help="Units shown; JSON is always SI.")] = Shown.METRIC,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead of text.")] = False,
    report: Annotated[Path | None, typer.Option(help="Write a self-contained HTML report.")] = None,
    best: Annotated[Path | None, typer.Option(help="Write the best line as .csv or .gpx.")] = None,
    workers: Annotated[int | None, typer.Option(help="Processes; every core where left out.")] = None,
    pdf: SheetFile = None,
    paper: SheetPaper = Paper.A4,
    keep: Annotated[
        bool, typer.Option("--keep", help="Keep with the run in the book what was found; for a recording of the book.")
    ] = False,
    keep_as: Annotated[str, typer.Option(metavar="RUN", help="The same, with the run of this id.")] = "",
    book: BookFolder = None,
) -> None:
    """Split the gap to the best possible run into line and speed, feature by feature, and name one thing to work on."""
    from conewise.workflows.compared import second_run
    from conewise.workflows.debrief import DebriefQuestion, refuse_question
    from conewise.workflows.debrief_book import car_of_log, course_of_log
    from conewise.workflows.debrief_files import refuse_debrief_files
    from conewise.workflows.logs import LogOptions
    from conewise.workflows.named import log_source, source

    typed = {
        "--run": run, "--against": against, "--hit": hit, "--surface": surface, "--limit": limit, "--other": other,
        "--mapping": mapping, "--map": columns, "--dbc": dbc, "--report": report, "--best": best, "--pdf": pdf,
        "--keep": keep or None, "--keep-as": keep_as or None, "--workers": workers,
    }  # fmt: skip
    given = {option for option, value in typed.items() if value is not None}
    refuse_question(log=log, times=time, workers=workers, given=given)
    refuse_debrief_files(report=report, best=best, pdf=pdf)
    place = book_place(book)
    named = None if log is None else log_source(log, place)
    of_course = course_of_log(place, named) if course is None else source(course, "course", place)
    of_car = car_of_log(place, named) if car is None else source(car, "car-file", place)
    wanted = Wanted(
        units=units, is_json=as_json, report=report, best=best, sheet=pdf, paper=paper, place=place,
        keep=keep_as or ("" if keep else None),
    )  # fmt: skip
    if named is None:
        _from_times(time or [], course=of_course, car=of_car, surface=surface, wanted=wanted)
        return
    question = DebriefQuestion(
        log=named,
        course=of_course,
        car=of_car,
        run=run,
        hit=frozenset(hit or ()),
        surface=surface,
        limits=tuple(log_source(one, place) for one in limit or ()),
        others=tuple(log_source(one, place) for one in other or ()),
        options=LogOptions(mapping=mapping, columns=tuple(columns or ()), dbc=dbc),
        workers=workers,
        system="metric" if as_json else units.value,
    )
    if against is not None:
        _compare(question, second_run(against, lambda word: log_source(word, place)), wanted)
        return
    _from_log(question, wanted)


def _compare(question: DebriefQuestion, against: SecondRun, wanted: Wanted) -> None:
    from conewise.cli import debrief_text, render
    from conewise.reports.comparison_record import comparison_record
    from conewise.reports.units import UNIT_SYSTEMS
    from conewise.workflows.compared import answer_comparison
    from conewise.workflows.debrief_files import write_debrief

    shown = UNIT_SYSTEMS[wanted.units.value]
    with render.progress("Reading the course and the car") as say:
        answer = answer_comparison(question, against, progress=say, ask=asking(say) if sys.stdin.isatty() else None)
        write_debrief(answer, shown, report=wanted.report)
    if wanted.is_json:
        render.print_json(comparison_record(answer))
    else:
        debrief_text.print_comparison(answer, shown)


def _from_times(times: list[str], *, course: Source, car: Source, surface: str | None, wanted: Wanted) -> None:
    from conewise.cli import debrief_text, render
    from conewise.reports.debrief_record import times_record
    from conewise.workflows.debrief_times import answer_times

    with render.progress("Reading the course and the car") as say:
        answer = answer_times(times, course=course, car=car, surface=surface, progress=say)
    if wanted.is_json:
        render.print_json(times_record(answer))
    else:
        debrief_text.print_times(answer)


def _from_log(question: DebriefQuestion, wanted: Wanted) -> None:
    from conewise.cli import debrief_text, render
    from conewise.reports.debrief_record import debrief_record
    from conewise.reports.units import UNIT_SYSTEMS
    from conewise.workflows.debrief import answer_debrief
    from conewise.workflows.debrief_book import keep_debrief, refuse_unkeepable, with_written_time
    from conewise.workflows.debrief_files import write_debrief

    shown = UNIT_SYSTEMS[wanted.units.value]
    if wanted.keep is not None:
        refuse_unkeepable(wanted.place, question.log, run_id=wanted.keep)
    with render.progress("Reading the course and the car") as say:

        def first(told: RunTold) -> None:
            with say.paused():
                debrief_text.print_told(told, shown)

        answer = answer_debrief(
            question,
            progress=say,
            first=None if wanted.is_json else first,
            ask=asking(say) if sys.stdin.isatty() else None,
        )
        answer = with_written_time(wanted.place, answer, log=question.log, run_id=wanted.keep or "")
        write_debrief(answer, shown, report=wanted.report, best=wanted.best, pdf=wanted.sheet, paper=wanted.paper.value)
    kept = None
    if wanted.keep is not None:
        kept = keep_debrief(wanted.place, answer, log=question.log, run_id=wanted.keep)
    if wanted.is_json:
        record = debrief_record(answer)
        render.print_json(record if kept is None else record | {"kept": {"run": kept.run.id, "version": kept.version}})
        return
    debrief_text.print_debrief(answer)
    if kept is not None:
        typer.echo(f"Kept with run {kept.run.order} of {kept.run.person}, {kept.run.event} ({kept.run.id}).")
