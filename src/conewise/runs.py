"""Runs against the clock: one pass over the station axis of a course, driven or predicted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from conewise.course.layout import FeatureKind

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry, FeatureSpan, PassedCone

Array = NDArray[np.float64]

FINE = 0.05  # points of a line at which a clearance is taken [m]
AROUND = 5.0  # a car turns round a single cone within so much before and behind it [m]
NEAR = 2.0  # beyond half the length of a body, in which it passes a cone [m]
SETTLED = 10.0  # behind the start beam, which is timed by itself, the clock goes by the position alone [m]
LEAST_SPEED = 0.5  # below it a place tells no time [m/s]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """One run laid along a course's reference path, from the start beam to the finish beam.

    Driven and predicted runs have the same shape, so that any two compare. All arrays have shape (n_stations,);
    `station` is strictly increasing. The front of the car cuts the beams: `front_station` runs from 0 to the length of
    the path.

    station: of the car's reference point, along the reference path [m]
    time: since the start beam [s]
    lateral_offset: from the reference path, left positive [m]
    x, y: east and north on the course's plan [m]
    speed: along the direction of travel [m/s]
    heading: of the velocity, from east, to the left [rad]
    longitudinal_acceleration, lateral_acceleration: along and to the left of the velocity [m/s2]
    station_deviation, lateral_offset_deviation, speed_deviation: standard deviations; zero for a predicted run
    front_reach: reference point to the front of the car; zero for a point mass [m]
    start_deviation: of the moment at which the start beam was cut; zero for a predicted run [s]
    shift_covariance: of the part of a position's error that stays over the whole run, east and north [m2]
    memory: time after which the correlation of the rest of that error has fallen to a half; zero: at once [s]
    """

    name: str
    station: Array
    time: Array
    lateral_offset: Array
    x: Array
    y: Array
    speed: Array
    heading: Array
    longitudinal_acceleration: Array
    lateral_acceleration: Array
    station_deviation: Array
    lateral_offset_deviation: Array
    speed_deviation: Array
    front_reach: float = 0.0
    start_deviation: float = 0.0
    shift_covariance: tuple[tuple[float, float], tuple[float, float]] = ((0.0, 0.0), (0.0, 0.0))
    memory: float = 0.0

    @property
    def front_station(self) -> Array:
        """Station of the front of the car, shape (n_stations,). [m]"""
        return self.station + self.front_reach

    @property
    def run_time(self) -> float:
        """Beam to beam. [s]"""
        return float(self.time[-1] - self.time[0])

    def clock_covariance(self, station: Array) -> Array:
        """How unsure the times since the start beam are at which the front is at stations, shape (n, n). [s2]

        Parameters
        ----------
        station : Array, shape (n,)
            Of the front. [m]

        Notes
        -----
        Every time holds the error of the start and that of the position there over the speed. At the start beam the
        clock stands at nought whatever is unsure; the position has its full say from 10 m on, as `logs.align` lays
        runs. Position errors of one run hang together: a part stays as long as the run, the rest is forgotten. Each
        counts along the direction of travel. That of the reach to the front is not in it.
        """
        start, held = self._clock(station)
        heading = np.interp(station, self.front_station, self.heading)
        then = np.interp(station, self.front_station, self.time)
        ahead = np.column_stack([np.cos(heading), np.sin(heading)])
        lasting = ahead @ np.array(self.shift_covariance) @ ahead.T
        away = np.interp(station, self.front_station, self.station_deviation)
        own = np.sqrt(np.maximum(away**2 - np.diag(lasting), 0.0))
        alike = half_at(np.abs(then[:, None] - then), self.memory) * (ahead @ ahead.T)
        return np.asarray((lasting + np.outer(own, own) * alike) * np.outer(held, held) + np.outer(start, start))

    def clock_deviation(self, station: Array) -> Array:
        """Root of the diagonal of `clock_covariance`, shape (n,). [s]"""
        start, held = self._clock(station)
        return np.hypot(start, held * np.interp(station, self.front_station, self.station_deviation))

    def _clock(self, station: Array) -> tuple[Array, Array]:
        """What the error of the start makes of the clock, one deviation, and a position's by its error. [s], [s/m]"""
        settled = np.clip(station / SETTLED, 0.0, 1.0)
        slow = 1.0 / np.maximum(np.interp(station, self.front_station, self.speed), LEAST_SPEED)
        start = self.start_deviation * (1.0 - (1.0 - settled) * slow * max(float(self.speed[0]), LEAST_SPEED))
        return start, settled * slow

    def deviation_between(self, begin: float, end: float) -> float:
        """Standard deviation of the time from one station of the front to another. [s]"""
        (a, between), (_, b) = self.clock_covariance(np.array([begin, end]))
        return float(np.sqrt(max(a + b - 2.0 * between, 0.0)))


def half_at(away: Array, half: float) -> Array:
    """Correlation of Matern's kind 3/2 that is a half at a distance; that of independent values where it is nought."""
    if half <= 0.0:
        return np.asarray(away == 0.0, dtype=np.float64)
    scaled = away * (1.678 / half)  # half at 1.678 of the scale
    return np.asarray((1.0 + scaled) * np.exp(-scaled))


@dataclass(frozen=True, slots=True, kw_only=True)
class Body:
    """The outline of a car: a rectangle about its reference point."""

    length: float  # [m]
    width: float  # [m]
    front_reach: float  # reference point to the front [m]

    @property
    def middle(self) -> float:
        """Middle of the body ahead of the reference point. [m]"""
        return self.front_reach - self.length / 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureResult:
    """One feature of the course in one run.

    Times, entry and exit are those of its whole stretch, half way to its neighbours; the slowest speed is that between
    its first cone and its last, where the feature itself holds the car: before it a launch or the feature before may.
    """

    id: str
    kind: str
    start: float  # station [m]
    end: float  # station [m]
    time: float  # [s]
    entry_speed: float  # [m/s]
    slowest_speed: float  # [m/s]
    slowest_station: float  # [m]
    exit_speed: float  # [m/s]


def feature_results(
    geometry: CourseGeometry, *, station: Array, elapsed: Array, speed: Array
) -> tuple[FeatureResult, ...]:
    """Time and speeds of every feature. Arrays have shape (n_stations,). [m], [s], [m/s]"""
    answers = []
    for span in geometry.spans:
        first, last = cones_between(geometry, span)
        places = np.concatenate([[first], station[(station > first) & (station < last)], [last]])
        speeds = np.interp(places, station, speed)
        slowest = int(np.argmin(speeds))
        ends = np.array([span.start, span.end])
        enter, leave = np.interp(ends, station, elapsed)
        entry, exit_ = np.interp(ends, station, speed)
        answers.append(
            FeatureResult(
                id=span.id,
                kind=span.kind.value,
                start=span.start,
                end=span.end,
                time=float(leave - enter),
                entry_speed=float(entry),
                slowest_speed=float(speeds[slowest]),
                slowest_station=float(places[slowest]),
                exit_speed=float(exit_),
            )
        )
    return tuple(answers)


def cones_between(geometry: CourseGeometry, span: FeatureSpan) -> tuple[float, float]:
    """First and last cone of a feature, a single place `AROUND` it; the whole stretch of start and finish. [m]"""
    at = [cone.station for cone in geometry.own_cones(span.id)]
    if not at or span.kind in (FeatureKind.START, FeatureKind.FINISH):
        return span.start, span.end
    middle, half = (min(at) + max(at)) / 2.0, max((max(at) - min(at)) / 2.0, AROUND)
    return max(middle - half, span.start), min(middle + half, span.end)


def clear_of(body: Body, cone: PassedCone, pose: Array) -> Array:
    """Distance of a body's rectangle from the base of one cone. [m]

    Parameters
    ----------
    body : Body
    cone : PassedCone
    pose : Array, shape (n, 3)
        East and north of the reference point, heading of the body. [m], [rad]

    Returns
    -------
    Array, shape (n,)
        Negative where the body is over the base, by how far it is at the least; alongside a cone on its wrong side, by
        how far it would have to be moved across.
    """
    dx, dy = cone.x - pose[:, 0], cone.y - pose[:, 1]
    cos, sin = np.cos(pose[:, 2]), np.sin(pose[:, 2])
    beyond = np.abs(dx * cos + dy * sin - body.middle) - body.length / 2.0
    across = dy * cos - dx * sin
    beside = np.abs(across) - body.width / 2.0
    outside = np.hypot(np.maximum(beyond, 0.0), np.maximum(beside, 0.0)) + np.minimum(np.maximum(beyond, beside), 0.0)
    is_wrong = (beyond < 0.0) & (across * cone.side < 0.0)
    return np.asarray(np.where(is_wrong, -np.abs(across) - body.width / 2.0, outside) - cone.radius)


def body_clearances(geometry: CourseGeometry, body: Body, *, station: Array, pose: Array) -> Array:
    """Distance of a body that moves along a line from the base of every cone beside it.

    Parameters
    ----------
    geometry : CourseGeometry
    body : Body
    station : Array, shape (n,)
        Of the reference point along the reference path. [m]
    pose : Array, shape (n, 3)
        East and north of the reference point, heading of the body. [m], [rad]

    Returns
    -------
    Array, shape (n_passes,)
        Least distance near the cone's own station; negative where the body is over the base. [m]
    """
    fine = np.linspace(0.0, 1.0, max(int(np.ceil((station[-1] - station[0]) / FINE)), 2))
    along = np.linspace(0.0, 1.0, station.size)
    poses = CubicSpline(along, pose)(fine)
    about = np.interp(fine, along, station) + body.middle
    answers = []
    for cone in geometry.passes:
        near = np.abs(about - np.clip(cone.station, about[0], about[-1])) < body.length / 2.0 + NEAR
        answers.append(float(np.min(clear_of(body, cone, poses[near]))))
    return np.array(answers)
