"""What gearing is worth where the engine comes to its limiter: the time bends there, and has a slope to each side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.solver.node import LIMITS, N_LIMITS
from conewise.solver.problem import SolverStoppedError
from conewise.vehicle.parameters import ModelParameters

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.solver.problem import Point, Problem

Array = NDArray[np.float64]

STEP = 0.005  # of a number, to either side
NEAR = 0.994  # share of the limiter's speed from which half a per cent may bring the engine to it
APART = 1e-4  # times farther apart are those of two runs, or of a bend [s]
TIGHT = 1e-8  # tolerance of the runs whose times are compared
FIRST_BARRIERS = (1e-5, 1e-4)  # each tried where the one before stops
_ENGINE = LIMITS.index("engine_speed")


@dataclass(frozen=True, slots=True, kw_only=True)
class SidedSlopes:
    """Derivative of the time by every model parameter to either side, each of shape (n_parameters,). [s per unit]"""

    less: Array  # mean slope over `STEP` less of the number; the derivative itself where nothing bends
    more: Array


def numbers_that_bend(problem: Problem, point: Point) -> tuple[str, ...]:
    """Model parameters that turn the engine, where it comes near its limiter in a gear; none where it does not.

    Parameters
    ----------
    problem : Problem
    point : Point
        Its solution.
    """
    rows = problem.program(point.smoothing).rows(point.z)
    n = len(rows.algebraic)
    turning = rows.limits[: n * N_LIMITS].reshape(n, N_LIMITS)[:, _ENGINE]
    gears = np.unique(problem.gears.gear[turning > NEAR])
    if not len(gears):
        return ()
    share = float(problem.p.front_drive_share)
    driven = [axle for axle, part in (("front", share), ("rear", 1.0 - share)) if part > 0.0]
    return (
        "engine_speed_limit",
        *(f"gear_ratios_{gear}" for gear in gears),
        *(f"rolling_radius_{axle}" for axle in driven),
    )


def beside_the_limiter(problem: Problem, point: Point, slopes: Array) -> SidedSlopes:
    """Slopes to either side: measured by re-solves with these gears for the numbers that bend.

    Parameters
    ----------
    problem : Problem
    point : Point
        Its solution.
    slopes : Array, shape (n_parameters,)
        Derivatives at the solution. [s per unit]

    Notes
    -----
    At the node where a gear is left the limiter may begin or cease to hold the car within half a per cent. The
    derivative is that of the side on which the run lies; what a person changes lies on either. Where a re-solve stops,
    or falls into another run from which the way back does not lead here, the derivative stays. Each side takes one or
    two solves a number, 25 to 35 iterations each.
    """
    less, more = slopes.copy(), slopes.copy()
    names = numbers_that_bend(problem, point)
    base = tightly(problem, point) if names else None
    if base is None:
        return SidedSlopes(less=less, more=more)
    middle = problem.p.vector()
    for name in names:
        i = ModelParameters.names().index(name)
        for side, sign in ((less, -1.0), (more, 1.0)):
            values = middle.copy()
            values[i] += sign * STEP * middle[i]
            other = tightly(problem.changed(p=ModelParameters.from_vector(values)), base)
            if other is None:
                continue
            bent = other.time - base.time - slopes[i] * (values[i] - middle[i])
            if abs(bent) < APART or _leads_back(problem, other, base):
                side[i] = (other.time - base.time) / (values[i] - middle[i])
    return SidedSlopes(less=less, more=more)


def _leads_back(problem: Problem, other: Point, base: Point) -> bool:
    """Whether the way back from a neighbour's solution ends where it began, and not in another run beside it."""
    back = tightly(problem, other)
    return back is not None and abs(back.time - base.time) < APART


def tightly(problem: Problem, near: Point, *, barriers: Sequence[float] = FIRST_BARRIERS) -> Point | None:
    """The solution from a neighbour's, to the tolerance of a difference; None where it is not found.

    Parameters
    ----------
    problem : Problem
    near : Point
        A solution of it, or of a neighbouring one on the same mesh.
    barriers : sequence of float, optional
        First ones, each tried where the one before stops.
    """
    for barrier in barriers:
        try:
            return problem.warm(near, barrier=barrier, tol=TIGHT)
        except SolverStoppedError:
            continue
    return None
