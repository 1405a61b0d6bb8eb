"""Replay of a solved run by an independent fourth-order integrator with small steps.

The car is driven along the solved steer and command, with the path's own curvature instead of interval means, and
with the accelerations found by Newton's method instead of lifted unknowns. Open loop over short windows restarted
at the nodes shows the discretisation's error; a whole run needs a driver who tracks the line, since a run at the
limit diverges.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import expm

from conewise.smooth import clip
from conewise.solver.machine import MachineFunction
from conewise.solver.symbols import casadi as ca
from conewise.vehicle.motion import CarState, motion
from conewise.vehicle.parameters import N_GEARS, ModelParameters

if TYPE_CHECKING:
    from conewise.solver.problem import Point, Problem

Array = NDArray[np.float64]

STEP_TIME = 0.01  # longest step of the integrator [s]
WINDOW = 10.0  # length of an open-loop window [m]
N_REPLAYED = 8  # v_x, v_y, yaw rate, roll, roll rate, lateral offset, heading error, time
TRACKED = ("v_x", "v_y", "yaw_rate", "roll", "roll_rate", "lateral_offset", "relative_heading")
REFERENCE = ("road_wheel_angle", "command", *TRACKED, "curvature")  # at the start, middle and end of a step
LOCAL = (*(f"gear_{i + 1}" for i in range(N_GEARS)), "drive", "friction", "ground_along", "ground_across", "step")
N_GAINS = 2 * len(TRACKED)
TOLERATED = np.array([0.5, 0.5, 0.3, 0.05, 0.5, 0.2, 0.2])  # deviations that the tracking driver weighs alike
WILLING = np.array([0.05, 0.1])  # corrections of steer [rad] and command that it weighs like them


@dataclass(frozen=True, slots=True, kw_only=True)
class Drift:
    """How far open-loop windows end from the solved nodes; arrays have shape (n_windows,)."""

    station: Array  # start of the window [m]
    lateral: Array  # [m]
    speed: Array  # [m/s]


@lru_cache(maxsize=1)
def step_function() -> Any:
    """(state, accelerations, references, local, gains, p) -> state and accelerations after one Runge-Kutta step."""
    y0, a0 = ca.SX.sym("y", N_REPLAYED), ca.SX.sym("a", 2)
    references = ca.SX.sym("r", 3 * len(REFERENCE))
    columns, gains = ca.SX.sym("l", len(LOCAL)), ca.SX.sym("k", N_GAINS)
    vector = ca.SX.sym("p", ModelParameters.size())
    local = {name: columns[i] for i, name in enumerate(LOCAL)}
    rates = _rates_function()
    h = local["step"]

    def slope(y: Any, a: Any, at: int) -> tuple[Any, Any]:
        reference = references[at * len(REFERENCE) : (at + 1) * len(REFERENCE)]
        k, found = rates(y, a, reference, columns, gains, vector)
        return k, found

    k1, a1 = slope(y0, a0, 0)
    k2, a2 = slope(y0 + h / 2 * k1, a1, 1)
    k3, a3 = slope(y0 + h / 2 * k2, a2, 1)
    k4, a4 = slope(y0 + h * k3, a3, 2)
    after = y0 + h / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
    return ca.Function("step", [y0, a0, references, columns, gains, vector], [after, a4])


@lru_cache(maxsize=1)
def step_code() -> MachineFunction:
    """The step as machine code over the columns of many windows."""
    return MachineFunction(step_function(), broadcast={5})


@lru_cache(maxsize=1)
def _rates_function() -> Any:
    """(state, guess, references, local, gains, p) -> rates by station, accelerations."""
    y, guess = ca.SX.sym("y", N_REPLAYED), ca.SX.sym("a", 2)
    reference, columns = ca.SX.sym("r", len(REFERENCE)), ca.SX.sym("l", len(LOCAL))
    gains, vector = ca.SX.sym("k", N_GAINS), ca.SX.sym("p", ModelParameters.size())
    local = {name: columns[i] for i, name in enumerate(LOCAL)}
    r = {name: reference[i] for i, name in enumerate(REFERENCE)}
    p = ModelParameters.from_vector([vector[i] for i in range(vector.numel())])
    p = ModelParameters(
        **{n: getattr(p, n) for n in p.__dataclass_fields__} | {"surface": p.surface * local["friction"]}
    )
    steer, command = _tracked(y, r, gains, p)
    gear = [local[f"gear_{i + 1}"] for i in range(N_GEARS)] + [local["drive"]]
    state = CarState(
        v_x=y[0], v_y=y[1], yaw_rate=y[2], roll=y[3], roll_rate=y[4], road_wheel_angle=steer, command=command
    )
    ground_x = local["ground_along"] * np.cos(y[6]) + local["ground_across"] * np.sin(y[6])
    ground_y = local["ground_across"] * np.cos(y[6]) - local["ground_along"] * np.sin(y[6])
    a = ca.SX.sym("a", 2)
    m = motion(state, a[0], a[1], gear=gear, p=p, ground_x=ground_x)
    residual = ca.vertcat(m.residual_x, m.residual_y)
    J = ca.jacobian(residual, a)
    other = [y, reference, columns, gains, vector]
    newton = ca.Function("newton", [a, *other], [a - ca.solve(J, residual)])
    accelerations = ca.Function("accelerations", [a, *other], [ca.vertcat(m.yaw_acceleration, m.roll_acceleration)])
    found = newton(newton(guess, *other), *other)
    angular = accelerations(found, *other)
    along = y[0] * np.cos(y[6]) - y[1] * np.sin(y[6])
    across = y[0] * np.sin(y[6]) + y[1] * np.cos(y[6])
    slowness = (1.0 - y[5] * r["curvature"]) / along
    by_time = ca.vertcat(
        found[0] + ground_x + y[1] * y[2],
        found[1] + ground_y - y[0] * y[2],
        angular[0],
        y[4],
        angular[1],
        across,
        y[2],
        1.0,
    )
    turned = ca.vertcat(ca.SX.zeros(6), r["curvature"], 0.0)
    return ca.Function("rates", [y, guess, *other[1:]], [by_time * slowness - turned, found])


def _tracked(y: Any, r: dict[str, Any], gains: Any, p: ModelParameters) -> tuple[Any, Any]:
    """Steer and command of a driver who corrects towards the solved line and speed; zero gains: as solved."""
    away = [y[i] - r[name] for i, name in enumerate(TRACKED)]
    steer, command = (
        r[name] - sum(gains[j * len(TRACKED) + i] * away[i] for i in range(len(TRACKED)))
        for j, name in enumerate(("road_wheel_angle", "command"))
    )
    return (
        clip(steer, -p.road_wheel_limit, p.road_wheel_limit, 1e-4),
        clip(command, -1.0, 1.0, 1e-4),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Table:
    """Steps of the integrator along the run, shape (n_columns, n_steps)."""

    references: Array
    local: Array
    first: NDArray[np.int64]  # first step of each interval, shape (n_intervals + 1,)
    start: Array  # states at the nodes, shape (N_REPLAYED, n_nodes)
    accelerations: Array  # shape (2, n_nodes)


def _table(problem: Problem, point: Point) -> _Table:
    mesh, v = problem.mesh, point.variables
    station, elapsed = mesh.station, np.concatenate([[0.0], np.cumsum(interval_times(problem, point))])
    counts = 2 * np.maximum(1, np.ceil(np.diff(elapsed) / STEP_TIME / 2.0)).astype(int)
    first = np.concatenate([[0], np.cumsum(counts)])
    interval = np.repeat(np.arange(len(counts)), counts)
    within = np.arange(first[-1]) - first[interval]
    step = mesh.step[interval] / counts[interval]
    begin = station[interval] + within * step
    rows = []
    for share in (0.0, 0.5, 1.0):
        at = begin + share * step
        rows += [np.interp(at, station, v[name]) for name in REFERENCE[:-1]]
        rows += [problem.geometry.path.at(at).curvature]
    near = interval + (within >= counts[interval] / 2)
    gear = problem.gears.gear[near]
    local = [(gear == i + 1).astype(float) for i in range(N_GEARS)] + [problem.gears.drive[near]]
    local += [
        np.interp(begin + step / 2, station, getattr(mesh, n)) for n in ("friction", "ground_along", "ground_across")
    ]
    start = np.stack([v[name] for name in TRACKED] + [elapsed])
    accelerations = np.stack([v["specific_x"], v["specific_y"]])
    return _Table(
        references=np.stack(rows), local=np.stack([*local, step]), first=first, start=start, accelerations=accelerations
    )


def interval_times(problem: Problem, point: Point) -> Array:
    """Time of each interval of the mesh by the trapezoid, shape (n_nodes - 1,). [s]"""
    v = point.variables
    along = v["v_x"] * np.cos(v["relative_heading"]) - v["v_y"] * np.sin(v["relative_heading"])
    bend, n = problem.mesh.curvature, v["lateral_offset"]
    left, right = (1.0 - n[:-1] * bend) / along[:-1], (1.0 - n[1:] * bend) / along[1:]
    return np.asarray(problem.mesh.step / 2.0 * (left + right))


def window_drift(problem: Problem, point: Point) -> Drift:
    """Replay the run open loop in windows restarted at the nodes.

    Returns
    -------
    Drift
        Difference of lateral offset and speed from the solved node at each window's end.
    """
    table, station = _table(problem, point), problem.mesh.station
    wanted = np.arange(station[0], station[-1] - WINDOW / 2.0, WINDOW)
    begin = np.unique(np.searchsorted(station, wanted))
    end = np.append(begin[1:], len(station) - 1)
    n_steps = table.first[end] - table.first[begin]
    step, p = step_code(), problem.p.vector()
    y, a = table.start[:, begin], table.accelerations[:, begin]
    gains = np.zeros((N_GAINS, len(begin)))
    for j in range(int(n_steps.max())):
        at = np.minimum(table.first[begin] + j, table.first[-1] - 1)
        local = table.local[:, at].copy()
        local[-1] = np.where(j < n_steps, local[-1], 0.0)
        y, a = step(y, a, table.references[:, at], local, gains, p)
    final = table.start[:, end]
    return Drift(station=station[begin], lateral=np.abs(y[5] - final[5]), speed=np.abs(y[0] - final[0]))


@lru_cache(maxsize=1)
def _linear_function() -> Any:
    """Jacobians of the rates by the tracked states and by steer and command."""
    rates = _rates_function()
    symbols = [ca.SX.sym(rates.name_in(i), rates.sparsity_in(i)) for i in range(rates.n_in())]
    slope, _ = rates(*symbols)
    by_state = ca.jacobian(slope, symbols[0])[: len(TRACKED), : len(TRACKED)]
    by_input = ca.jacobian(slope, symbols[2])[: len(TRACKED), :2]
    return ca.Function("linear", symbols, [ca.densify(ca.horzcat(by_state, by_input))])


def _gains(problem: Problem, table: _Table) -> Array:
    """Feedback of the tracking driver for each interval, shape (N_GAINS, n_intervals): linear-quadratic regulator.

    References
    ----------
    Bryson and Ho, Applied Optimal Control, 1975, section 5.2 (discrete Riccati recursion; from memory).
    """
    n, width = len(TRACKED), len(TRACKED) + 2
    at = table.first[:-1]
    states, references = table.start[:, :-1], table.references[: len(REFERENCE), at]
    p = np.repeat(problem.p.vector()[:, None], len(at), axis=1)
    none = np.zeros((N_GAINS, len(at)))
    slopes = _linear_function().map(len(at), "serial")(
        states, table.accelerations[:, :-1], references, table.local[:, at], none, p
    )
    continuous = np.zeros((len(at), width, width))
    continuous[:, :n] = np.asarray(slopes, dtype=float).reshape(n, len(at), width).transpose(1, 0, 2)
    discrete = expm(continuous * problem.mesh.step[:, None, None])
    A, B = discrete[:, :n, :n], discrete[:, :n, n:]
    Q, R = np.diag(TOLERATED**-2), np.diag(WILLING**-2)
    S, gains = Q, np.zeros((len(at), 2, n))
    for k in range(len(at) - 1, -1, -1):
        BS = B[k].T @ S
        gains[k] = np.linalg.solve(R + BS @ B[k], BS @ A[k])
        S = Q + A[k].T @ S @ (A[k] - B[k] @ gains[k])
        S = (S + S.T) / 2.0
    return gains.reshape(len(at), N_GAINS).T


@dataclass(frozen=True, slots=True, kw_only=True)
class Tracked:
    """A whole run by a driver who tracks the solved line; arrays have shape (n_steps,)."""

    time: float  # between the beams, as in the solve [s]
    station: Array  # at the end of each step [m]
    away: Array  # distance from the line there, across it [m]

    def difference(self, time: float) -> float:
        """Share of the solved time [s] by which it is off; infinite where the car left the course."""
        return abs(self.time / time - 1.0) if np.isfinite(self.time) else float("inf")


def tracked_run(problem: Problem, point: Point) -> Tracked:
    """The run of a driver who tracks the solved line."""
    table = _table(problem, point)
    last = int(table.first[problem.mesh.finish])
    interval = np.searchsorted(table.first, np.arange(last), side="right") - 1
    gains = _gains(problem, table)[:, interval]
    states = step_code().following(
        [table.start[:, 0], table.accelerations[:, 0]],
        [table.references[:, :last], table.local[:, :last], gains],
        problem.p.vector(),
    )
    offset = table.references[2 * len(REFERENCE) + REFERENCE.index("lateral_offset"), :last]
    launch = float(point.time - interval_times(problem, point)[: problem.mesh.finish].sum())
    return Tracked(
        time=float(states[7, -1]) + launch,
        station=problem.mesh.station[0] + np.cumsum(table.local[-1, :last]),
        away=np.abs(states[5] - offset),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Replays:
    """A run driven again: in windows and, where it was asked for, as a whole."""

    drift: Drift
    tracked: Tracked | None


def replayed(problem: Problem, point: Point, *, tracks: bool = True) -> Replays:
    """Both replays of a run; the whole one only if it `tracks`."""
    return Replays(drift=window_drift(problem, point), tracked=tracked_run(problem, point) if tracks else None)
