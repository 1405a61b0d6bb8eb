"""What does a whole recording say: every try, what was learned, the best of every feature; and a course of it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from conewise.course.files import write_course
from conewise.course.reference import lay_out
from conewise.errors import InputError, telling
from conewise.logs.compare import best_features
from conewise.logs.course_from_runs import course_from_runs
from conewise.logs.fusion import fuse
from conewise.logs.seasons import day_of_runs, stretch_kind
from conewise.reports.day_answer import DayAnswer, FeatureOfDay
from conewise.reports.run_told import TriedRun
from conewise.runs import feature_results
from conewise.workflows.logs import open_log
from conewise.workflows.named import car_from, course_from
from conewise.workflows.recorded import recorded

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from conewise.findings import Finding
    from conewise.logs.course_from_runs import DrivenCourse
    from conewise.logs.track import Track
    from conewise.workflows.logs import LogOptions, Question
    from conewise.workflows.named import LogSource, Source


class ConesOfRunError(InputError):
    """Cones of a run that cannot be read, or of a run that is not there."""

    code = "cones-of-run"
    default_hint = "Say the run and its cones: --cones 3:1 for one cone in run 3."

    def __init__(self, told: str, what: str) -> None:
        super().__init__(f"'{told}' tells no cones: {what}.", where="--cones")


def told_cones(told: Sequence[str]) -> dict[int, int]:
    """Cones by run from "RUN:CONES".

    Raises
    ------
    ConesOfRunError
        Where one of them cannot be read.
    """
    cones = {}
    for one in told:
        run, _, count = one.partition(":")
        if not (run.strip().isdigit() and count.strip().isdigit()):
            raise ConesOfRunError(one, "there is no run and count")
        cones[int(run)] = int(count)
    return cones


def answer_day(
    log: LogSource,
    *,
    course: Source,
    car: Source,
    cones: Mapping[int, int],
    options: LogOptions | None = None,
    ask: Callable[[Question], str] | None = None,
) -> DayAnswer:
    """Every try of a recording on its course.

    Parameters
    ----------
    log, course, car : Path, BookLog or BookText
    cones : Mapping of int to int
        Cones that each run hit, by its number; none where not told.
    options : LogOptions, optional
    ask : callable, optional
        As `open_log` takes them.

    Raises
    ------
    ConewiseError
        If a file cannot be used, or no run was finished.
    ConesOfRunError
        Where cones are told of a run that was not finished.
    """
    from conewise.solver.line_results import body_of
    from conewise.workflows import predict

    geometry, owned = lay_out(course_from(course)), car_from(car)
    there = recorded(log, geometry, body_of(predict.parameters(geometry, owned)), options=options, ask=ask)
    runs = [laid for laid in there.finished if laid.run.kind == "complete"]
    if not runs:
        raise there.no_run()
    numbers = tuple(laid.run.number for laid in runs)
    for number in cones:
        if number not in numbers:
            raise ConesOfRunError(f"{number}:{cones[number]}", f"finished are {', '.join(map(str, numbers))}")
    traces = [laid.trace for laid in runs if laid.trace is not None]
    table = [feature_results(geometry, station=t.front_station, elapsed=t.time, speed=t.speed) for t in traces]
    hit = tuple(cones.get(number, 0) for number in numbers)
    return DayAnswer(
        file=there.log.file,
        course=geometry.course.name,
        car=owned.name,
        tries=tuple(
            TriedRun(number=r.run.number, kind=r.run.kind, time=r.run.time, furthest=r.run.furthest)
            for r in there.day.runs
        ),
        numbers=numbers,
        cones=hit,
        day=day_of_runs(numbers, [trace.run_time for trace in traces], hit),
        features=tuple(
            FeatureOfDay(id=span.id, kind=stretch_kind(span, geometry), times=tuple(row[k].time for row in table))
            for k, span in enumerate(geometry.spans)
        ),
        best=best_features(traces, geometry),
        findings=(*there.log.findings, *there.track.findings),
    )


def course_of_logs(
    logs: Sequence[LogSource], target: Path, *, name: str | None = None, force: bool = False
) -> tuple[DrivenCourse, list[str]]:
    """A course from what one or more recordings drove, written to a file.

    Parameters
    ----------
    logs : sequence of Path or BookLog
        Of the same course; recordings with latitudes are laid in one plane.
    target : Path
        Course file to write.
    name : str, optional
        Of the course; else that of the file.
    force : bool, default False
        Whether a file that is there may be replaced.

    Returns
    -------
    tuple of DrivenCourse, list of str
        And what the format of the file leaves out.

    Raises
    ------
    ConewiseError
        If a recording cannot be read or has no run, or the file is there.
    """
    tracks: list[Track] = []
    found: list[Finding] = []
    for path in logs:
        log = open_log(path)
        found += log.findings
        with telling(found):
            tracks.append(fuse(log, plane=tracks[0].plane if tracks else None))
        found += tracks[-1].findings
    with telling(found):
        driven = course_from_runs(tracks, name=name or target.stem)
    plane = tracks[0].plane
    if plane is not None:  # later recordings then lie on it by themselves
        site = driven.course.site.changed(anchor=plane.anchor, heading_to_north=plane.heading_to_north)
        driven = replace(driven, course=driven.course.changed(site=site))
    return driven, write_course(driven.course, target, force=force)
