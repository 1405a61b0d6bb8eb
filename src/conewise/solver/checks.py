"""What every solution is put to before anyone sees it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.course.geometry import BoundKind
from conewise.runs import clear_of
from conewise.solver.line_results import body_of
from conewise.solver.node import LIMITS, LIMITS_HIGH, NODE_DATA, node_code
from conewise.solver.result import Check
from conewise.solver.transcription import FIRST_LIMIT

if TYPE_CHECKING:
    from conewise.solver import replay
    from conewise.solver.problem import Point, Problem

Array = NDArray[np.float64]

FINE_STEP = 0.1  # grid of the outline and friction checks [m]
FOLD_LIMIT = 0.3  # least 1 - n kappa
CLEARANCE_LIMIT = -0.01  # least clearance over the margin asked for [m]
USE_LIMIT = 0.02  # how far a limit may be passed between nodes
DRIFT_USUAL, DRIFT_WORST, DRIFT_SPEED = 0.03, 0.10, 0.1  # [m], [m], [m/s]
TRACKED_LIMIT = 0.003  # share of the time
TRACKED_LEAD = 30.0  # what leads off the line is looked for this far before [m]
TRACKED_AWAY = 0.1  # a tracking driver who is further from the line than this is off it [m]
ACTIVE = 2e-3  # nearer than this to a bound the line leans on it [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class FineLine:
    """The solved line between the nodes; arrays have shape (n_points,)."""

    station: Array
    x: Array
    y: Array
    heading: Array  # of the body [rad]
    offset: Array


def fine_line(problem: Problem, point: Point) -> FineLine:
    """The line on a grid of `FINE_STEP`, cubic in lateral offset with the slopes that the model gives."""
    mesh, v = problem.mesh, point.variables
    station = np.arange(mesh.station[0], mesh.station[-1], FINE_STEP)
    path = problem.geometry.path.at(station)
    n, xi = v["lateral_offset"], v["relative_heading"]
    course = xi + np.arctan2(v["v_y"], v["v_x"])
    bend = problem.geometry.path.at(mesh.station).curvature
    slope = (1.0 - n * bend) * np.tan(course)
    offset = _hermite(mesh.station, n, slope, station)
    heading = path.heading + np.interp(station, mesh.station, xi)
    return FineLine(
        station=station,
        x=path.x - offset * np.sin(path.heading),
        y=path.y + offset * np.cos(path.heading),
        heading=heading,
        offset=offset,
    )


def _hermite(at: Array, value: Array, slope: Array, asked: Array) -> Array:
    i = np.clip(np.searchsorted(at, asked, side="right") - 1, 0, len(at) - 2)
    h = at[i + 1] - at[i]
    t = (asked - at[i]) / h
    return np.asarray(
        value[i] * (1 + 2 * t) * (1 - t) ** 2
        + value[i + 1] * t**2 * (3 - 2 * t)
        + h * (slope[i] * t * (1 - t) ** 2 - slope[i + 1] * t**2 * (1 - t))
    )


def clearances(problem: Problem, line: FineLine) -> Array:
    """Least distance of the body's rectangle to each pass's cone on the fine line, shape (n_passes,). [m]"""
    body = body_of(problem.p)
    reach = body.length / 2.0 + 2.0
    pose = np.column_stack([line.x, line.y, line.heading])
    answers = np.full(len(problem.geometry.passes), np.inf)
    for i, cone in enumerate(problem.geometry.passes):
        near = np.flatnonzero(np.abs(line.station + body.middle - cone.station) <= reach)
        if len(near):
            answers[i] = float(np.min(clear_of(body, cone, pose[near])))
    return answers


def leaning(problem: Problem, point: Point) -> Array:
    """Stations at which the line leans on a search or fold bound, which nothing on the lot stands for. [m]"""
    geometry, mesh, n = problem.geometry, problem.mesh, point.variables["lateral_offset"]
    stations = []
    for bound, kinds in ((mesh.n_low, geometry.n_min_kind), (mesh.n_high, geometry.n_max_kind)):
        nearest = np.searchsorted(geometry.path.station, mesh.station).clip(0, len(kinds) - 1)
        nobody = np.isin(np.asarray(kinds)[nearest], (BoundKind.SEARCH, BoundKind.FOLD))
        stations.append(mesh.station[(np.abs(n - bound) < ACTIVE) & nobody])
    return np.sort(np.concatenate(stations))


def limits_between(problem: Problem, point: Point) -> tuple[Array, Array]:
    """Greatest excess over the model's limits half way between the nodes, and the stations. [m]"""
    mesh = problem.mesh
    middle = (point.z[:-1] + point.z[1:]) / 2.0
    data = problem.mesh.node_data(problem.gears, 0.0)
    ground = [NODE_DATA.index(name) for name in ("friction", "ground_along", "ground_across")]
    data[ground, :-1] = (data[ground, :-1] + data[ground, 1:]) / 2.0  # the gear is that of the node before
    limits = node_code().value(middle.T, data[:, :-1], problem.p.vector())[0][FIRST_LIMIT:]
    kinds = [i for i, name in enumerate(LIMITS) if name.startswith(("use", "slip", "engine"))]
    excess = np.max(np.abs(limits[kinds]) - LIMITS_HIGH[kinds][:, None], axis=0)
    shifted = np.diff(problem.gears.gear) != 0
    return np.where(shifted, -1.0, excess), (mesh.station[:-1] + mesh.station[1:]) / 2.0


def run_checks(problem: Problem, point: Point, replays: replay.Replays) -> tuple[Check, ...]:
    """Every check of a solved run, driven as a whole too, with the feature of the worst value."""
    drift, tracked = replays.drift, replays.tracked
    assert tracked is not None
    off = _stations_off(tracked)
    first_off = float(off[0]) if len(off) else 0.0
    geometry, mesh, v = problem.geometry, problem.mesh, point.variables

    def place(station: float) -> str:
        return geometry.span_at(float(station)).id

    bend = np.concatenate([mesh.curvature, mesh.curvature[-1:]])
    fold = 1.0 - v["lateral_offset"] * bend
    along = v["v_x"] * np.cos(v["relative_heading"]) - v["v_y"] * np.sin(v["relative_heading"])
    line = fine_line(problem, point)
    spare = clearances(problem, line) - problem.margins
    closest = int(np.argmin(spare))
    lean = leaning(problem, point)
    excess, between = limits_between(problem, point)
    usual = float(np.percentile(drift.lateral, 95))
    worst = int(np.argmax(drift.lateral))

    def at_most(name: str, value: float, limit: float, unit: str, station: float) -> Check:
        return Check(name=name, ok=bool(value <= limit), value=value, limit=limit, unit=unit, where=place(station))

    def at_least(name: str, value: float, limit: float, unit: str, station: float) -> Check:
        return Check(name=name, ok=bool(value >= limit), value=value, limit=limit, unit=unit, where=place(station))

    return (
        at_least("no fold", float(fold.min()), FOLD_LIMIT - 1e-6, "", mesh.station[int(np.argmin(fold))]),
        at_least("forward speed", float(along.min()), 1.0 - 1e-6, "m/s", mesh.station[int(np.argmin(along))]),
        at_most("free of search bounds", float(len(lean)), 0.0, "nodes", lean[0] if len(lean) else 0.0),
        at_least(
            "clearance over the margin", float(spare[closest]), CLEARANCE_LIMIT, "m", geometry.passes[closest].station
        ),
        at_most("limits between nodes", float(excess.max()), USE_LIMIT, "", between[int(np.argmax(excess))]),
        at_most("replay drift, 95%", usual, DRIFT_USUAL, "m", drift.station[worst]),
        at_most("replay drift, worst", float(drift.lateral.max()), DRIFT_WORST, "m", drift.station[worst]),
        at_most(
            "replay speed", float(drift.speed.max()), DRIFT_SPEED, "m/s", drift.station[int(np.argmax(drift.speed))]
        ),
        at_most("tracked run", tracked.difference(point.time), TRACKED_LIMIT, "of the time", first_off),
    )


def off_line(point: Point, replays: replay.Replays) -> Array:
    """Stations that lead the tracking driver off the line, and those where it is off, if the time says so. [m]"""
    tracked = replays.tracked
    if tracked is None or tracked.difference(point.time) <= TRACKED_LIMIT:
        return np.zeros(0)
    off = _stations_off(tracked)
    return np.concatenate([off[:1] - step for step in np.arange(1.0, TRACKED_LEAD)] + [off])


def _stations_off(tracked: replay.Tracked) -> Array:
    """Where the tracking driver is off the line. [m]"""
    return tracked.station[~(tracked.away <= TRACKED_AWAY)]
