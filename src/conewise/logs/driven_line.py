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

if TYPE_CHECKING:
    from collections.abc import Set as AbstractSet

    from conewise.course.geometry import CourseGeometry, ReferencePath
    from conewise.logs.laid import LaidRun
    from conewise.runs import Body, Trace

Array = NDArray[np.float64]

STEER_CHANGE = 5e-4  # spectral density of the change of curvature along a line [1/m3]; docs/models/debrief.md
RIPPLE = 0.01  # of a smoothed position, which no car drives [m]; common practice, no source
CONE_DOUBT = 0.02  # of how near a body can have been to a cone that stands [m]
SQUARE = (1e-3, 1e-3)  # a staged car stands along the path: deviations of direction [rad] and curvature [1/m]
SHORTEST_MEMORY, LONGEST_MEMORY = 3.0, 200.0  # of the error along the path [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class Draws:
    """Whole paths that the recording allows, less the path that it tells; shape (n_paths, n_stations). [m]

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
        lateral = self.lateral
        variance = np.mean(lateral**2)
        for lag in range(1, lateral.shape[1] // 2):
            if np.mean(lateral[:, lag:] * lateral[:, :-lag]) < 0.5 * variance:
                return float(np.clip(lag * step, SHORTEST_MEMORY, LONGEST_MEMORY))
        return LONGEST_MEMORY


def drawn_paths(laid: LaidRun, rng: np.random.Generator, count: int) -> Draws:
    """Paths drawn from what the recording leaves open.

    Parameters
    ----------
    laid : LaidRun
        Finished, with its trace.
    rng : Generator
    count : int

    Notes
    -----
    The mean error of each draw over the run is replaced by one of the size that the shift of the run still has: the
    shift was found from course and cones, and what it took away is no longer open.
    """
    trace, track = laid.trace, laid.track
    assert trace is not None
    then = laid.run.start.time + trace.time
    sampled = track.sample_positions(rng, count)
    off = np.stack([sampled[:, :, 0] - track.x, sampled[:, :, 1] - track.y], axis=2)
    inside = off[:, laid.run.samples]
    shift = np.array(laid.shift.shift_deviation) * rng.standard_normal((count, 2))
    off = off - inside.mean(axis=1)[:, None, :] + shift[:, None, :]
    at = np.stack([[np.interp(then, track.time, path[:, k]) for k in (0, 1)] for path in off])
    heading = laid.geometry.path.at(trace.station).heading
    cos, sin = np.cos(heading), np.sin(heading)
    return Draws(lateral=at[:, 1] * cos - at[:, 0] * sin, along=at[:, 0] * cos + at[:, 1] * sin)


@dataclass(frozen=True, slots=True, kw_only=True)
class LineKnowledge:
    """What is known of a line before its offsets are told; arrays on the stations of the trace.

    weight: inverse of the covariance of the told offsets, shape (n, n)
    spread: inverse of the whole precision, shape (n, n)
    pull: what the prior asks for, shape (n,)
    rows, least: for every cone and station beside it: rows @ offset >= least, shapes (m, n), (m,)
    """

    weight: Array
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
        free = self.spread @ (self.weight @ offset + self.pull)
        if not self.least.size:
            return np.asarray(free)
        short = self.least - self.rows @ free
        reach = self.rows @ self.spread
        factor = cholesky(reach @ self.rows.T + CONE_DOUBT**2 * np.eye(short.size), lower=True)
        force, _ = nnls(factor.T, solve_triangular(factor, short, lower=True), maxiter=20 * short.size)
        return np.asarray(free + reach.T @ force)


def line_knowledge(
    trace: Trace,
    geometry: CourseGeometry,
    body: Body,
    *,
    deviation: float,
    memory: float,
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
    deviation, memory : float
        Of the error of the told offsets, and over what distance it forgets. [m]
    body_angle : Array, shape (n_stations,)
        Heading of the body less that of its velocity. [rad]
    hit : set of str, optional
        Ids of cones that the run hit; they tell nothing.
    """
    station = trace.station
    away = np.abs(station[:, None] - station[None, :]) / (memory / 1.678)  # half at 1.678 of the scale
    told = deviation**2 * (1.0 + away) * np.exp(-away) + RIPPLE**2 * np.eye(station.size)
    weight = cho_solve(cho_factor(told), np.eye(station.size))
    steering, pull = _steering(station, geometry.path)
    precision = weight + steering
    rows, least = _cone_rows(station, geometry, body, body_angle=body_angle, hit=hit)
    return LineKnowledge(
        weight=weight,
        spread=cho_solve(cho_factor(precision), np.eye(station.size)),
        pull=pull,
        rows=rows,
        least=least,
    )


def _steering(station: Array, path: ReferencePath) -> tuple[Array, Array]:
    """Precision and pull of the prior: curvature changes slowly, and the car starts along the path.

    The curvature of a line is that of the path plus n'' + kappa^2 n, to first order in n.
    """
    n, h = station.size, float(station[1] - station[0])
    curvature = path.at(station).curvature
    second = np.zeros((n - 2, n))
    k = np.arange(n - 2)
    second[k, k], second[k, k + 1], second[k, k + 2] = 1.0 / h**2, -2.0 / h**2 + curvature[1:-1] ** 2, 1.0 / h**2
    change = np.diff(second, axis=0) / h
    weight = h / STEER_CHANGE
    precision = weight * change.T @ change
    pull = -weight * change.T @ (np.diff(curvature[1:-1]) / h)
    first = np.zeros(n)
    first[:2] = -1.0 / h, 1.0 / h
    precision += np.outer(first, first) / SQUARE[0] ** 2 + np.outer(second[0], second[0]) / SQUARE[1] ** 2
    return precision, pull


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
    """How much later than told a drawn path is at every station, none at the beams. [s]

    Parameters
    ----------
    along : Array, shape (..., n_stations)
        How far ahead it is. [m]
    trace : Trace
    """
    front = trace.front_station
    near = np.clip(np.minimum(front, front[-1] - front) / 10.0, 0.0, 1.0)  # as `align` lays runs between the beams
    return np.asarray(-along * near / np.maximum(trace.speed, 1.0))
