"""How the time answers to parameters and cones: one solve gives every derivative (envelope theorem)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from conewise.solver.problem import Point, Problem

Array = NDArray[np.float64]


def by_parameter(problem: Problem, point: Point) -> Array:
    """Derivative of the time by every model parameter, in the order of `ModelParameters.names`. [s per unit]

    Notes
    -----
    dT/dp = df/dp + lambda' dg/dp at the solution, since everything that a person can change stands in f or g.

    References
    ----------
    Fiacco, Introduction to Sensitivity and Stability Analysis in Nonlinear Programming, 1983, theorem 3.4.1
    (number from memory).
    """
    return np.asarray(
        problem.program.by_parameter(point.x, problem.data(point.smoothing), point.lam_g), dtype=float
    ).ravel()


def cone_prices(problem: Problem, point: Point) -> Array:
    """Time lost per metre of margin at each pass: the sum of its multipliers, shape (n_passes,). [s/m]"""
    shape = problem.program.shape
    multipliers = point.lam_g[shape.pair_rows]
    return np.bincount(shape.pair_cone, weights=-multipliers, minlength=shape.n_cones)
