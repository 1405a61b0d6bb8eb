"""One run of a recording on its course, ready to be measured: read, fused, found, laid."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from conewise.course.earth import LocalPlane
from conewise.errors import ByFace, InfeasibleError, NotFoundError, telling
from conewise.findings import Sentence
from conewise.logs.causes import LEAST_RATE, MOST_DEVIATION
from conewise.logs.fusion import fuse
from conewise.logs.laid import LaidDay, lay_day
from conewise.logs.lost import REMEDY
from conewise.logs.measures import measures, recorded_pedals
from conewise.logs.no_try import why_no_try
from conewise.logs.placement import NotPlacedError, place_on_course
from conewise.logs.problem import NothingToFuseError
from conewise.logs.rough import rough_track
from conewise.logs.run_finder import find_runs
from conewise.workflows.logs import LogOptions, open_log

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from conewise.course.geometry import CourseGeometry
    from conewise.findings import Finding
    from conewise.logs.laid import LaidRun
    from conewise.logs.log import Log
    from conewise.logs.measures import Measures
    from conewise.logs.no_try import NoTry
    from conewise.logs.run_finder import FoundRun
    from conewise.logs.track import Track
    from conewise.runs import Body
    from conewise.workflows.logs import Question
    from conewise.workflows.named import LogSource


class NoRunError(InfeasibleError):
    """A recording without a finished run on the course."""

    code = "no-run"
    default_hint = ByFace(
        "Check that course and recording belong together; without a recording, its times give one thing to work on.",
        typed="Check that course and recording belong together; without a recording, say --time.",
    )

    def __init__(self, file: str, runs: Sequence[FoundRun] = (), *, why: NoTry | None = None) -> None:
        if runs:
            n_lost = sum(run.kind == "positions-lost" for run in runs)
            lost = f"; positions were lost in {n_lost} of them" if n_lost else ""
            one = "1 try" if len(runs) == 1 else f"{len(runs)} tries"
            none = "none of them complete" if any(run.finish for run in runs) else "none to the finish"
            words = f"The recording has {one} at the course, {none}{lost}."
            super().__init__(words, where=file, hint=REMEDY if n_lost == len(runs) else "")
        elif why is None:
            super().__init__("The recording has no try at the course.", where=file)
        else:
            words = Sentence(f"The recording has no try at the course: {why.words.words}.", *why.words.values)
            super().__init__(words, where=file, hint=why.hint)


class RunNumberError(NotFoundError):
    """A run that the recording does not have."""

    code = "run-number"

    def __init__(self, number: int, finished: tuple[int, ...], *, file: str) -> None:
        known = ", ".join(map(str, finished))
        super().__init__(
            f"There is no finished run {number}; finished are {known}.",
            where=file,
            hint="Say --run with one of them; without it the last finished run is taken.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """A recording on a course."""

    log: Log
    track: Track
    day: LaidDay
    why_none: NoTry | None = None  # where there is no try

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Of the log and its motion."""
        return (*self.log.findings, *self.track.findings)

    def no_run(self) -> NoRunError:
        """That no run was finished, with the reason and what was found in the log."""
        runs = [laid.run for laid in self.day.runs]
        error = NoRunError(self.log.file, runs, why=self.why_none)
        of_runs = [finding for run in runs for finding in run.findings]
        error.findings = (*self.findings, *of_runs)
        return error

    @property
    def finished(self) -> tuple[LaidRun, ...]:
        """Runs with a time."""
        return tuple(laid for laid in self.day.runs if laid.trace is not None)

    def run(self, number: int | None) -> LaidRun:
        """A finished run by its number; the last one where none is given.

        Raises
        ------
        NoRunError, RunNumberError
            Where there is none.
        """
        finished = self.finished
        if not finished:
            raise self.no_run()
        if number is None:
            return finished[-1]
        numbers = tuple(laid.run.number for laid in finished)
        if number not in numbers:
            raise RunNumberError(number, numbers, file=self.log.file)
        return finished[numbers.index(number)]


def fused(log: Log, geometry: CourseGeometry) -> Track:
    """The motion of a recording; in the plane of the course where both know where on earth they are."""
    return fuse(log, plane=_plane(geometry))


def seen_at_once(path: LogSource, geometry: CourseGeometry, body: Body) -> tuple[FoundRun, ...]:
    """The runs of a recording as its receiver alone tells them: within seconds for a whole day; none where it cannot.

    Raises
    ------
    ConewiseError
        If the file cannot be read.
    """
    is_anchored = geometry.course.site.anchor is not None
    try:
        track = rough_track(open_log(path, None), plane=_plane(geometry))
        is_there = is_anchored or track.plane is None
        found = find_runs(track, geometry, front_reach=body.front_reach) if is_there else ()
        if found or (is_anchored and track.plane is not None):
            return found
        placed = place_on_course(track, geometry, front_reach=body.front_reach).moved(track)
    except (NothingToFuseError, NotPlacedError):
        return ()
    return find_runs(placed, geometry, front_reach=body.front_reach)


def _plane(geometry: CourseGeometry) -> LocalPlane | None:
    """The plane of a course that knows where on earth it is."""
    site = geometry.course.site
    return None if site.anchor is None else LocalPlane(site.anchor, site.heading_to_north)


def recorded(
    path: LogSource,
    geometry: CourseGeometry,
    body: Body,
    *,
    options: LogOptions | None = None,
    ask: Callable[[Question], str] | None = None,
    hit: Mapping[int | None, frozenset[str]] | None = None,
) -> Recorded:
    """Read a recording and lay its runs along a course.

    Parameters
    ----------
    path : Path or BookLog
    geometry : CourseGeometry
    body : Body
        Of the car.
    options : LogOptions, optional
    ask : callable, optional
        As `open_log` takes them.
    hit : Mapping of int or None to frozenset[str], optional
        Ids of the cones that each run hit, by its number; None is the last finished one.

    Raises
    ------
    ConewiseError
        If the file cannot be read.
    NotPlacedError
        Where a recording that does not know its place on the course has no drive of its shape.

    Notes
    -----
    A recording in metres is taken to be in the plane of the course where it has a run there.
    """
    log = open_log(path, options, ask=ask)
    with telling(log.findings):
        track = fused(log, geometry)
    is_anchored = geometry.course.site.anchor is not None and "latitude" in log.channels
    is_placed = is_anchored or (
        "latitude" not in log.channels and bool(find_runs(track, geometry, front_reach=body.front_reach))
    )

    def laid(known: Mapping[int, frozenset[str]]) -> Recorded:
        with telling((*log.findings, *track.findings)):
            day = lay_day(
                track,
                geometry,
                is_placed=is_placed,
                front_reach=body.front_reach,
                half_width=body.width / 2.0,
                hit=known,
            )
        there = day.placement.moved(track)
        why = None if day.runs else why_no_try(there, geometry, front_reach=body.front_reach)
        return Recorded(log=log, track=track, day=day, why_none=why)

    cones = {number: ids for number, ids in (hit or {}).items() if number is not None}
    of_last = (hit or {}).get(None, frozenset())
    found = laid(cones)
    if of_last and found.finished:  # which run is the last is known now
        found = laid(cones | {found.run(None).run.number: of_last})
    return found


def lateral_deviation(laid: LaidRun) -> float:
    """How well the recording and its shift tell the lateral offset, a median over the run. [m]"""
    assert laid.trace is not None
    return float(np.median(laid.trace.lateral_offset_deviation))


def tells_line(day: Recorded, laid: LaidRun) -> bool:
    """Whether a recording carries a line: enough positions a second, well enough known across the course."""
    return day.track.position_rate >= LEAST_RATE and lateral_deviation(laid) <= MOST_DEVIATION


def measured(day: Recorded, laid: LaidRun, *, geometry: CourseGeometry, body: Body) -> Measures:
    """What a run did, by what its recording can tell.

    Distances to cones are those of the line: without it there are none, nor where positions were lost.
    """
    assert laid.trace is not None
    pedals = recorded_pedals(day.log, laid.run, laid.trace)
    done = measures(laid.trace, geometry, body, pedals=pedals)
    seen = done.cones if tells_line(day, laid) else ()
    return replace(done, cones=tuple(cone for cone in seen if cone.feature not in laid.run.guessed))
