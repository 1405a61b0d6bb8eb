"""How the time answers to parameters and cones: one solve gives every derivative (envelope theorem)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.solver.node import N_STATES, SCALE

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
    return problem.program(point.smoothing).by_parameter(point.z, point.multipliers)


def cone_prices(problem: Problem, point: Point) -> Array:
    """Time lost per metre of margin at each pass: the sum of its multipliers, shape (n_passes,). [s/m]"""
    shape = problem.shape
    prices = np.bincount(shape.pair_cone, weights=-point.multipliers.pairs(), minlength=shape.n_cones)
    return np.asarray(prices, dtype=float)


def state_prices(point: Point) -> Array:
    """Derivative of the time by a jump of each state at each node, shape (N_STATES, n_nodes). [s per unit of the state]

    Notes
    -----
    The costates: a jump d at node k + 1 changes the defect to A_k + d - B_{k+1} = 0, so dT/dd is its multiplier.
    The first node has none and gets that of the second.
    """
    defects = point.multipliers.defects.T / SCALE[:N_STATES, None]
    return np.asarray(np.concatenate([defects[:, :1], defects], axis=1))
