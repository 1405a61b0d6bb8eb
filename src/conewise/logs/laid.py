"""A day's recording on its course: every run placed, judged and laid along one path, ready to be measured."""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from conewise.course.reference import lay_out
from conewise.logs.align import laid_along
from conewise.logs.crossing import FRONT_DEVIATION, FRONT_REACH, KNOWN_FRONT
from conewise.logs.placement import HALF_WIDTH, Placement, place_on_course, run_shift
from conewise.logs.run_finder import find_runs
from conewise.logs.sides import as_driven
from conewise.logs.within_run import WithinRun

if TYPE_CHECKING:
    from collections.abc import Mapping

    from conewise.course.geometry import CourseGeometry
    from conewise.logs.run_finder import FoundRun
    from conewise.logs.track import Track
    from conewise.runs import Trace

Array = NDArray[np.float64]

BEFORE, AFTER = 20.0, 10.0  # of a run that are kept with it [s]
N_DRAWN = 12  # paths that tell how much of a position's error changes within a run
SEED = 7  # of these paths: the same recording gives the same answer


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidRun:
    """One run where it belongs on its course.

    run: as it is judged after the shift
    shift: that was taken for the receiver's bias
    receiver_deviation: of each component of the position before that shift, over the run [m]
    track: the recording from 20 s before to 10 s after, with that shift; `run.samples` are samples of it. Its position
        covariance is that of what is left: the shift's, and at each sample what changes within the run
    trace: along the path of the course; None where the run did not finish
    geometry: the course along the same path, its cones on the sides that the run took
    """

    run: FoundRun
    shift: Placement
    receiver_deviation: tuple[float, float]
    track: Track
    trace: Trace | None
    geometry: CourseGeometry

    def along(self, geometry: CourseGeometry) -> LaidRun:
        """A finished run along the path of another geometry of the same course."""
        assert self.trace is not None
        trace = _trace(self.track, self.run, geometry, shift=self.shift, memory=self.trace.memory)
        return replace(self, geometry=geometry, trace=trace)


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
    doubt = FRONT_DEVIATION if front_reach == FRONT_REACH else KNOWN_FRONT
    found = find_runs(track, geometry, front_reach=front_reach, front_deviation=doubt)
    answers = []
    drawn = track.sample_positions(np.random.default_rng(SEED), N_DRAWN) if found else np.zeros((0, 0, 2))
    for run in found:
        sides = geometry if run.choices == geometry.choices else lay_out(geometry.course, choices=run.choices)
        cones = (hit or {}).get(run.number, frozenset())
        shift = run_shift(track, run, sides, half_width=half_width, hit=cones)
        part, run_there = _about(track, run)
        within = WithinRun.of(track, run.samples, drawn)
        shifted = within.surer(shift.moved(part), shift)
        judged = _same_run(run_there, find_runs(shifted, geometry, front_reach=front_reach, front_deviation=doubt))
        has_time = judged.finish is not None
        trace = _trace(shifted, judged, geometry, shift=shift, memory=within.memory) if has_time else None
        driven = as_driven(geometry, judged.choices)
        answers.append(
            LaidRun(
                run=judged,
                shift=shift,
                receiver_deviation=_receiver_deviation(track, run.samples, placement),
                track=shifted,
                trace=trace,
                geometry=driven,
            )
        )
    return LaidDay(placement=placement, runs=tuple(answers))


def _trace(track: Track, run: FoundRun, geometry: CourseGeometry, *, shift: Placement, memory: float) -> Trace:
    """A finished run along a path, with what is known of its errors."""
    return replace(laid_along(track, run, geometry.path), shift_covariance=shift.shift_covariance, memory=memory)


def _receiver_deviation(track: Track, samples: slice, placement: Placement) -> tuple[float, float]:
    """Of each component of the position over a run, with what the placement of the recording leaves. [m]"""
    told = np.mean(track.position_covariance[samples], axis=0) + np.array(placement.shift_covariance)
    return float(np.sqrt(told[0, 0])), float(np.sqrt(told[1, 1]))


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
