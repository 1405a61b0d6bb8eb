"""Where the nodes of a solve lie along the reference path, and the data that each of them carries."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.solver.node import CONE_DATA, NODE_DATA
from conewise.vehicle.parameters import N_GEARS, ModelParameters

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry
    from conewise.solver.gears import GearPlan

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Splits = tuple[Array, ...]

LONGEST_TIME = 0.08  # [s]
LONGEST_STEP = 2.0  # [m]
CONE_STEP = 0.6  # [m]
CONE_REACH = 2.6  # [m]
END_STEP = 0.3  # while an end of the body passes a cone: the outline has its corners there [m]
END_REACH = 0.4  # [m]
TEST_REACH = 2.0  # a cone is tested while it is within half the body and this of the body's middle [m]
SPLIT_REACH = 4.0  # either side of an interval that a check found too long [m]
LEAST_START = 0.3  # the first node lies where the car has rolled at least this far from rest [m]
MERGE = 0.2  # wanted nodes nearer than this are one [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mesh:
    """Nodes, and the cones tested at each of them. Frozen while parameters change."""

    station: Array  # of the centre of gravity, shape (n_nodes,) [m]
    x: Array  # of the reference path [m]
    y: Array  # [m]
    heading: Array  # [rad]
    n_low: Array  # search bounds of the lateral offset [m]
    n_high: Array
    finish: int  # node at which the front of the car meets the finish beam
    extra: float  # front of the car beyond the start beam at the first node [m]
    friction: Array
    ground_along: Array  # gravity along the path [m/s2]
    ground_across: Array  # gravity to the left [m/s2]
    pair_node: Index  # shape (n_pairs,)
    pair_cone: Index  # index into the geometry's passes, shape (n_pairs,)
    pair_data: Array  # shape (4, n_pairs)
    splits: Splits = ()  # where it was made finer, round by round [m]

    @property
    def step(self) -> Array:
        """Lengths of the intervals. [m]"""
        return np.diff(self.station)

    @property
    def curvature(self) -> Array:
        """Mean curvature of the intervals: heading difference over length. [1/m]"""
        return np.diff(self.heading) / self.step

    def node_data(self, gears: GearPlan, smoothing: float) -> Array:
        """What `node.NODE_DATA` lists, shape (n_data, n_nodes)."""
        zero = [0.0]
        timed = np.where(np.arange(len(self.step)) < self.finish, self.step, 0.0)
        kappa = self.curvature
        columns: dict[str, Array] = {
            "curvature_left": np.concatenate([kappa[:1], kappa]),
            "curvature_right": np.concatenate([kappa, kappa[-1:]]),
            "step_left": np.concatenate([zero, self.step]),
            "step_right": np.concatenate([self.step, zero]),
            "time_left": np.concatenate([zero, timed]),
            "time_right": np.concatenate([timed, zero]),
            "drive": gears.drive,
            "friction": self.friction,
            "ground_along": self.ground_along,
            "ground_across": self.ground_across,
            "smoothing": np.full(len(self.station), smoothing),
        }
        columns |= {f"gear_{i + 1}": (gears.gear == i + 1).astype(float) for i in range(N_GEARS)}
        return np.stack([columns[name] for name in NODE_DATA])


def build_mesh(
    geometry: CourseGeometry, p: ModelParameters, speed: Array, *, refine: float = 1.0, splits: Splits = ()
) -> Mesh:
    """Nodes for a course.

    Parameters
    ----------
    geometry : CourseGeometry
    p : ModelParameters
        The car's lengths and the staging distance decide where the clock starts and stops.
    speed : Array, shape (n_points,)
        Point-mass speed on the points of the reference path. [m/s]
    refine : float, default 1.0
        Factor on every step; 0.5 halves the mesh.
    splits : tuple of Array, optional
        Stations of intervals that a check found too long, round by round; every round halves the step there. [m]
    """
    path = geometry.path
    extra = max(0.0, LEAST_START - float(p.staging))
    start, finish = extra - float(p.front_reach), path.length - float(p.front_reach)
    end = min(path.length + float(p.body_length - p.front_reach) + 0.5, float(path.station[-1]) - 0.5)
    cones = np.array([cone.station for cone in geometry.passes])
    wanted = np.unique(np.concatenate([[start, finish, end], cones[(cones > start) & (cones < end)]]))
    station = _spread(
        _merged(wanted, keep=(start, finish, end)),
        _steps(path.station, speed, cones - p.body_middle, float(p.body_length) / 2, refine, splits),
    )
    points = path.at(station)
    i_finish = int(np.argmin(np.abs(station - finish)))
    pair_node, pair_cone, pair_data = _pairs(geometry, p, station, points)
    ground_along = geometry.ground_x * np.cos(points.heading) + geometry.ground_y * np.sin(points.heading)
    ground_across = geometry.ground_y * np.cos(points.heading) - geometry.ground_x * np.sin(points.heading)
    return Mesh(
        station=station,
        x=points.x,
        y=points.y,
        heading=points.heading,
        n_low=np.interp(station, path.station, geometry.n_min),
        n_high=np.interp(station, path.station, geometry.n_max),
        finish=i_finish,
        extra=extra,
        friction=np.interp(station, path.station, geometry.friction),
        ground_along=ground_along,
        ground_across=ground_across,
        pair_node=pair_node,
        pair_cone=pair_cone,
        pair_data=pair_data,
        splits=splits,
    )


def _steps(
    at: Array, speed: Array, cones: Array, half_length: float, refine: float, splits: Splits
) -> tuple[Array, Array]:
    """Longest step on a dense grid of stations; `cones` are the stations of the car abreast of each cone."""
    grid = np.arange(at[0], at[-1], 0.1)
    step = np.minimum(LONGEST_STEP, LONGEST_TIME * np.interp(grid, at, speed))
    if len(cones):
        away = np.abs(grid[:, None] - np.sort(cones)[None, :])
        step = np.where(np.min(away, axis=1) <= CONE_REACH, np.minimum(step, CONE_STEP), step)
        ends = np.min(np.abs(away - half_length), axis=1) <= END_REACH
        step = np.where(ends, np.minimum(step, END_STEP), step)
    for places in splits:
        near = np.min(np.abs(grid[:, None] - places[None, :]), axis=1) <= SPLIT_REACH
        step = np.where(near, step / 2.0, step)
    return grid, step * refine


def _merged(wanted: Array, keep: tuple[float, ...]) -> Array:
    kept: list[float] = []
    for value in wanted:
        if kept and value - kept[-1] < MERGE:
            if value in keep:
                kept[-1] = value
            continue
        kept.append(float(value))
    return np.array(kept)


def _spread(wanted: Array, steps: tuple[Array, Array]) -> Array:
    """Nodes at the wanted stations and between them as dense as the steps ask."""
    grid, step = steps
    count = np.concatenate([[0.0], np.cumsum(np.diff(grid) / step[1:])])
    at = np.interp(wanted, grid, count)
    parts = []
    for low, high in itertools.pairwise(at):
        n = max(1, int(np.ceil(high - low - 1e-6)))
        parts.append(np.interp(np.linspace(low, high, n, endpoint=False), count, grid))
    parts.append(wanted[-1:])
    return np.concatenate(parts)


def _pairs(geometry: CourseGeometry, p: ModelParameters, station: Array, points: object) -> tuple[Index, Index, Array]:
    """Which cone is tested at which node, and where it lies seen from there."""
    reach = float(p.body_length) / 2.0 + TEST_REACH
    middle = station + float(p.body_middle)
    nodes, cones, data = [], [], []
    for i, cone in enumerate(geometry.passes):
        at = np.flatnonzero(np.abs(middle - cone.station) <= reach)
        dx, dy = cone.x - points.x[at], cone.y - points.y[at]  # type: ignore[attr-defined]
        c, s = np.cos(points.heading[at]), np.sin(points.heading[at])  # type: ignore[attr-defined]
        nodes.append(at)
        cones.append(np.full(len(at), i))
        data.append(
            np.stack([dx * c + dy * s, dy * c - dx * s, np.full(len(at), cone.side), np.full(len(at), cone.radius)])
        )
    if not nodes:
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64), np.zeros((len(CONE_DATA), 0))
    return np.concatenate(nodes), np.concatenate(cones), np.concatenate(data, axis=1)
