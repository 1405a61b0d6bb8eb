"""One minimum-time problem: a course, a car, a mesh and gears; solved from a guess or from a solution."""

from __future__ import annotations

import time as clock
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from conewise.errors import ConvergenceError
from conewise.solver.continuation import Descent
from conewise.solver.interior_point import MOST_ITERATIONS, Continuation, InteriorPoint, Options, Outcome
from conewise.solver.node import HEADING, N_STATES, N_VARIABLES, OFFSET, SCALE, VARIABLES
from conewise.solver.transcription import N_LIMITS, Multipliers, Program, Rows, Shape

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from conewise.course.geometry import CourseGeometry
    from conewise.solver.gears import GearPlan
    from conewise.solver.mesh import Mesh
    from conewise.vehicle.parameters import ModelParameters

Array = NDArray[np.float64]

STEER = VARIABLES.index("road_wheel_angle")
LEAST_SPEED, GREATEST_SPEED = 1.0, 70.0  # [m/s]
GREATEST_HEADING = 1.3  # of the car to the path [rad]
COLD = Options(barrier=1.0)
NEAR = Options(barrier=1e-3)  # from a run on another mesh or path
TOUCHED = 0.05  # a stopped solve that is this deep in a cone's room got stuck there [m]
WARM_PUSH = 1e-6  # how far inside its bounds a warm start is put at least


class SolverStoppedError(ConvergenceError):
    """The solver stopped before it found a run."""

    code = "solver-stopped"

    def __init__(self, why: str, *, feature: str, station: float, violation: float, iterations: int) -> None:
        super().__init__(
            f"The solver stopped ({why}) after {iterations} iterations; it got stuck "
            f"at '{feature}', station {station:.1f} m, with {violation:.2g} left of a condition that should vanish.",
            where=feature,
            hint="Check the cones there (room, order, passing sides), or ask for the quasi-steady answer.",
        )
        self.why = why
        self.feature = feature
        self.station = station
        self.iterations = iterations
        self.last: Point | None = None

    def tell_tries(self, tries: Sequence[tuple[str, SolverStoppedError]]) -> None:
        """Say briefly how every try ended, and not only the last one.

        Parameters
        ----------
        tries : sequence of (str, SolverStoppedError)
            How each was begun, and its end.
        """
        told = "; ".join(f"{how}: {one.why} at '{one.feature}'" for how, one in tries)
        self.message = f"{self.message} Tried: {told}."
        self.args = (self.message,)


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """A solution of a problem, and what a warm start needs of it."""

    z: Array  # scaled unknowns, shape (n_nodes, N_VARIABLES)
    multipliers: Multipliers
    bounds: Array  # multipliers of the unknowns' bounds, upper less lower, shape (n_nodes, N_VARIABLES)
    time: float  # start beam to finish beam, without the smoothing [s]
    node_time: Array  # share of each node in the time, shape (n_nodes,) [s]
    smoothing: float
    iterations: int
    seconds: float  # wall time

    @property
    def variables(self) -> dict[str, Array]:
        """Unknowns in physical units by name, each of shape (n_nodes,)."""
        return dict(zip(VARIABLES, self.z.T * SCALE[:, None], strict=True))


@dataclass(frozen=True, kw_only=True)
class Problem:
    """Everything that is frozen while parameters change, and the parameters."""

    geometry: CourseGeometry
    p: ModelParameters
    mesh: Mesh
    gears: GearPlan
    margins: Array  # one a pass, shape (n_passes,) [m]

    def changed(self, **edits: Any) -> Problem:
        """The same problem with other parameters, margins or gears."""
        return replace(self, **edits)

    @property
    def shape(self) -> Shape:
        """Nodes and tested pairs."""
        mesh = self.mesh
        return Shape(
            n_nodes=len(mesh.station),
            pair_node=mesh.pair_node,
            pair_cone=mesh.pair_cone,
            n_cones=len(self.geometry.passes),
        )

    def program(self, smoothing: float) -> Program:
        """Its rows and their derivatives."""
        mesh = self.mesh
        nodes = mesh.node_data(self.gears, smoothing)
        return Program(
            self.shape, p=self.p.vector(), margins=self.margins, nodes=nodes, pairs=mesh.pair_data, extra=mesh.extra
        )

    def cold(
        self, guess: Array, regeared: Callable[[Problem, Array], Problem], *, options: Options = COLD
    ) -> tuple[Problem, Point]:
        """Solve from a guess, scaled, shape (n_nodes, N_VARIABLES); the problem with its gears, and its solution.

        Parameters
        ----------
        guess : Array
        regeared : callable
            (problem, speeds at the nodes [m/s]) -> the problem with the gears that these ask for, itself if the same.
        options : Options, optional

        Raises
        ------
        SolverStoppedError
            With the feature at which the greatest violation is left.
        """
        descent = Descent(self, regeared)
        point = self._solved(descent.program(), guess, options, continuation=descent)
        return descent.problem, replace(point, smoothing=descent.smoothing)

    def warm(
        self,
        at: Point,
        *,
        smoothing: float | None = None,
        barrier: float = 1e-5,
        tol: float = 1e-6,
        most_iterations: int = MOST_ITERATIONS,
    ) -> Point:
        """Solve from a solution of this or of a neighbouring problem with the same mesh.

        Raises
        ------
        SolverStoppedError
            With the feature at which the greatest violation is left.
        """
        weight = at.smoothing if smoothing is None else smoothing
        options = Options(tolerance=tol, barrier=barrier, push=WARM_PUSH, most_iterations=most_iterations)
        point = self._solved(self.program(weight), at.z, options, known=(at.multipliers, at.bounds))
        return replace(point, smoothing=weight)

    def _solved(
        self,
        program: Program,
        start: Array,
        options: Options,
        *,
        known: tuple[Multipliers, Array] | None = None,
        continuation: Continuation | None = None,
    ) -> Point:
        began = clock.perf_counter()
        low, high = self.bounds()
        solver = InteriorPoint(program, low=low, high=high, options=options, continuation=continuation)
        outcome = solver.solve(start, known)
        program = solver.program
        shares = program.times(outcome.z)
        point = Point(
            z=outcome.z,
            multipliers=outcome.multipliers,
            bounds=outcome.bounds,
            time=float(shares.sum()) + program.launch_time,
            node_time=shares,
            smoothing=0.0,
            iterations=outcome.iterations,
            seconds=clock.perf_counter() - began,
        )
        if outcome.stopped:
            raise self._stopped(outcome, point, program)
        return point

    def bounds(self) -> tuple[Array, Array]:
        """Bounds of the scaled unknowns, shape (n_nodes, N_VARIABLES) each; equal where one is fixed."""
        n = len(self.mesh.station)
        low, high = np.full((n, N_VARIABLES), -np.inf), np.full((n, N_VARIABLES), np.inf)
        low[:, 0], high[:, 0] = LEAST_SPEED, GREATEST_SPEED
        low[:, OFFSET], high[:, OFFSET] = self.mesh.n_low, self.mesh.n_high
        low[:, HEADING], high[:, HEADING] = -GREATEST_HEADING, GREATEST_HEADING
        low[:, N_STATES - 1], high[:, N_STATES - 1] = -1.0, 1.0
        staged = [1, 2, 3, 4, HEADING, STEER]  # the car stands straight, its wheels too
        low[0, staged] = high[0, staged] = 0.0
        low[-1, N_STATES + 2 :] = high[-1, N_STATES + 2 :] = 0.0
        return low / SCALE, high / SCALE

    def _stopped(self, outcome: Outcome, point: Point, program: Program) -> SolverStoppedError:
        violation = self._violations(program.rows(outcome.z), *program.limit_bounds)
        node = int(np.argmax(violation))
        station = float(self.mesh.station[node])
        error = SolverStoppedError(
            outcome.stopped,
            feature=self.geometry.span_at(station).id,
            station=station,
            violation=float(violation[node]),
            iterations=outcome.iterations,
        )
        error.last = point
        return error

    def _violations(self, rows: Rows, low: Array, high: Array) -> Array:
        """Greatest violation at each node, shape (n_nodes,): of cones alone where any is touched, else of any row."""
        n = len(rows.algebraic)
        beyond = np.maximum(np.maximum(low - rows.limits, rows.limits - high), 0.0)
        cones = np.zeros(n)
        np.maximum.at(cones, self.mesh.pair_node, beyond[n * N_LIMITS :])
        if cones.max() > TOUCHED:
            return cones
        worst = np.maximum(np.abs(rows.algebraic).max(axis=1), beyond[: n * N_LIMITS].reshape(n, N_LIMITS).max(axis=1))
        worst[:-1] = np.maximum(worst[:-1], np.abs(rows.defects).max(axis=1))
        worst[0] = max(worst[0], abs(rows.launch))
        return np.asarray(worst)


def first_guess(mesh: Mesh, speed: Array, p: ModelParameters, *, bend: Array | None = None) -> Array:
    """Unknowns along a line at a capped quasi-steady speed, scaled, shape (n_nodes, N_VARIABLES).

    Parameters
    ----------
    mesh : Mesh
    speed : Array, shape (n_nodes,)
        [m/s]
    p : ModelParameters
    bend : Array, shape (n_nodes,), optional
        Curvature of the line; that of the reference path where left out. [1/m]
    """
    v = 0.85 * speed
    if bend is None:
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
    return np.asarray(z / SCALE)
