"""The reference path of a course as a curve: through crossings, or through a line that was solved."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from scipy.linalg import solveh_banded

from conewise.course.geometry import ReferencePath
from conewise.course.passes import CLEARANCE, Crossing, NoPathError, Poses, first_poses
from conewise.course.relaxation import Ends, Pushers, relaxed

if TYPE_CHECKING:
    from conewise.course.passes import OrderedPass

Array = NDArray[np.float64]

RUN_IN = 12.0  # of the path before the start line [m]
SHORTEST_RUN_OUT = 15.0  # of the path behind the finish line [m]
STEP = 0.25  # between the stations of a path, at most [m]
_STIFFNESS = 30.0  # of a path laid through a solved line: takes out waves shorter than about 10 m
_TURN_SQUARE = 10.0  # length over which it turns square to the start and finish lines [m]
_PINNED = 1e6
_GAUSS = np.polynomial.legendre.leggauss(4)


def path_through(
    crossings: list[Crossing], *, run_out: float = SHORTEST_RUN_OUT, source: str = ""
) -> tuple[ReferencePath, Array]:
    """A smooth path past all cones on their sides, and the station near which each cone is passed.

    Parameters
    ----------
    crossings : list[Crossing]
        Start to finish, sides decided.
    run_out : float, default 15
        Straight length behind the finish line. [m]
    source : str, default ""
        File of the course, for messages.

    Returns
    -------
    tuple[ReferencePath, Array]
        The path; stations of the cones in the order of the crossings. [m]

    Raises
    ------
    NoPathError
        Where a gate has no width, or the course has no length.
    """
    if len(crossings) < 2:
        raise NoPathError(crossings[0].feature, reason="the course ends where it starts", source=source)
    poses = first_poses(crossings, source=source)
    if float(np.hypot(*np.ptp(poses.place, axis=0))) < 2.0:
        raise NoPathError(crossings[-1].feature, reason="the course is shorter than 2 m", source=source)
    pushers, crossing_of = _pushers(crossings)
    first, vertex = _first_curve(poses)
    ends = Ends(
        start=poses.place[0],
        start_direction=poses.direction[0],
        finish=poses.place[-1],
        finish_direction=poses.direction[-1],
    )
    strip = relaxed(first, vertex[crossing_of].astype(float), ends=ends, pushers=pushers)
    inner = strip.nodes[4:-4]
    nodes, start, finish = _with_straights(inner, ends, run_out=run_out)
    path = curve_through(nodes, start=start, finish=finish)
    scale = path.length / (strip.spacing * (len(inner) - 1))
    return path, strip.station * scale


def _pushers(crossings: list[Crossing]) -> tuple[Pushers, NDArray[np.int64]]:
    """Every cone with the clearance that its crossing leaves; and the index of its crossing."""
    place, side, clearance, index = [], [], [], []
    for k, crossing in enumerate(crossings):
        gap = crossing.gap()
        room = CLEARANCE if gap is None else min(CLEARANCE, 0.5 * float(np.hypot(*(gap[0] - gap[1]))))
        for passed in crossing.passes:
            place.append((passed.cone.x, passed.cone.y))
            side.append(float(passed.side))
            clearance.append(_clearance_of(passed, room))
            index.append(k)
    pushers = Pushers(place=np.array(place), side=np.array(side), clearance=np.array(clearance))
    return pushers, np.array(index)


def _clearance_of(passed: OrderedPass, room: float) -> float:
    """A pointer is kept off by its own half base at least; it lies behind its standing cone."""
    return room if passed.cone.is_standing else min(room, 0.5 * passed.cone.base + 0.9)


def _first_curve(poses: Poses) -> tuple[Array, NDArray[np.int64]]:
    """Cubic arcs from pose to pose, and the index of each pose on the curve."""
    pieces, vertex, count = [poses.place[:1]], [0], 0
    for k in range(len(poses.place) - 1):
        a, b = poses.place[k], poses.place[k + 1]
        reach = float(np.hypot(*(b - a)))
        n = max(2, int(np.ceil(reach)))
        t = np.linspace(0.0, 1.0, n + 1)[1:, None]
        ta, tb = reach * poses.direction[k], reach * poses.direction[k + 1]
        pieces.append(
            (2 * t**3 - 3 * t**2 + 1) * a + (t**3 - 2 * t**2 + t) * ta + (3 * t**2 - 2 * t**3) * b + (t**3 - t**2) * tb
        )
        count += n
        vertex.append(count)
    return np.vstack(pieces), np.array(vertex)


def _with_straights(inner: Array, ends: Ends, *, run_out: float) -> tuple[Array, int, int]:
    """Nodes from start to finish run straight at both ends; the indices of the start and the finish."""
    before = ends.start - np.arange(RUN_IN, 0.0, -1.0)[:, None] * ends.start_direction
    reach = max(run_out, SHORTEST_RUN_OUT)
    after = ends.finish + np.linspace(0.0, reach, int(np.ceil(reach)) + 1)[1:, None] * ends.finish_direction
    return np.vstack([before, inner, after]), len(before), len(before) + len(inner) - 1


def curve_through(nodes: Array, *, start: int, finish: int) -> ReferencePath:
    """The smooth curve through nodes about a metre apart, by arc length from node `start` to node `finish`."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(nodes, axis=0).T))])
    rough = CubicSpline(along, nodes, axis=0)
    half = 0.5 * np.diff(along)
    at = along[:-1, None] + half[:, None] * (1.0 + _GAUSS[0])
    speed = np.hypot(*np.moveaxis(rough(at, 1), 2, 0))
    arc = np.concatenate([[0.0], np.cumsum(half * (speed @ _GAUSS[1]))])
    length = float(arc[finish] - arc[start])
    station = _grid(float(arc[0] - arc[start]), length, float(arc[-1] - arc[start]))
    parameter = CubicSpline(arc - arc[start], along)(station)
    curve = CubicSpline(station, rough(parameter), axis=0)
    first, second = curve(station, 1), curve(station, 2)
    bend = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    return ReferencePath(
        station=station,
        x=np.ascontiguousarray(curve(station)[:, 0]),
        y=np.ascontiguousarray(curve(station)[:, 1]),
        heading=np.unwrap(np.arctan2(first[:, 1], first[:, 0])),
        curvature=bend / np.hypot(first[:, 0], first[:, 1]) ** 3,
        length=length,
        curve=curve,
    )


def _grid(low: float, length: float, high: float) -> Array:
    """Stations from low to high with the start line and the finish line among them."""
    n = int(np.ceil(length / STEP))
    before = np.linspace(low, 0.0, int(np.ceil(-low / STEP)) + 1)[:-1]
    after = np.linspace(length, high, int(np.ceil((high - length) / STEP)) + 1)[1:]
    return np.concatenate([before, np.linspace(0.0, length, n + 1), after])


def path_along(line: Array, ends: Ends, *, run_out: float) -> ReferencePath:
    """A smooth path through a line that was solved, square to the start and finish lines and straight beyond.

    Parameters
    ----------
    line : Array, shape (n, 2)
        From the start line to the finish line. [m]
    ends : Ends
        Where the line begins and ends, with the directions of the straights.
    run_out : float
        Straight length behind the finish line. [m]
    """
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    even = np.linspace(0.0, arc[-1], max(8, round(float(arc[-1]))) + 1)
    inner = np.column_stack([np.interp(even, arc, line[:, k]) for k in (0, 1)])
    trust = np.minimum(1.0, (np.minimum(even, arc[-1] - even) / _TURN_SQUARE) ** 2) + 1e-4
    nodes, start, finish = _with_straights(inner, ends, run_out=run_out)
    weight = np.full(len(nodes), _PINNED)
    weight[start + 1 : finish] = trust[1:-1]
    return curve_through(_smoothed(nodes, weight), start=start, finish=finish)


def _smoothed(points: Array, weight: Array) -> Array:
    """Equally spaced points moved as little as a stiff strip allows.

    Minimises sum w |p - p0|^2 + sum k |third difference|^2, which leaves arcs and slow changes of curvature alone
    and takes out the ripple of a mesh.
    """
    n = len(points)
    band = np.zeros((4, n))
    band[0] = weight
    third = np.array([-1.0, 3.0, -3.0, 1.0])
    for a in range(4):
        for b in range(a, 4):
            band[b - a, a : a + n - 3] += _STIFFNESS * third[a] * third[b]
    return np.asarray(solveh_banded(band, weight[:, None] * points, lower=True))
