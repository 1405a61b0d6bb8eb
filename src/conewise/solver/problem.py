"""One minimum-time problem: a course, a car, a mesh and gears; solved cold in stages or warm from a solution."""

from __future__ import annotations

import time as clock
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from conewise.errors import ConvergenceError
from conewise.solver.node import HEADING, N_STATES, N_VARIABLES, OFFSET, SCALE, VARIABLES
from conewise.solver.transcription import N_LOCAL, Program

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry
    from conewise.solver.gears import GearPlan
    from conewise.solver.mesh import Mesh
    from conewise.vehicle.parameters import ModelParameters

Array = NDArray[np.float64]

STAGES = (1e-3, 1e-4, 2e-5, 5e-6)  # weight of the smoothing of steer and command slopes
STEER = VARIABLES.index("road_wheel_angle")
LEAST_SPEED, GREATEST_SPEED = 1.0, 70.0  # [m/s]
GREATEST_HEADING = 1.3  # of the car to the path [rad]
QUIET = {"sb": "yes", "print_level": 0}
COLD = QUIET | {"max_iter": 400, "tol": 1e-3, "mu_init": 1.0}
WARM = QUIET | {
    "max_iter": 400,
    "warm_start_init_point": "yes",
    "warm_start_bound_push": 1e-6,
    "warm_start_bound_frac": 1e-6,
    "warm_start_slack_bound_push": 1e-6,
    "warm_start_slack_bound_frac": 1e-6,
    "warm_start_mult_bound_push": 1e-6,
}


class SolverStoppedError(ConvergenceError):
    """The solver stopped before it found a run."""

    code = "solver-stopped"

    def __init__(self, status: str, *, feature: str, station: float, violation: float, iterations: int) -> None:
        super().__init__(
            f"The solver stopped ({status.replace('_', ' ').lower()}) after {iterations} iterations; it got stuck "
            f"at '{feature}', station {station:.1f} m, with {violation:.2g} left of a condition that should vanish.",
            where=feature,
            hint="Check the cones there (room, order, passing sides), or ask for the quasi-steady answer.",
        )
        self.feature = feature
        self.station = station
        self.iterations = iterations
        self.last: Point | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """A solution of a problem, and what a warm start needs of it."""

    x: Array  # scaled unknowns
    lam_g: Array
    lam_x: Array
    time: float  # start beam to finish beam, without the smoothing [s]
    node_time: Array  # share of each node in the time, shape (n_nodes,) [s]
    smoothing: float
    iterations: int
    seconds: float  # wall time

    @property
    def variables(self) -> dict[str, Array]:
        """Unknowns in physical units by name, each of shape (n_nodes,)."""
        return dict(zip(VARIABLES, self.x.reshape(-1, N_VARIABLES).T * SCALE[:, None], strict=True))


@dataclass(frozen=True, kw_only=True)
class Problem:
    """Everything that is frozen while parameters change, and the parameters."""

    geometry: CourseGeometry
    p: ModelParameters
    mesh: Mesh
    gears: GearPlan
    program: Program = field(repr=False)
    margins: Array  # one a pass, shape (n_passes,) [m]

    def changed(self, **edits: Any) -> Problem:
        """The same problem with other parameters, margins or gears."""
        return replace(self, **edits)

    def data(self, smoothing: float) -> Array:
        """The parameter vector of the program."""
        nodes = self.mesh.node_data(self.gears, smoothing)
        return self.program.data(self.p.vector(), self.margins, nodes, self.mesh.pair_data, self.mesh.extra)

    def solve(self, start: Array, smoothing: float, *, options: dict[str, Any], at: Point | None = None) -> Point:
        """Run IPOPT once.

        Raises
        ------
        SolverStoppedError
            With the feature at which the greatest violation is left.
        """
        solver = self.program.solver(options)
        low, high = self._variable_bounds()
        row_low, row_high = self.program.bounds()
        began, data = clock.perf_counter(), self.data(smoothing)
        multipliers = {} if at is None else {"lam_g0": at.lam_g, "lam_x0": at.lam_x}
        answer = solver(x0=start, p=data, lbx=low, ubx=high, lbg=row_low, ubg=row_high, **multipliers)
        statistics = solver.stats()
        x, lam_g, lam_x = (np.asarray(answer[key], dtype=float).ravel() for key in ("x", "lam_g", "lam_x"))
        total, parts = self.program.time(x, data)
        point = Point(
            x=x,
            lam_g=lam_g,
            lam_x=lam_x,
            time=float(total),
            node_time=np.asarray(parts, dtype=float).ravel(),
            smoothing=smoothing,
            iterations=int(statistics["iter_count"]),
            seconds=clock.perf_counter() - began,
        )
        if not statistics["success"]:
            raise self._stopped(str(statistics["return_status"]), point, np.asarray(answer["g"], dtype=float).ravel())
        return point

    def warm(self, at: Point, *, smoothing: float | None = None, barrier: float = 1e-5, tol: float = 1e-6) -> Point:
        """Solve from a solution of this or of a neighbouring problem with the same mesh."""
        options = WARM | {"mu_init": barrier, "tol": tol}
        return self.solve(at.x, at.smoothing if smoothing is None else smoothing, options=options, at=at)

    def _variable_bounds(self) -> tuple[Array, Array]:
        n = len(self.mesh.station)
        low, high = np.full((n, N_VARIABLES), -np.inf), np.full((n, N_VARIABLES), np.inf)
        low[:, 0], high[:, 0] = LEAST_SPEED, GREATEST_SPEED
        low[:, OFFSET], high[:, OFFSET] = self.mesh.n_low, self.mesh.n_high
        low[:, HEADING], high[:, HEADING] = -GREATEST_HEADING, GREATEST_HEADING
        low[:, N_STATES - 1], high[:, N_STATES - 1] = -1.0, 1.0
        staged = [1, 2, 3, 4, HEADING, STEER]  # the car stands straight, its wheels too
        low[0, staged] = high[0, staged] = 0.0
        low[-1, N_STATES + 2 :] = high[-1, N_STATES + 2 :] = 0.0
        return (low / SCALE).ravel(), (high / SCALE).ravel()

    def _stopped(self, status: str, point: Point, g: Array) -> SolverStoppedError:
        low, high = self.program.bounds()
        violation = np.maximum(np.maximum(low - g, g - high), 0.0)
        node = self._row_nodes()[int(np.argmax(violation))]
        station = float(self.mesh.station[node])
        error = SolverStoppedError(
            status,
            feature=self.geometry.span_at(station).id,
            station=station,
            violation=float(np.max(violation)),
            iterations=point.iterations,
        )
        error.last = point
        return error

    def _row_nodes(self) -> NDArray[np.int64]:
        """The node of every row."""
        n = len(self.mesh.station)
        defects = np.repeat(np.arange(n - 1), N_STATES)
        return np.concatenate([defects, np.repeat(np.arange(n), N_LOCAL), self.mesh.pair_node, [0]])


def first_guess(mesh: Mesh, speed: Array, p: ModelParameters) -> Array:
    """Unknowns along the reference path at a capped quasi-steady speed, scaled and flat.

    Parameters
    ----------
    mesh : Mesh
    speed : Array, shape (n_nodes,)
        [m/s]
    p : ModelParameters
    """
    v = 0.85 * speed
    bend = np.concatenate([mesh.curvature, mesh.curvature[-1:]])
    z = np.zeros((len(v), N_VARIABLES))
    across = np.clip(v**2 * bend, -9.0, 9.0)
    z[:, 0] = np.maximum(v, 1.5)
    z[:, 2] = v * bend
    z[:, 3] = 0.006 * across
    z[:, 7] = np.clip(bend * float(p.wheelbase), -0.4, 0.4)
    z[:, 9] = np.append(np.diff(v**2) / 2.0 / mesh.step, 0.0)
    z[:, 8] = np.clip(z[:, 9] / 8.0, -1.0, 1.0)
    z[:, 10] = across
    return np.asarray((z / SCALE).ravel())
