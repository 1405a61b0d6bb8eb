"""What a course looks like along its reference path: the path, the cones beside it, the room, the features."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from scipy.interpolate import CubicSpline

    from conewise.course.layout import Course, FeatureKind

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


class BoundKind(IntEnum):
    """What limits the lateral offset of the car's centre."""

    SEARCH = 0  # how far a line is looked for
    FOLD = 1  # the centre of curvature is near
    EDGE = 2  # the outline of the site
    OBSTACLE = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class PathPoints:
    """Points of a path; arrays have the shape of the stations asked for."""

    x: Array  # east [m]
    y: Array  # north [m]
    heading: Array  # counter-clockwise from east, unwrapped [rad]
    curvature: Array  # left positive [1/m]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferencePath:
    """A smooth curve from before the start line to behind the finish line; arrays have shape (n_points,)."""

    station: Array  # 0 at the start line, `length` at the finish line [m]
    x: Array  # east [m]
    y: Array  # north [m]
    heading: Array  # counter-clockwise from east, unwrapped [rad]
    curvature: Array  # left positive [1/m]
    length: float  # from the start line to the finish line [m]
    curve: CubicSpline = field(repr=False, compare=False)  # station to (x, y)

    def at(self, station: Array) -> PathPoints:
        """The path at any stations within its range. [m]

        Position is twice, heading once and curvature itself continuous. Beyond its ends the path runs straight.
        """
        asked = np.asarray(station, dtype=float)
        inside = np.clip(asked, self.station[0], self.station[-1])
        place, first, second = self.curve(inside), self.curve(inside, 1), self.curve(inside, 2)
        angle = np.arctan2(first[..., 1], first[..., 0])
        about = np.interp(inside, self.station, self.heading)
        heading = about + (angle - about + np.pi) % (2 * np.pi) - np.pi
        speed = np.hypot(first[..., 0], first[..., 1])
        bend = (first[..., 0] * second[..., 1] - first[..., 1] * second[..., 0]) / speed**3
        beyond = asked - inside
        return PathPoints(
            x=np.asarray(place[..., 0] + beyond * np.cos(heading)),
            y=np.asarray(place[..., 1] + beyond * np.sin(heading)),
            heading=np.asarray(heading),
            curvature=np.where(beyond == 0.0, bend, 0.0),
        )

    def project(self, x: float, y: float, *, low: float, high: float) -> tuple[float, float]:
        """Station and lateral offset (left positive) of the nearest point of the path between two stations. [m]"""
        window = np.array([[low, high]])
        station, offset = self.project_all(np.array([[x, y]]), window)
        return float(station[0]), float(offset[0])

    def project_all(self, places: Array, window: Array) -> tuple[Array, Array]:
        """Stations and offsets of many points, each within its own window.

        Parameters
        ----------
        places : Array, shape (n, 2)
            Points in the plan. [m]
        window : Array, shape (n, 2)
            Lowest and highest station for each. [m]

        Returns
        -------
        tuple[Array, Array]
            Stations and lateral offsets, shape (n,). [m]
        """
        low = np.clip(window[:, 0], self.station[0], self.station[-1])
        high = np.clip(window[:, 1], low, self.station[-1])
        n_tries = int(np.ceil(np.max(high - low, initial=0.0) / 0.5)) + 2
        tries = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, n_tries)
        away = places[:, None, :] - self.curve(tries)
        best = np.argmin(np.sum(away**2, axis=2), axis=1)
        station = tries[np.arange(len(tries)), best]
        for _ in range(6):
            points = self.at(station)
            dx, dy = places[:, 0] - points.x, places[:, 1] - points.y
            cos, sin = np.cos(points.heading), np.sin(points.heading)
            ahead, offset = dx * cos + dy * sin, dy * cos - dx * sin
            stretch = np.maximum(1.0 - points.curvature * offset, 0.3)
            station = np.clip(station + np.clip(ahead / stretch, -0.5, 0.5), low, high)
        points = self.at(station)
        dx, dy = places[:, 0] - points.x, places[:, 1] - points.y
        return station, np.asarray(dy * np.cos(points.heading) - dx * np.sin(points.heading))


@dataclass(frozen=True, slots=True, kw_only=True)
class PassedCone:
    """A cone beside the path, as one pass sees it. The same cone may appear in another pass."""

    id: str
    feature: str
    crossing: int  # index within the feature; -1 for a guard
    side: int  # +1: the cone lies on the driver's left, the car goes right of it; -1: on the right
    x: float  # east [m]
    y: float  # north [m]
    radius: float  # half the base [m]
    station: float  # [m]
    offset: float  # lateral offset of its centre from the path, left positive [m]
    is_standing: bool
    is_guard: bool = False  # a cone of another pass that lies within reach of the line


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureSpan:
    """The stretch of the path that belongs to a feature.

    Spans tile the path from the start line to the finish line. The border between two features lies half way
    between the last cone of the one and the first cone of the next.
    """

    id: str
    kind: FeatureKind
    start: float  # [m]
    end: float  # [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseGeometry:
    """A course along its reference path; arrays have shape (n_points,) on `path.station`."""

    course: Course
    path: ReferencePath
    passes: tuple[PassedCone, ...]  # in order of station
    n_min: Array  # lowest lateral offset at which a line is looked for [m]
    n_max: Array  # highest [m]
    n_min_kind: IntArray  # a `BoundKind` for each station
    n_max_kind: IntArray
    friction: Array  # factor on the tyre's friction [-]
    ground_x: float  # component of gravity along east [m/s2]; negative where the ground rises to the east
    ground_y: float  # along north [m/s2]
    spans: tuple[FeatureSpan, ...]
    choices: dict[str, str]  # for each either-side feature: the side of its first open cone on which the car goes

    def own_cones(self, feature: str = "") -> tuple[PassedCone, ...]:
        """Standing cones of a feature in order of station, of all where it is empty; without guards of other passes."""
        own = (cone for cone in self.passes if cone.is_standing and not cone.is_guard)
        return tuple(cone for cone in own if not feature or cone.feature == feature)

    def span_at(self, station: float) -> FeatureSpan:
        """The feature to which a station belongs; the first or last one beyond the lines."""
        inside = next((s for s in self.spans if station < s.end), None)
        return inside or self.spans[-1]
