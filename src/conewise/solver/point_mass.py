"""Minimum time of a point mass in a corridor: friction, and optionally power, drag and mass."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from threading import Lock
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from conewise.errors import ConvergenceError, InputError
from conewise.solver.corridor_problem import FREE_OFFSET, LEAST_WIDENING, CorridorMesh

if TYPE_CHECKING:
    from conewise.solver.corridor_problem import CorridorPath

Array = NDArray[np.float64]
Numeric = Any  # float, Array or CasADi expression

LEAST_SPEED = 0.2  # of a moving car [m/s]
GREATEST_SPEED = 120.0  # [m/s]
GREATEST_HEADING = 1.4  # of the car to the reference path [rad]
GREATEST_CURVATURE = 0.5  # of the path driven [1/m]
GUESS_SHARE = 0.7  # of the friction that the first guess uses
GUESS_RADIUS = 60.0  # greatest radius that the speed of the first guess is meant for [m]
STATE_SIZES = (1.0, 0.3, 10.0, 0.1)  # usual sizes of all but the pull, whose size is the grip
_MOST_PROGRAMS = 6  # kept, one for a number of nodes
_ONE_AT_A_TIME = Lock()  # a program that is kept belongs to one thread at a time
STATE_ROWS = ("lateral_offset", "relative_heading", "speed", "path_curvature", "pull")


class PointMassInputError(InputError):
    """A number of the point mass cannot be used."""

    code = "point-mass-input"
    default_hint = "Friction, gravity, mass and power are above 0; power needs a mass."

    def __init__(self, field: str, value: float | None, wanted: str) -> None:
        super().__init__(f"{field} is {value}; it must be {wanted}.", where=field)


class PointMassStuckError(ConvergenceError):
    """The solver stopped before the point mass was through its corridor."""

    code = "point-mass-stuck"

    def __init__(self, status: str, iterations: int, station: float) -> None:
        super().__init__(
            f"The point mass did not get through after {iterations} iterations ({status}).",
            where=f"station {station:.0f} m",
            hint="Look at the corridor there: limits that jump sideways over a short distance cannot be followed.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PointMassProblem:
    """What is asked of the point mass. The finish is free in offset, heading and speed."""

    corridor: CorridorPath | CorridorMesh
    friction: float  # [-]
    gravity: float = 9.80665  # [m/s2]
    mass: float | None = None  # [kg]
    power: float | None = None  # at the wheels [W]
    drag_area: float = 0.0  # drag coefficient times frontal area [m2]
    air_density: float = 1.225  # [kg/m3]
    start_speed: float | None = 0.0  # None: free [m/s]
    start_offset: float | None = None  # None: free [m]
    is_coasting: bool = False  # neither drive nor brakes
    objective: Literal["time", "entry-speed"] = "time"

    @property
    def grip(self) -> float:
        """Greatest acceleration. [m/s2]"""
        return self.friction * self.gravity

    @property
    def specific_power(self) -> float:
        """Power over mass; infinite where no power is given. [W/kg]"""
        return np.inf if self.power is None or self.mass is None else self.power / self.mass

    @property
    def drag(self) -> float:
        """Deceleration by drag over speed squared. [1/m]"""
        return 0.0 if self.mass is None else self.air_density * self.drag_area / (2.0 * self.mass)


@dataclass(frozen=True, slots=True, kw_only=True)
class PointMassRun:
    """The run found. Arrays have shape (n_nodes,)."""

    time: float  # [s]
    station: Array  # along the reference path [m]
    elapsed: Array  # [s]
    x: Array  # east [m]
    y: Array  # north [m]
    heading: Array  # of the path driven [rad]
    lateral_offset: Array  # [m]
    relative_heading: Array  # [rad]
    speed: Array  # [m/s]
    path_curvature: Array  # of the path driven, left positive [1/m]
    ax: Array  # longitudinal acceleration [m/s2]
    ay: Array  # lateral acceleration, left positive [m/s2]
    bound_price: Array  # objective per metre that a limit at a node closes in, negative at a right limit [s/m]
    iterations: int

    @property
    def distance(self) -> float:
        """Length of the path driven. [m]"""
        return float(np.hypot(np.diff(self.x), np.diff(self.y)).sum())


def solve_point_mass(problem: PointMassProblem, *, step: float = 0.5) -> PointMassRun:
    """Fastest run of a point mass through a corridor.

    Parameters
    ----------
    problem : PointMassProblem
    step : float, default 0.5
        Greatest distance between nodes of a corridor given as a path. [m]

    Returns
    -------
    PointMassRun

    Raises
    ------
    CorridorError, PointMassInputError
        Where the problem cannot be posed.
    PointMassStuckError
        Where the solver stops without a solution.

    Notes
    -----
    Station domain, states n, xi, v, controls path curvature q and specific force f, trapezoid with the curvature of
    each interval: n' = (1 - n kappa) tan xi, xi' = q l - kappa, (v^2)' = 2 (f - c v^2) l, t' = l / v with
    l = (1 - n kappa) / cos xi; (q v^2)^2 + f^2 <= (mu g)^2 and f v <= P / m at the nodes; on a slope gravity
    adds to v' and takes from the lateral force. The step of v^2 and
    dt = 2 ds / (v_0 + v_1) are exact for a steady acceleration, so that a start from rest is no special case.
    """
    _check(problem)
    corridor = problem.corridor
    mesh = corridor if isinstance(corridor, CorridorMesh) else corridor.mesh(step)
    return _run(mesh, _solved(problem, mesh), problem)


def _check(problem: PointMassProblem) -> None:
    for name in ("friction", "gravity", "mass", "power"):
        value = getattr(problem, name)
        if value is not None and not (np.isfinite(value) and value > 0.0):
            raise PointMassInputError(name, value, "a number above 0")
    for name in ("drag_area", "start_speed"):
        value = getattr(problem, name)
        if value is not None and not (np.isfinite(value) and value >= 0.0):
            raise PointMassInputError(name, value, "0 or more")
    if problem.mass is None and (problem.power is not None or problem.drag_area > 0.0):
        raise PointMassInputError("mass", None, "given where power or drag is")
    if problem.start_speed == 0.0 and problem.is_coasting:
        raise PointMassInputError("start_speed", 0.0, "above 0 or free where the car coasts")


class _Numbers(NamedTuple):
    """What a program is told of its problem and mesh: numbers, or the symbols that stand for them."""

    grip: Numeric  # [m/s2]
    drag: Numeric  # [1/m]
    specific_power: Numeric  # 1 where nothing limits it [W/kg]
    step: Numeric  # of the n - 1 intervals [m]
    bend: Numeric  # of the intervals [1/m]
    along: Numeric  # pull of the ground at the n nodes [m/s2]
    across: Numeric  # [m/s2]
    friction: Numeric  # of the nodes, in units of the problem's [-]


class _Program(NamedTuple):
    """A program that was posed: its solver, and how many rows are gaps and limits."""

    solver: Any
    n_gaps: int
    n_limits: int


def _solved(problem: PointMassProblem, mesh: CorridorMesh) -> dict[str, Any]:
    """Solve in unknowns of about one; rows of `x` follow `STATE_ROWS`."""
    has_power = bool(np.isfinite(problem.specific_power))
    sizes = np.array([*STATE_SIZES, problem.grip])
    numbers = _Numbers(
        grip=problem.grip,
        drag=problem.drag,
        specific_power=problem.specific_power if has_power else 1.0,
        step=np.diff(mesh.station),
        bend=mesh.curvature,
        along=mesh.ground_along,
        across=mesh.ground_across,
        friction=mesh.friction,
    )
    low, high = _bounds(problem, mesh)
    with _ONE_AT_A_TIME:
        program = _program(mesh.station.size, is_timed=problem.objective == "time", has_power=has_power)
        answer = program.solver(
            x0=(_guess(problem, mesh, low, high) / sizes[:, None]).ravel(),
            p=np.concatenate([np.atleast_1d(value) for value in numbers]),
            lbx=(low / sizes[:, None]).ravel(),
            ubx=(high / sizes[:, None]).ravel(),
            lbg=np.concatenate([np.zeros(program.n_gaps), np.full(program.n_limits, -np.inf)]),
            ubg=np.concatenate([np.zeros(program.n_gaps), np.ones(program.n_limits)]),
        )
        statistics = program.solver.stats()
    iterations = int(statistics["iter_count"])
    if not statistics["success"]:
        gap = np.abs(np.array(answer["g"]).ravel()[: program.n_gaps]).reshape(3, -1).max(axis=0)
        raise PointMassStuckError(statistics["return_status"], iterations, mesh.station[int(np.argmax(gap))])
    return {
        "x": np.array(answer["x"]).reshape(sizes.size, -1) * sizes[:, None],
        "multipliers": np.array(answer["lam_x"]).reshape(sizes.size, -1) / sizes[:, None],
        "iterations": iterations,
    }


@lru_cache(maxsize=_MOST_PROGRAMS)
def _program(size: int, *, is_timed: bool, has_power: bool) -> _Program:
    """The program of a number of nodes, kept: its derivatives take three times as long as a solve.

    A course whose cones are moved has the same nodes as before, and so has the same course for another car.
    """
    from conewise.solver.symbols import casadi

    unknowns = [casadi.SX.sym(name, size) for name in STATE_ROWS]
    lengths = (1, 1, 1, size - 1, size - 1, size, size, size)
    told = _Numbers(*(casadi.SX.sym(name, n) for name, n in zip(_Numbers._fields, lengths, strict=True)))
    rows = [unit * symbol for unit, symbol in zip((*STATE_SIZES, told.grip), unknowns, strict=True)]
    time, gaps = _transcribed(rows, told)
    _, _, v, q, f = rows
    limits = [((q * v * v - told.across) ** 2 + f * f) / (told.friction * told.grip) ** 2]
    if has_power:
        limits.append(f * v / told.specific_power)
    nlp = {
        "x": casadi.vertcat(*unknowns),
        "p": casadi.vertcat(*told),
        "f": time if is_timed else -v[0],
        "g": casadi.vertcat(*gaps, *limits),
    }
    options: dict[str, Any] = {
        "print_time": 0,
        "ipopt": {"print_level": 0, "sb": "yes", "tol": 1e-9, "max_iter": 500, "mu_strategy": "adaptive"},
    }
    solver = casadi.nlpsol("point_mass", "ipopt", nlp, options)
    return _Program(solver=solver, n_gaps=3 * (size - 1), n_limits=len(limits) * size)


def _transcribed(rows: list[Numeric], told: _Numbers) -> tuple[Numeric, list[Numeric]]:
    """Time, and the gaps of offset, heading and squared speed over each interval."""
    from conewise.solver.symbols import casadi

    n, xi, v, q, f = rows
    step, bend = told.step, told.bend
    left, right = slice(0, -1), slice(1, None)
    pull = f - told.drag * v * v + told.along

    def rates(side: slice) -> tuple[Numeric, Numeric]:
        widening = 1.0 - n[side] * bend
        return widening * np.tan(xi[side]), widening / np.cos(xi[side])

    (drift_left, length_left), (drift_right, length_right) = rates(left), rates(right)
    gaps = [
        n[right] - n[left] - step * (drift_left + drift_right) / 2.0,
        xi[right] - xi[left] - step * (q[left] * length_left + q[right] * length_right) / 2.0 + step * bend,
        (v[right] ** 2 - v[left] ** 2 - step * (pull[left] * length_left + pull[right] * length_right)) / told.grip,
    ]
    time = casadi.sum1(step * (length_left + length_right) / (v[left] + v[right]))
    return time, gaps


def _bounds(problem: PointMassProblem, mesh: CorridorMesh) -> tuple[Array, Array]:
    """Lower and upper bounds, shape (5, n_nodes)."""
    size = mesh.station.size
    most = np.array([0.0, GREATEST_HEADING, GREATEST_SPEED, GREATEST_CURVATURE, problem.grip])
    low, high = np.tile(-most[:, None], (1, size)), np.tile(most[:, None], (1, size))
    low[0], high[0] = _offset_bounds(mesh)
    low[2] = LEAST_SPEED
    if problem.start_speed is not None:
        low[2, 0] = high[2, 0] = problem.start_speed
    if problem.start_speed == 0.0:
        low[3, 0] = high[3, 0] = 0.0  # the heading is free, so a turn at rest means nothing
    if problem.start_offset is not None:
        low[0, 0] = high[0, 0] = problem.start_offset
    if problem.is_coasting:
        low[4] = high[4] = 0.0
    return low, high


def _offset_bounds(mesh: CorridorMesh) -> tuple[Array, Array]:
    """Limits of the offset, drawn in where the reference path would fold."""
    bend = np.array([np.append(mesh.curvature, 0.0), np.insert(mesh.curvature, 0, 0.0)])
    leftmost, rightmost = np.maximum(bend.max(axis=0), 1e-9), np.minimum(bend.min(axis=0), -1e-9)
    room = 1.0 - LEAST_WIDENING
    return np.maximum(mesh.n_min, room / rightmost), np.minimum(mesh.n_max, room / leftmost)


def _guess(problem: PointMassProblem, mesh: CorridorMesh, low: Array, high: Array) -> Array:
    """Along the reference path or the nearest limit, straight across gaps, at a speed with friction to spare."""
    s, grip = mesh.station, GUESS_SHARE * problem.grip * float(mesh.friction.min())
    offset = np.clip(0.0, low[0], high[0])
    held = high[0] - low[0] < FREE_OFFSET
    if held.any():
        offset = np.interp(s, s[held], offset[held])
    bend = np.append(mesh.curvature, mesh.curvature[-1])
    squared = grip / np.maximum(np.abs(bend), 1.0 / GUESS_RADIUS)
    if problem.start_speed is not None:
        squared[0] = problem.start_speed**2
    slope = 2.0 * grip * (not problem.is_coasting)
    rising = np.minimum.accumulate(squared - slope * s) + slope * s
    falling = np.minimum.accumulate((rising + slope * s)[::-1])[::-1] - slope * s
    speed = np.clip(np.sqrt(np.maximum(falling, 0.0)), low[2], high[2])
    pull = np.clip(np.gradient(speed**2 / 2.0, s), low[4], high[4])
    return np.array([offset, np.zeros_like(s), speed, np.clip(bend, low[3], high[3]), pull])


def _run(mesh: CorridorMesh, solved: dict[str, Any], problem: PointMassProblem) -> PointMassRun:
    n, xi, v, q, f = solved["x"]
    widening = 1.0 - np.array([n[:-1], n[1:]]) * mesh.curvature
    length = np.diff(mesh.station) * (widening / np.cos(np.array([xi[:-1], xi[1:]]))).mean(axis=0)
    elapsed = np.concatenate([[0.0], np.cumsum(2.0 * length / (v[:-1] + v[1:]))])
    x, y = mesh.plan(n)
    return PointMassRun(
        time=float(elapsed[-1]),
        station=mesh.station,
        elapsed=elapsed,
        x=x,
        y=y,
        heading=mesh.heading + xi,
        lateral_offset=n,
        relative_heading=xi,
        speed=v,
        path_curvature=q,
        ax=f - problem.drag * v**2 + mesh.ground_along,
        ay=q * v**2,
        bound_price=solved["multipliers"][0],
        iterations=solved["iterations"],
    )
