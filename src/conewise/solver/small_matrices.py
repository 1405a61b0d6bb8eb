"""Small dense matrices for compiled loops, where a call of a linear-algebra library costs more than the arithmetic."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar, cast

import numpy as np
from numba import njit
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Callable

Array = NDArray[np.float64]
F = TypeVar("F", bound="Callable[..., Any]")

TINY = 1e-14  # a pivot smaller than this is none
_FAST = {"contract", "reassoc", "arcp", "nsz"}


def kernel(function: F) -> F:
    """Compiled at the first call of a session and kept beside the module; sums may be taken in any order."""
    return cast("F", njit(cache=True, fastmath=_FAST, error_model="numpy")(function))


@kernel
def inverse(M: Array, out: Array) -> bool:
    """Write the inverse by elimination with row exchange; M is overwritten. False where it is singular."""
    n = M.shape[0]
    for i in range(n):
        for j in range(n):
            out[i, j] = 1.0 if i == j else 0.0
    for i in range(n):
        at = i
        for r in range(i + 1, n):
            if abs(M[r, i]) > abs(M[at, i]):
                at = r
        if not abs(M[at, i]) > TINY:
            return False
        if at != i:
            for j in range(n):
                M[i, j], M[at, j] = M[at, j], M[i, j]
                out[i, j], out[at, j] = out[at, j], out[i, j]
        scale = 1.0 / M[i, i]
        for j in range(n):
            M[i, j] *= scale
            out[i, j] *= scale
        for r in range(n):
            f = M[r, i]
            if r != i and f != 0.0:
                for j in range(n):
                    M[r, j] -= f * M[i, j]
                    out[r, j] -= f * out[i, j]
    return True


@kernel
def cholesky(M: Array) -> bool:
    """Lower factor in place; False where M is not positive definite."""
    for j in range(M.shape[0]):
        d = M[j, j]
        for k in range(j):
            d -= M[j, k] * M[j, k]
        if not d > 1e-12 * abs(M[j, j]):
            return False
        M[j, j] = np.sqrt(d)
        for i in range(j + 1, M.shape[0]):
            t = M[i, j]
            for k in range(j):
                t -= M[i, k] * M[j, k]
            M[i, j] = t / M[j, j]
    return True


@kernel
def solve_factored(L: Array, b: Array) -> None:
    """Solve L L' x = b in place."""
    n = L.shape[0]
    for i in range(n):
        for k in range(i):
            b[i] -= L[i, k] * b[k]
        b[i] /= L[i, i]
    for i in range(n - 1, -1, -1):
        for k in range(i + 1, n):
            b[i] -= L[k, i] * b[k]
        b[i] /= L[i, i]


@kernel
def convexify(H: Array, floor: float) -> None:
    """Replace every matrix of H, shape (n, m, m), by the nearest one without curvature below `floor`."""
    L = np.empty(H.shape[1:])
    for k in range(H.shape[0]):
        L[:, :] = H[k]
        if not cholesky(L):
            values, vectors = np.linalg.eigh(H[k])
            H[k] = 0.0
            for t in range(H.shape[1]):
                for i in range(H.shape[1]):
                    a = max(values[t], floor) * vectors[i, t]
                    for j in range(H.shape[1]):
                        H[k, i, j] += a * vectors[j, t]
