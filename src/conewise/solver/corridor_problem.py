"""Where the point mass may go: a corridor along a reference path, given directly or read off a course."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.errors import InfeasibleError, InputError

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry

Array = NDArray[np.float64]

LEAST_WIDENING = 0.3  # least 1 - n curvature: below it the corridor folds over itself
FREE_OFFSET = 30.0  # bound of the search where nothing bounds the offset [m]
CONE_NODES = (-0.8, -0.4, 0.0, 0.4, 0.8)  # nodes about each cone [m]
CONE_REACH = 0.8  # share of the distance to a cone's centre over which it bounds the path along the course
LEAST_STEP = 0.25  # nodes nearer than this are one [m]


class CorridorError(InputError):
    """A corridor given directly cannot be used."""

    code = "corridor"
    default_hint = "Every segment needs a length above 0, and n_min below n_max on both sides of each break."

    def __init__(self, what: str, segment: int) -> None:
        super().__init__(f"The corridor has {what}.", where=f"segment {segment + 1}")


class NoRoomError(InfeasibleError):
    """The cones of a course leave no room for the car."""

    code = "no-room"
    default_hint = "Move the cones apart at the place named, or ask for less margin."

    def __init__(self, feature: str, lacking: float) -> None:
        super().__init__(f"The car does not fit between the cones: {lacking:.2f} m are lacking.", where=feature)


@dataclass(frozen=True, slots=True, kw_only=True)
class CorridorSegment:
    """A piece of line or arc with its own limits of the lateral offset."""

    length: float  # along the reference path [m]
    curvature: float = 0.0  # left positive [1/m]
    n_min: float = -FREE_OFFSET  # right limit [m]
    n_max: float = FREE_OFFSET  # left limit [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class CorridorMesh:
    """A corridor on nodes. Arrays have shape (n_nodes,), `curvature` (n_nodes - 1,)."""

    station: Array  # along the reference path [m]
    curvature: Array  # mean of each interval, left positive [1/m]
    n_min: Array  # [m]
    n_max: Array  # [m]
    x: Array  # reference path, east [m]
    y: Array  # reference path, north [m]
    heading: Array  # of the reference path [rad]
    friction: Array  # factor on the friction [-]
    ground_along: Array  # gravity along the path [m/s2]
    ground_across: Array  # gravity to the left [m/s2]

    def plan(self, lateral_offset: Array) -> tuple[Array, Array]:
        """East and north of a path given by its offsets. [m]"""
        return (
            self.x - lateral_offset * np.sin(self.heading),
            self.y + lateral_offset * np.cos(self.heading),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class CorridorPath:
    """A reference path of arcs and lines from a start point, with the limits along it."""

    segments: tuple[CorridorSegment, ...]
    x: float = 0.0  # start, east [m]
    y: float = 0.0  # start, north [m]
    heading: float = 0.0  # at the start [rad]

    @classmethod
    def of_width(cls, pieces: tuple[tuple[float, float], ...], half_width: float) -> CorridorPath:
        """A corridor of one width from (length, curvature) of each piece. [m], [1/m]"""
        return cls(
            segments=tuple(
                CorridorSegment(length=length, curvature=curvature, n_min=-half_width, n_max=half_width)
                for length, curvature in pieces
            )
        )

    def mesh(self, step: float) -> CorridorMesh:
        """Nodes at most `step` apart with one at every break.

        Parameters
        ----------
        step : float
            Greatest distance between nodes. [m]

        Returns
        -------
        CorridorMesh
            At a break the tighter limits of both sides hold.

        Raises
        ------
        CorridorError
            Where a segment has no length, folds over itself, or leaves no room.
        """
        self._check()
        counts = [max(1, int(np.ceil(segment.length / step - 1e-9))) for segment in self.segments]
        spread = np.repeat(np.arange(len(counts)), counts)
        lengths = np.array([segment.length for segment in self.segments])
        curvature, low, high = (
            np.array([getattr(segment, name) for segment in self.segments])[spread]
            for name in ("curvature", "n_min", "n_max")
        )
        steps = (lengths / counts)[spread]
        x, y, heading = _laid_out((self.x, self.y, self.heading), steps, curvature)
        station = np.concatenate([[0.0], np.cumsum(steps)])
        return CorridorMesh(
            station=station,
            curvature=curvature,
            n_min=np.maximum(np.append(low, low[-1]), np.insert(low, 0, low[0])),
            n_max=np.minimum(np.append(high, high[-1]), np.insert(high, 0, high[0])),
            x=x,
            y=y,
            heading=heading,
            friction=np.ones_like(station),
            ground_along=np.zeros_like(station),
            ground_across=np.zeros_like(station),
        )

    def _check(self) -> None:
        if not self.segments:
            raise CorridorError("no segment", 0)
        for i, segment in enumerate(self.segments):
            numbers = (segment.length, segment.curvature, segment.n_min, segment.n_max)
            if not np.isfinite(numbers).all():
                raise CorridorError("a value that is not a number", i)
            if segment.length <= 0.0:
                raise CorridorError(f"a length of {segment.length:g} m", i)
            before = self.segments[max(i - 1, 0)]
            if max(segment.n_min, before.n_min) >= min(segment.n_max, before.n_max):
                raise CorridorError("no room between its limits", i)
            inner = segment.n_max if segment.curvature > 0.0 else segment.n_min
            if 1.0 - inner * segment.curvature < LEAST_WIDENING:
                raise CorridorError(
                    f"an inner limit {abs(inner):g} m from an arc of {abs(1.0 / segment.curvature):g} m radius", i
                )


def _laid_out(start: tuple[float, float, float], steps: Array, curvature: Array) -> tuple[Array, Array, Array]:
    """Nodes of a chain of arcs: each chord is turned by half of its arc."""
    turns = steps * curvature
    heading = start[2] + np.concatenate([[0.0], np.cumsum(turns)])
    chord = steps * np.sinc(turns / (2.0 * np.pi))
    along = heading[:-1] + turns / 2.0
    x = start[0] + np.concatenate([[0.0], np.cumsum(chord * np.cos(along))])
    y = start[1] + np.concatenate([[0.0], np.cumsum(chord * np.sin(along))])
    return x, y, heading


def course_corridor(geometry: CourseGeometry, *, clearance: float, step: float = 1.0) -> CorridorMesh:
    """A course as a corridor for the car's centre.

    Parameters
    ----------
    geometry : CourseGeometry
    clearance : float
        Centre of the car to the edge of a cone: half the width and the margin. [m]
    step : float, default 1.0
        Greatest distance between nodes; they lie closer about cones. [m]

    Returns
    -------
    CorridorMesh
        From the start line to the finish line. Each cone holds the centre `clearance` and its radius away.

    Raises
    ------
    NoRoomError
        Where cones leave no room.
    """
    path = geometry.path
    station = _course_nodes(geometry, step)
    points = path.at(station)
    n_min = np.interp(station, path.station, geometry.n_min)
    n_max = np.interp(station, path.station, geometry.n_max)
    for i, _, side, bound in cone_bounds(geometry, station, clearance):
        if side > 0:
            n_max[i] = min(n_max[i], bound)
        else:
            n_min[i] = max(n_min[i], bound)
    worst = int(np.argmax(n_min - n_max))
    if n_min[worst] >= n_max[worst]:
        raise NoRoomError(geometry.span_at(float(station[worst])).id, float(n_min[worst] - n_max[worst]))
    cos, sin = np.cos(points.heading), np.sin(points.heading)
    return CorridorMesh(
        station=station,
        curvature=np.diff(points.heading) / np.diff(station),
        n_min=n_min,
        n_max=n_max,
        x=points.x,
        y=points.y,
        heading=points.heading,
        friction=np.interp(station, path.station, geometry.friction),
        ground_along=geometry.ground_x * cos + geometry.ground_y * sin,
        ground_across=geometry.ground_y * cos - geometry.ground_x * sin,
    )


def _course_nodes(geometry: CourseGeometry, step: float) -> Array:
    """Stations from start to finish: about every cone, and evenly between."""
    length = geometry.path.length
    cones = np.array([cone.station for cone in geometry.passes])
    wanted = np.unique((cones[:, None] + np.array(CONE_NODES)).ravel())
    kept = [0.0]
    for station in wanted[(wanted > LEAST_STEP) & (wanted < length - LEAST_STEP)]:
        if station - kept[-1] >= LEAST_STEP:
            kept.append(float(station))
    kept.append(length)
    counts = np.maximum(np.ceil(np.diff(kept) / step - 1e-9), 1).astype(int)
    parts = [np.linspace(kept[i], kept[i + 1], n, endpoint=False) for i, n in enumerate(counts)]
    return np.concatenate([*parts, [length]])


def cone_bounds(geometry: CourseGeometry, station: Array, clearance: float) -> list[tuple[int, int, int, float]]:
    """Node, index of the pass, side and bound of the offset, wherever a cone is near a node.

    Notes
    -----
    A cone holds the centre out of a circle of radius R = clearance + its own radius: at a distance d along the path
    the offset is at most n_cone - sqrt(R^2 - d^2) for a cone on the left. In a bend d is that of the offset.
    """
    bends = geometry.path.at(np.array([cone.station for cone in geometry.passes])).curvature
    answers = []
    for k, cone in enumerate(geometry.passes):
        away = clearance + cone.radius
        widening = max(1.0 - float(bends[k]) * (cone.offset - cone.side * away / 2.0), LEAST_WIDENING)
        distance = (station - cone.station) * widening
        for i in np.flatnonzero(np.abs(distance) <= CONE_REACH * away):
            reach = np.sqrt(away**2 - distance[i] ** 2)
            answers.append((int(i), k, cone.side, float(cone.offset - cone.side * reach)))
    return answers
