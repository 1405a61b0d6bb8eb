"""The lines that a recording allows: the one taken for the driver's, and drawn ones that tell how sure it is."""

from __future__ import annotations

import time as clock
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from conewise.logs.crossing import KNOWN_FRONT
from conewise.logs.driven_line import border_shift, drawn_paths, left_and_ahead, line_knowledge, recorded_error
from conewise.runs import feature_results
from conewise.solver.min_time import guess_limits
from conewise.solver.on_line import feature_times, run_beside
from conewise.solver.problem import SolverStoppedError
from conewise.solver.speed_profile import speed_profile

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from conewise.course.geometry import CourseGeometry
    from conewise.logs.driven_line import Draws, LineKnowledge
    from conewise.runs import Trace
    from conewise.solver.min_time import Run
    from conewise.solver.speed_profile import SpeedLimits
    from conewise.workflows.debrief_runs import FreeRun

Array = NDArray[np.float64]

FEWEST_PATHS = 5  # solved, whatever the time
MIDDLE_OF = 64  # drawn lines whose mean is the driver's line
FRICTION_STEP = 0.02  # relative, to either side
BEND_OVER = 1.0  # over which the bend of a line is taken, one standard deviation [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class AllowedLines:
    """Lines on the stations of the driven run, and how far ahead of the recording the car may be there.

    line: the mean of all that are allowed: the driver's line, shape (n_stations,) [m]
    drawn, along: independent of each other, shape (n_lines, n_stations) each [m]
    """

    line: Array
    drawn: Array
    along: Array


def allowed_lines(free: FreeRun, rng: np.random.Generator, count: int, *, hit: frozenset[str]) -> AllowedLines:
    """The lines that a recording allows.

    Parameters
    ----------
    free : FreeRun
    rng : Generator
    count : int
        How many are drawn.
    hit : frozenset[str]
        Ids of the cones that the run hit.
    """
    trace = free.driven
    draws = drawn_paths(free.laid, rng, count)
    known = knowledge(free, draws, hit)
    drawn, shift = known.drawn(trace.lateral_offset, rng, max(2 * count, MIDDLE_OF))
    _, ahead = left_and_ahead(free.geometry.path, trace.station)
    others = shift[count : 2 * count]  # where the recording is shifted ahead, the car is behind it
    return AllowedLines(line=drawn.mean(axis=0), drawn=drawn[:count], along=draws.along - others @ ahead.T)


def knowledge(free: FreeRun, draws: Draws, hit: frozenset[str]) -> LineKnowledge:
    """What is known of the driver's line beside its offsets.

    Notes
    -----
    A recording does not tell where the body points beside where it goes. In the best run the sideslip is about a
    multiple of the line's curvature plus one of the lateral acceleration; both multiples are taken from there.
    """
    trace = free.driven
    return line_knowledge(
        trace,
        free.geometry,
        free.body,
        error=recorded_error(free.laid, draws, best_offset(free)),
        body_angle=-_sideslip(free, trace),
        hit=hit,
    )


def best_offset(free: FreeRun) -> Array:
    """Lateral offset of the best run at the stations of the driven run. [m]"""
    run = free.run
    return np.interp(free.driven.station, run.problem.mesh.station, run.point.variables["lateral_offset"])


def _sideslip(free: FreeRun, trace: Trace) -> Array:
    best = free.solution(free.run)
    assert best.sideslip is not None
    course = np.unwrap(best.heading + best.sideslip)
    rows = np.column_stack([_bend(best.x, best.y, course), best.ay])
    shares, *_ = np.linalg.lstsq(rows, best.sideslip, rcond=None)
    return np.asarray(np.column_stack([_bend(trace.x, trace.y, trace.heading), trace.lateral_acceleration]) @ shares)


def _bend(x: Array, y: Array, heading: Array) -> Array:
    """Curvature of a line. [1/m]"""
    along = np.concatenate([[0.0], np.cumsum(np.maximum(np.hypot(np.diff(x), np.diff(y)), 1e-3))])
    return np.gradient(heading, along)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """What drawn lines say: shape (n_paths, n_features) each. [s]

    on_line: time of the best run on each
    later: how much later than told the features begin to end; added to the measured times
    by_friction: shape (2, n_features), change of the time on the driver's line and on the best one for a relative
        change of the friction
    """

    on_line: Array
    later: Array
    by_friction: Array


def spread_of(
    free: FreeRun,
    allowed: AllowedLines,
    *,
    until: float,
    rng: np.random.Generator,
    line: Run | None = None,
    timed: Callable[[Array], Array] | None = None,
) -> Spread:
    """Solve the lines that the recording allows, as many as there is time for.

    Parameters
    ----------
    free : FreeRun
    allowed : AllowedLines
    until : float
        No new line is begun after this time of `time.monotonic`, once there are five. [s]
    rng : Generator
    line : Run, optional
        On the driver's line; every other one is solved from it.
    timed : callable, optional
        Feature times on a line, in place of a solve.
    """
    trace = free.driven
    if timed is None:
        assert line is not None
        solved = _solved_lines(line, [free.at_nodes(drawn) for drawn in allowed.drawn], until=until)
    else:
        solved = [timed(drawn) for drawn in allowed.drawn]
    shift = border_shift(allowed.along[: len(solved)], trace)
    ends = np.array([[s.start, s.end] for s in free.geometry.spans])
    at = np.stack([[np.interp(ends[:, k], trace.front_station, row) for k in (0, 1)] for row in shift])
    later = at[:, 1] - at[:, 0]
    later[:, 0] -= free.laid.run.start.deviation * rng.standard_normal(len(later))
    later[:, -1] += KNOWN_FRONT / max(float(trace.speed[-1]), 1.0) * rng.standard_normal(len(later))
    usable = np.array([times is not None for times in solved])
    return Spread(
        on_line=np.array([times for times in solved if times is not None]),
        later=later[usable],
        by_friction=np.array([by_friction(free, line) for line in (allowed.line, best_offset(free))]),
    )


def by_friction(free: FreeRun, line: Array) -> Array:
    """Change of the feature times on a line for a relative change of the friction, shape (n_features,). [s]

    Notes
    -----
    From the quasi-steady speeds on the line: a derivative of a time by friction does not need the transient run.
    """
    p = free.run.problem.p
    limits = [
        guess_limits(replace(p, surface=p.surface * (1.0 + change))) for change in (FRICTION_STEP, -FRICTION_STEP)
    ]
    more, less = (quasi_steady_times(free.geometry, free.driven, line=line, limits=limit) for limit in limits)
    return (more - less) / (2.0 * FRICTION_STEP)


def quasi_steady_times(geometry: CourseGeometry, trace: Trace, *, line: Array, limits: SpeedLimits) -> Array:
    """Feature times at the limit on a line, without a solve, shape (n_features,). [s]

    Parameters
    ----------
    geometry : CourseGeometry
    trace : Trace
        Gives the stations of the line and the reach to the front of the car.
    line : Array, shape (n_stations,)
        Lateral offsets. [m]
    limits : SpeedLimits
    """
    points = geometry.path.at(trace.station)
    x, y = points.x - line * np.sin(points.heading), points.y + line * np.cos(points.heading)
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
    heading = np.unwrap(np.arctan2(np.gradient(y, arc), np.gradient(x, arc)))
    bend = gaussian_filter1d(np.gradient(heading, arc), BEND_OVER / float(np.median(np.diff(arc))), mode="nearest")
    profile = speed_profile(arc, bend, limits, start_speed=max(float(trace.speed[0]), 1.0))
    rows = feature_results(geometry, station=trace.front_station, elapsed=profile.elapsed, speed=profile.speed)
    return np.array([row.time for row in rows])


def _solved_lines(line: Run, lines: Sequence[Array], *, until: float) -> list[Array | None]:
    answers: list[Array | None] = []
    for offset in lines:
        if clock.monotonic() > until and len(answers) >= FEWEST_PATHS:
            break
        try:
            answers.append(feature_times(run_beside(line, offset)))
        except SolverStoppedError:  # the car cannot follow this one
            answers.append(None)
    return answers
