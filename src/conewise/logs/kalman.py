"""Kalman filtering and smoothing, one scalar measurement at a time: the compiled steps, whatever the states mean.

The states are a block that moves (its transition is a full matrix) and, after it, states that decay one by one.
Measurements are independent numbers. The smoother is the Rauch-Tung-Striebel smoother in the form of Bryson and
Frazier: it carries the adjoint of the mean and of the covariance backwards and inverts nothing.

Numba's cache knows the file of a compiled function, not those that it calls: after a change here or in `motion`, touch
`passes`.

References
----------
Rauch, Tung and Striebel, Maximum likelihood estimates of linear dynamic systems, AIAA Journal 3(8), 1965.
Bierman, Fixed interval smoothing with discrete measurements, Int. J. Control 18(1), 1973 (from memory).
Durbin and Koopman, A simple and efficient simulation smoother, Biometrika 89(3), 2002 (from memory).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar, cast

import numpy as np
from numba import njit
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Callable

F = TypeVar("F", bound="Callable[..., Any]")
Array = NDArray[np.float64]
Numeric = Any  # a float inside a kernel


def _kernel(function: F) -> F:
    """Compiled at the first call of a session and kept beside the module."""
    return cast("F", njit(cache=True, error_model="numpy", fastmath={"contract", "reassoc"})(function))


@_kernel
def _sparse_product(block: Array, matrix: Array) -> Array:
    """The block times the leading rows of a matrix; most entries of the block are zero."""
    m, n = block.shape[0], matrix.shape[1]
    product = np.zeros((m, n))
    for i in range(m):
        for k in range(m):
            factor = block[i, k]
            if factor != 0.0:
                for j in range(n):
                    product[i, j] += factor * matrix[k, j]
    return product


@_kernel
def _conjugated(matrix: Array, block: Array, decay: Array) -> None:
    """F M F' in place for a symmetric M, where F is the block followed by the decays on its diagonal."""
    n, m = matrix.shape[0], block.shape[0]
    left = _sparse_product(block, matrix)
    for i in range(m):
        for j in range(i, m):
            total = 0.0
            for k in range(m):
                total += left[i, k] * block[j, k]
            matrix[i, j] = matrix[j, i] = total
    for j in range(m, n):
        for i in range(m):
            matrix[i, j] = matrix[j, i] = left[i, j] * decay[j - m]
        for i in range(m, n):
            matrix[i, j] *= decay[i - m] * decay[j - m]


@_kernel
def predict(covariance: Array, block: Array, decay: Array, added: Array) -> None:
    """Covariance after a step: F P F' + diag(added), in place.

    covariance: shape (n, n)
    block: shape (m, m), the leading block of F
    decay: shape (n - m,), the rest of its diagonal
    added: shape (n,), variance that the step adds
    """
    _conjugated(covariance, block, decay)
    for i in range(added.size):
        covariance[i, i] += added[i]


@_kernel
def projected(covariance: Array, row: Array, out: Array) -> Numeric:
    """P h into `out`; returns h' P h."""
    n = covariance.shape[0]
    for i in range(n):
        out[i] = 0.0
    for k in range(n):
        factor = row[k]
        if factor != 0.0:
            for i in range(n):
                out[i] += factor * covariance[k, i]
    total = 0.0
    for k in range(n):
        total += row[k] * out[k]
    return total


@_kernel
def update(state: Array, covariance: Array, row: Array, told: tuple[float, float], gain: Array) -> Numeric:
    """Take in one measurement, in place; returns the variance of its innovation.

    state, covariance: shapes (n,) or longer, and (n, n)
    row: shape (n,), derivative of the measurement with respect to the state
    told: innovation, and variance of the measurement's own noise
    gain: shape (n,), written
    """
    n = covariance.shape[0]
    variance = projected(covariance, row, gain) + told[1]
    size = np.sqrt(variance)
    for i in range(n):
        gain[i] /= size
    for i in range(n):
        factor = gain[i]  # alike for both triangles, so that they stay equal
        for j in range(n):
            covariance[i, j] -= factor * gain[j]
    for i in range(n):
        gain[i] /= size
        state[i] += gain[i] * told[0]
    return variance


@_kernel
def back_update(adjoint: Array, information: Array, row: Array, gain: Array, told: tuple[float, float]) -> None:
    """Undo one measurement: adjoint and information from after it to before it, in place.

    told: innovation and its variance, as the filter met them.
    """
    n = row.size
    pull = told[0] / told[1]
    for i in range(n):
        pull += gain[i] * adjoint[i]
    through = np.zeros(n)
    half = 0.5 * (projected(information, gain, through) + 1.0 / told[1])
    for i in range(n):
        adjoint[i] -= row[i] * pull
        through[i] = half * row[i] - through[i]
    for i in range(n):
        for j in range(n):
            information[i, j] += row[i] * through[j] + through[i] * row[j]


@_kernel
def back_adjoint(adjoint: Array, block: Array, decay: Array) -> None:
    """Undo one step for the adjoint alone: F' a in place."""
    m = block.shape[0]
    after = adjoint[:m].copy()
    for i in range(m):
        adjoint[i] = 0.0
        for k in range(m):
            adjoint[i] += block[k, i] * after[k]
    for i in range(decay.size):
        adjoint[m + i] *= decay[i]


@_kernel
def back_predict(adjoint: Array, information: Array, block: Array, decay: Array) -> None:
    """Undo one step: adjoint and information from after it to before it, in place."""
    back_adjoint(adjoint, block, decay)
    _conjugated(information, block.T.copy(), decay)


@_kernel
def smoothed(covariance: Array, adjoint: Array, information: Array, out: tuple[Array, Array]) -> None:
    """Correction of the filtered state and smoothed covariance: -P a and P - P I P, written into `out`."""
    n = adjoint.size
    correction, after = out
    through = np.zeros(n)
    for i in range(n):
        total = 0.0
        for k in range(n):
            total += covariance[i, k] * adjoint[k]
        correction[i] = -total
    for i in range(after.shape[0]):
        through[:] = 0.0
        for k in range(n):
            factor = covariance[i, k]
            for j in range(n):
                through[j] += factor * information[k, j]
        for j in range(i, after.shape[0]):
            total = covariance[i, j]
            for k in range(n):
                total -= through[k] * covariance[j, k]
            after[i, j] = after[j, i] = total
