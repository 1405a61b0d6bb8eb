"""A day's recording on its course: every run placed, judged and laid along one path, ready to be measured."""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from conewise.course.reference import lay_out
from conewise.logs.align import laid_along
from conewise.logs.crossing import FRONT_REACH
from conewise.logs.placement import HALF_WIDTH, Placement, place_on_course, run_shift
from conewise.logs.run_finder import find_runs
from conewise.logs.sides import as_driven

if TYPE_CHECKING:
    from collections.abc import Mapping

    from conewise.course.geometry import CourseGeometry
    from conewise.logs.run_finder import FoundRun
    from conewise.logs.track import Track
    from conewise.runs import Trace

BEFORE, AFTER = 20.0, 10.0  # of a run that are kept with it [s]


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidRun:
    """One run where it belongs on its course.

    run: as it is judged after the shift
    shift: that was taken for the receiver's bias
    track: the recording from 20 s before to 10 s after, with that shift; `run.samples` are samples of it
    trace: along the path of the course; None where the run did not finish
    geometry: the course along the same path, its cones on the sides that the run took
    """

    run: FoundRun
    shift: Placement
    track: Track
    trace: Trace | None
    geometry: CourseGeometry


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidDay:
    """The runs of a recording on a course.

    placement: turn and shift of the whole recording; none for a recording in the plane of an anchored course
    """

    placement: Placement
    runs: tuple[LaidRun, ...] = field(default=())


def lay_day(
    track: Track,
    geometry: CourseGeometry,
    *,
    is_placed: bool,
    front_reach: float = FRONT_REACH,
    half_width: float = HALF_WIDTH,
    hit: Mapping[int, frozenset[str]] | None = None,
) -> LaidDay:
    """Find, place, judge and lay every run of a recording.

    Parameters
    ----------
    track : Track
    geometry : CourseGeometry
    is_placed : bool
        Whether the track lies in the plane of the course; otherwise it is placed there first.
    front_reach, half_width : float
        Of the car. [m]
    hit : Mapping of int to frozenset[str], optional
        Ids of the cones that each run hit, by its number.

    Returns
    -------
    LaidDay
        The traces lie along `geometry.path`, also where a run took other sides of an either-side feature.

    Raises
    ------
    NotPlacedError
        Where an unplaced recording has no drive of the shape of the course.
    """
    placement = Placement() if is_placed else place_on_course(track, geometry, front_reach=front_reach)
    track = track if is_placed else placement.moved(track)
    found = find_runs(track, geometry, front_reach=front_reach)
    answers = []
    for run in found:
        sides = geometry if run.choices == geometry.choices else lay_out(geometry.course, choices=run.choices)
        cones = (hit or {}).get(run.number, frozenset())
        shift = run_shift(track, run, sides, half_width=half_width, hit=cones)
        part, run_there = _about(track, run)
        shifted = shift.moved(part)
        judged = _same_run(run_there, find_runs(shifted, geometry, front_reach=front_reach))
        trace = None if judged.finish is None else laid_along(shifted, judged, geometry.path)
        driven = as_driven(geometry, judged.choices)
        answers.append(LaidRun(run=judged, shift=shift, track=shifted, trace=trace, geometry=driven))
    return LaidDay(placement=placement, runs=tuple(answers))


def _about(track: Track, run: FoundRun) -> tuple[Track, FoundRun]:
    """The part of a recording about a run, and the run in it."""
    time = track.time
    first = int(np.searchsorted(time, time[run.samples.start] - BEFORE))
    last = int(np.searchsorted(time, time[run.samples.stop - 1] + AFTER)) + 1
    part = slice(first, last)
    arrays = {name: value[part] for name, value in _arrays(track).items()}
    drawn = track.sample_positions
    return (
        replace(track, sample_positions=lambda generator, count: drawn(generator, count)[:, part], **arrays),
        replace(run, samples=slice(run.samples.start - first, run.samples.stop - first)),
    )


def _arrays(track: Track) -> dict[str, Any]:
    values = {field.name: getattr(track, field.name) for field in fields(track)}
    return {name: value for name, value in values.items() if isinstance(value, np.ndarray)}


def _same_run(run: FoundRun, again: tuple[FoundRun, ...]) -> FoundRun:
    """The run among those that were found after its shift; as it was where it is not among them."""
    nearest = min(again, key=lambda other: abs(other.start.time - run.start.time), default=run)
    same = nearest if abs(nearest.start.time - run.start.time) < BEFORE / 2.0 else run
    return replace(same, number=run.number, repeats=run.repeats)
