"""The line that a driver most probably drove: one drivable path, from a recording, the cones left standing, and habit.

The recording tells the lateral offset with an error that changes slowly; a car steers only so fast; and where a cone
was not hit, the body was beside its base. The first two make a normal distribution of lines, the third cuts it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve, cholesky, solve_triangular
from scipy.optimize import nnls

from conewise.logs.crossing import STAGING_DEVIATION
from conewise.logs.truncated import draw_truncated
from conewise.logs.within_run import half_memory
from conewise.runs import half_at

if TYPE_CHECKING:
    from collections.abc import Set as AbstractSet

    from conewise.course.geometry import CourseGeometry, ReferencePath
    from conewise.logs.laid import LaidRun
    from conewise.runs import Body, Trace

Array = NDArray[np.float64]

STEER_CHANGE = 5.1e-3  # of curvature along a line, root mean square [1/m2]; docs/models/debrief.md
STEER_MEMORY = 4.0  # over which it forgets [m]; docs/models/debrief.md
STEER_JERK = 0.01  # share of it that is independent from station to station; keeps the sums well conditioned
RIPPLE = 1e-3  # of a smoothed position, which no car drives [m]; docs/models/debrief.md
CONE_DOUBT = 0.02  # of how near a body can have been to a cone that stands [m]
SQUARE = (
    0.05,
    0.02,
)  # a staged car stands along the path: deviations of direction [rad], curvature [1/m]; common practice
LEAST_WANDER, LEAST_SHIFT = 1e-3, 1e-3  # errors of a recording that are told apart from none [m]
SHORTEST_MEMORY, LONGEST_MEMORY = 3.0, 200.0  # of the error along the path [m]
LEAST_HABIT, LONGEST_HABIT = 0.1, 40.0  # how far and how long a driver is beside the best line [m]; common practice
HABIT_ROUNDS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Draws:
    """What a recording leaves open within a run: drawn paths less the path told, shape (n_paths, n_stations). [m]

    Each path's mean over the run is taken off: how far the whole run is shifted is known from course and cones.

    lateral: to the left of the path of the course
    along: ahead, at the time at which the recording has the car at the station
    """

    lateral: Array
    along: Array

    @property
    def deviation(self) -> float:
        """Of the lateral offset, over all stations. [m]"""
        return float(np.sqrt(np.mean(self.lateral**2)))

    def memory(self, step: float) -> float:
        """Distance over which the lateral error forgets: where its correlation has fallen to a half. [m]"""
        return float(np.clip(half_memory(self.lateral, step), SHORTEST_MEMORY, LONGEST_MEMORY))


def drawn_paths(laid: LaidRun, rng: np.random.Generator, count: int) -> Draws:
    """Paths drawn from what the recording leaves open within a run.

    Parameters
    ----------
    laid : LaidRun
        Finished, with its trace.
    rng : Generator
    count : int
    """
    trace, track = laid.trace, laid.track
    assert trace is not None
    then = laid.run.start.time + trace.time
    sampled = track.sample_positions(rng, count)
    off = np.stack([sampled[:, :, 0] - track.x, sampled[:, :, 1] - track.y], axis=2)
    off = off - off[:, laid.run.samples].mean(axis=1)[:, None, :]
    at = np.stack([[np.interp(then, track.time, path[:, k]) for k in (0, 1)] for path in off])
    left, ahead = left_and_ahead(laid.geometry.path, trace.station)
    return Draws(
        lateral=np.einsum("pkn,nk->pn", at, left),
        along=np.einsum("pkn,nk->pn", at, ahead),
    )


def left_and_ahead(path: ReferencePath, station: Array) -> tuple[Array, Array]:
    """Unit vectors to the left of a path and along it, shape (n_stations, 2) each."""
    heading = path.at(station).heading
    cos, sin = np.cos(heading), np.sin(heading)
    return np.column_stack([-sin, cos]), np.column_stack([cos, sin])


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedError:
    """How far a recording is off on a run.

    deviation, memory: of the lateral offset within the run, and over what distance it forgets [m]
    shift, shift_covariance: of the whole run, east and north, before the cones are asked [m], [m2]
    """

    deviation: float
    memory: float
    shift: Array
    shift_covariance: Array


def recorded_error(laid: LaidRun, draws: Draws, best: Array) -> RecordedError:
    """How far a recording is off on a run, as far as the recording, the best line and the staging tell it.

    Parameters
    ----------
    laid : LaidRun
    draws : Draws
    best : Array, shape (n_stations,)
        Lateral offset of the best run at the stations of the trace. [m]

    Notes
    -----
    The shift that the run was given came from path and cones. Here the cones are left out, since the line will be
    held against them. A driver keeps to one side of the best line for a while and then to the other: how far and for
    how long is taken from this run itself. Where the car stood before the start is one reading more of the shift.
    """
    trace, start = laid.trace, laid.run.start
    assert trace is not None
    step = float(np.median(np.diff(trace.station)))
    given = np.array([laid.shift.east, laid.shift.north])
    precision = np.diag(1.0 / np.maximum(np.array(laid.receiver_deviation), LEAST_SHIFT) ** 2)
    pull = precision @ given
    left, ahead = left_and_ahead(laid.geometry.path, trace.station)
    if 0.0 < abs(start.ahead) < 3.0 * start.ahead_deviation:
        told = np.hypot(STAGING_DEVIATION, draws.deviation) ** 2
        precision = precision + np.outer(ahead[0], ahead[0]) / told
        pull = pull + ahead[0] * start.ahead / told
    shift: Array = np.zeros(2)
    covariance: Array = np.linalg.inv(precision)
    for _ in range(HABIT_ROUNDS):
        beside = trace.lateral_offset - best - left @ shift
        deviation = max(float(np.sqrt(np.mean(beside**2))), LEAST_HABIT)
        memory = float(np.clip(half_memory(beside[None, :], step), SHORTEST_MEMORY, LONGEST_HABIT))
        habit = deviation**2 * _matern(trace.station, memory) + LEAST_WANDER**2 * np.eye(trace.station.size)
        weighed = cho_solve(cho_factor(habit), left)
        covariance = np.asarray(np.linalg.inv(precision + left.T @ weighed))
        shift = np.asarray(covariance @ (pull + weighed.T @ (trace.lateral_offset - best)))
    return RecordedError(
        deviation=max(draws.deviation, LEAST_WANDER),
        memory=draws.memory(step),
        shift=shift,
        shift_covariance=covariance,
    )


def _matern(station: Array, memory: float) -> Array:
    """Correlation of Matern's kind 3/2 between stations, a half at `memory`."""
    return half_at(np.abs(station[:, None] - station[None, :]), memory)


@dataclass(frozen=True, slots=True, kw_only=True)
class LineKnowledge:
    """What is known of a line before its offsets are told; n stations of the trace, m places beside cones.

    weight: inverse of the covariance of the told offsets where the shift is known, shape (n, n)
    across: how the told offsets answer to the shift of the recording, shape (n, 2)
    spread: covariance of the offsets and the shift under everything but the cones, shape (n + 2, n + 2)
    pull: what habit and the knowledge of the shift ask for, shape (n + 2,)
    rows, least: for every cone and station beside it: rows @ offset >= least, shapes (m, n), (m,)
    """

    weight: Array
    across: Array
    spread: Array
    pull: Array
    rows: Array
    least: Array

    def most_probable(self, offset: Array) -> Array:
        """The line for told offsets, shape (n,). [m]

        Notes
        -----
        Minimises the squared distance in the metric of the precision under the cones, each with a small slack: in its
        dual a least-squares problem with multipliers that are not negative.
        """
        free = self._without_cones(offset)
        if not self.least.size:
            return np.asarray(free[: offset.size])
        rows = self._rows()
        short = self.least - rows @ free
        reach = rows @ self.spread
        factor = cholesky(reach @ rows.T + CONE_DOUBT**2 * np.eye(short.size), lower=True)
        force, _ = nnls(factor.T, solve_triangular(factor, short, lower=True), maxiter=20 * short.size)
        return np.asarray((free + reach.T @ force)[: offset.size])

    def drawn(self, offset: Array, rng: np.random.Generator, count: int) -> tuple[Array, Array]:
        """Lines as probable as told offsets leave them, shape (count, n), with the shifts of each, (count, 2). [m]"""
        free = self._without_cones(offset)
        root = cholesky(self.spread, lower=True)
        rows = self._rows()
        draws = draw_truncated(rows @ root, self.least - rows @ free, doubt=CONE_DOUBT, rng=rng, count=count)
        found = free + draws @ root.T
        return found[:, :-2], found[:, -2:]

    def _without_cones(self, offset: Array) -> Array:
        told = self.weight @ offset
        return np.asarray(self.spread @ (np.concatenate([told, self.across.T @ told]) + self.pull))

    def _rows(self) -> Array:
        return np.hstack([self.rows, np.zeros((len(self.rows), 2))])


def line_knowledge(
    trace: Trace,
    geometry: CourseGeometry,
    body: Body,
    *,
    error: RecordedError,
    body_angle: Array,
    hit: AbstractSet[str] = frozenset(),
) -> LineKnowledge:
    """What is known of the line of a run.

    Parameters
    ----------
    trace : Trace
    geometry : CourseGeometry
        Along whose path the trace lies, with the sides that were driven.
    body : Body
    error : RecordedError
        Of the told offsets.
    body_angle : Array, shape (n_stations,)
        Heading of the body less that of its velocity. [rad]
    hit : set of str, optional
        Ids of cones that the run hit; they tell nothing.
    """
    station, n = trace.station, trace.station.size
    told = error.deviation**2 * _matern(station, error.memory) + RIPPLE**2 * np.eye(n)
    weight = cho_solve(cho_factor(told), np.eye(n))
    across, _ = left_and_ahead(geometry.path, station)
    steering, habit = _steering(station, geometry.path)
    known = np.linalg.inv(error.shift_covariance)
    beside = weight @ across
    precision = np.block([[weight + steering, beside], [beside.T, across.T @ beside + known]])
    rows, least = _cone_rows(station, geometry, body, body_angle=body_angle, hit=hit)
    return LineKnowledge(
        weight=weight,
        across=across,
        spread=cho_solve(cho_factor(precision), np.eye(n + 2)),
        pull=np.concatenate([habit, known @ error.shift]),
        rows=rows,
        least=least,
    )


def _steering(station: Array, path: ReferencePath) -> tuple[Array, Array]:
    """Precision and pull of the prior: curvature changes slowly and smoothly, and the car starts along the path.

    The curvature of a line is that of the path plus n'' + kappa^2 n, to first order in n.
    """
    n, h = station.size, float(station[1] - station[0])
    curvature = path.at(station).curvature
    second = np.zeros((n - 2, n))
    k = np.arange(n - 2)
    second[k, k], second[k, k + 1], second[k, k + 2] = 1.0 / h**2, -2.0 / h**2 + curvature[1:-1] ** 2, 1.0 / h**2
    change = np.diff(second, axis=0) / h
    usual = STEER_CHANGE**2 * (_matern(station[:-3], STEER_MEMORY) + STEER_JERK**2 * np.eye(n - 3))
    weighed = cho_solve(cho_factor(usual), np.column_stack([change, np.diff(curvature[1:-1]) / h]))
    precision = change.T @ weighed[:, :-1]
    pull = -change.T @ weighed[:, -1]
    first = np.zeros(n)
    first[:2] = -1.0 / h, 1.0 / h
    precision += np.outer(first, first) / SQUARE[0] ** 2 + np.outer(second[0], second[0]) / SQUARE[1] ** 2
    return (precision + precision.T) / 2.0, pull


def _cone_rows(
    station: Array, geometry: CourseGeometry, body: Body, *, body_angle: Array, hit: AbstractSet[str]
) -> tuple[Array, Array]:
    """Where the body is beside a cone, its side is off the base; linear in the offsets.

    In the path's frame at a station the body stands at offset n, turned by n' and the body angle.
    """
    n, h = station.size, float(station[1] - station[0])
    points = geometry.path.at(station)
    rows, least = [], []
    for cone in geometry.passes:
        if cone.id in hit or cone.is_guard:
            continue
        near = np.flatnonzero(np.abs(station + body.middle - cone.station) < body.length / 2.0 + 1.0)
        for k in near[(near > 0) & (near < n - 1)]:
            dx, dy = cone.x - points.x[k], cone.y - points.y[k]
            cos, sin = np.cos(points.heading[k]), np.sin(points.heading[k])
            ahead, left = dx * cos + dy * sin, dy * cos - dx * sin
            if abs(ahead - body.middle) > body.length / 2.0:
                continue
            row = np.zeros(n)
            row[k] = 1.0
            row[k - 1], row[k + 1] = -ahead / (2.0 * h), ahead / (2.0 * h)
            room = body.width / 2.0 + cone.radius - geometry.course.cone(cone.id).position_sd
            # cone on the left (+1): left - n - (n' + angle) ahead >= room
            rows.append(-cone.side * row)
            least.append(room - cone.side * (left - body_angle[k] * ahead))
    return np.array(rows).reshape(-1, n), np.array(least)


def border_shift(along: Array, trace: Trace) -> Array:
    """How much later than told a drawn path is at every station, none at the start beam. [s]

    Parameters
    ----------
    along : Array, shape (..., n_stations)
        How far ahead it is. [m]
    trace : Trace

    Notes
    -----
    The start is timed by where the car stood as well, and `align` lays runs between the beams over the first 10 m; the
    finish is timed by the position, as every border is.
    """
    near = np.clip(trace.front_station / 10.0, 0.0, 1.0)
    return np.asarray(-along * near / np.maximum(trace.speed, 1.0))
