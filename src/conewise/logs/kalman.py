"""Kalman filtering and smoothing of scalar measurements: the compiled steps, whatever the states mean.

The states are a block that moves and, after it, states that decay one by one; the first few of these may drive the
block. The transition's rows of the block are U L: U is upper triangular, L has ones on its diagonal
and entries just below it; both are kept in one matrix. Measurements are independent numbers. They are taken in one
after the other, but the covariance is changed once for every four of them: what the ones before did to the gain of the
next is taken off that gain in place of being worked into the covariance first. The smoother is the Rauch-Tung-Striebel
smoother in the form of Bryson and Frazier: it carries the adjoint of the mean and of the covariance backwards and
inverts nothing.

Rows of n states are `WIDTH` long, with zeros after the states: loops of a length that the compiler knows take half the
time.

Numba's cache knows the file of a compiled function, not those that it calls: after a change here or in `motion`, touch
`passes` and `drawn_paths`.

References
----------
Rauch, Tung and Striebel, Maximum likelihood estimates of linear dynamic systems, AIAA Journal 3(8), 1965.
Bierman, Fixed interval smoothing with discrete measurements, Int. J. Control 18(1), 1973 (from memory).
Bierman, Factorization Methods for Discrete Sequential Estimation, Academic Press 1977, chapter 10 (from memory).
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
Integers = NDArray[np.int64]
Numeric = Any  # a float inside a kernel

BLOCK = 4  # measurements for which the covariance is changed once
WIDTH = 24  # of a row of states; a multiple of eight
MOST_MOVING = 8  # of whose smoothed covariance is kept
SEEN = 2  # of these, how many are combinations of states

# Columns of the table of measurements, one a row: derivative by the state, gain (written by the filter), innovation
# (against the prediction of the step; the filter makes it that against all that was known just before), its variance
# (written by the filter), and variance of the measurement's own noise. One table, since every array that is handed to
# a compiled function costs more than a loop over its row.
ROW, GAIN, INNOVATION, SPREAD, NOISE = 0, WIDTH, 2 * WIDTH, 2 * WIDTH + 1, 2 * WIDTH + 2
TABLE_WIDTH = 2 * WIDTH + 3
# Rows of the room where the kernels keep what they need for a moment, shape (ROOM, WIDTH).
ROWS, COLUMNS, THROUGH, TURNED = 0, BLOCK, 2 * BLOCK, 3 * BLOCK
TURNED_WIDTH = 12  # of a transposed square of the block and what drives it, at most; a multiple of four
ROOM = 3 * BLOCK + TURNED_WIDTH


def _kernel(function: F) -> F:
    """Compiled at the first call of a session and kept beside the module."""
    return cast("F", njit(cache=True, error_model="numpy", fastmath={"contract", "reassoc"})(function))


def _ordered_kernel(function: F) -> F:
    """The same where sums keep their order."""
    return cast("F", njit(cache=True, error_model="numpy", fastmath={"contract"})(function))


def _inlined_kernel(function: F) -> F:
    """The same, put in the place of its call: to hand arrays over costs more than many of these functions do."""
    options = {"contract", "reassoc"}
    return cast("F", njit(cache=True, error_model="numpy", fastmath=options, inline="always")(function))


@_kernel
def _dot(one: Array, i: int, other: Array, k: int) -> Numeric:
    total = 0.0
    for j in range(WIDTH):
        total += one[i, j] * other[k, j]
    return total


@_kernel
def _along(row: Array, i: int, vector: Array) -> Numeric:
    total = 0.0
    for j in range(WIDTH):
        total += row[i, j] * vector[j]
    return total


@_inlined_kernel
def _add_row(matrix: Array, into: int, of: int, factor: float, width: int) -> None:
    if factor != 0.0:
        for j in range(width):
            matrix[into, j] += factor * matrix[of, j]


@_inlined_kernel
def _add_two_rows(matrix: Array, into: int, of: int, factors: tuple[float, float], width: int) -> None:
    """Of a row and the one after it; the row that they go to is read and written once."""
    one, other = factors
    if one != 0.0 or other != 0.0:
        for j in range(width):
            matrix[into, j] += one * matrix[of, j] + other * matrix[of + 1, j]


@_inlined_kernel
def _scale_row(matrix: Array, i: int, factor: float, width: int) -> None:
    if factor != 1.0:
        for j in range(width):
            matrix[i, j] *= factor


@_inlined_kernel
def _by_rows(block: Array, matrix: Array, at: int, width: int) -> None:
    """The block times rows of a matrix, in place; most of its entries are zero."""
    m, driven_by = block.shape
    for back in range(m - 1):
        i = m - 1 - back
        _add_row(matrix, at + i, at + i - 1, block[i, i - 1], width)
    for i in range(m):
        _scale_row(matrix, at + i, block[i, i], width)
        for k in range(i + 1, driven_by - 1, 2):
            _add_two_rows(matrix, at + i, at + k, (block[i, k], block[i, k + 1]), width)
        if (driven_by - i) % 2 == 0:
            _add_row(matrix, at + i, at + driven_by - 1, block[i, driven_by - 1], width)


@_inlined_kernel
def _by_columns(block: Array, decay: Array, matrix: Array, at: int, width: int) -> None:
    """The transpose of the transition's leading part times rows of a matrix, in place."""
    m, driven_by = block.shape
    for back in range(driven_by):
        i = driven_by - 1 - back
        _scale_row(matrix, at + i, block[i, i] if i < m else decay[i - m], width)
        until = min(i, m)
        for k in range(0, until - 1, 2):
            _add_two_rows(matrix, at + i, at + k, (block[k, i], block[k + 1, i]), width)
        if until % 2 == 1:
            _add_row(matrix, at + i, at + until - 1, block[until - 1, i], width)
    for i in range(1, m):
        _add_row(matrix, at + i - 1, at + i, block[i, i - 1], width)


@_ordered_kernel
def _decayed(matrix: Array, decay: Array, room: Array, m: int) -> None:
    """The second half of F M F': the leading square from its transpose, the rest decayed, all mirrored.

    decay: shape (n - MOST_MOVING,); of what is within the square it is not used
    """
    n = matrix.shape[0]
    before = n - decay.size
    for i in range(m):
        for j in range(m):
            matrix[i, j] = room[TURNED + i, j]
    for j in range(m, n):
        left = decay[j - before]
        if left != 1.0:
            for i in range(n):
                matrix[i, j] *= left
            for i in range(m, n):
                matrix[j, i] *= left
        for i in range(m):
            matrix[j, i] = matrix[i, j]


@_ordered_kernel
def _transposed(matrix: Array, room: Array, rows: int, columns: int) -> None:
    for i in range(rows):
        for j in range(columns):
            room[TURNED + i, j] = matrix[j, i]


@_ordered_kernel
def predict(covariance: Array, block: Array, decay: Array, added: Array, room: Array) -> None:
    """Covariance after a step: F P F' + diag(added), in place.

    covariance: shape (n, WIDTH)
    block: shape (m, w), the leading rows of F as U and L, of as many states as move or drive
    decay: shape (n - m,), the rest of its diagonal
    added: shape (n,), variance that the step adds
    """
    m, driven_by = block.shape
    _by_rows(block, covariance, 0, WIDTH)
    _transposed(covariance, room, driven_by, m)
    _by_rows(block, room, TURNED, MOST_MOVING)
    _decayed(covariance, decay, room, m)
    for i in range(added.size):
        covariance[i, i] += added[i]


@_kernel
def _times_four(matrix: Array, room: Array, of: int, to: int) -> None:
    """A symmetric matrix times each of four rows of the room."""
    for i in range(matrix.shape[0]):
        a = b = c = d = 0.0
        for j in range(WIDTH):
            value = matrix[i, j]
            a += value * room[of, j]
            b += value * room[of + 1, j]
            c += value * room[of + 2, j]
            d += value * room[of + 3, j]
        room[to, i], room[to + 1, i], room[to + 2, i], room[to + 3, i] = a, b, c, d


@_inlined_kernel
def _gather(which: Integers, count: int, table: Array, column: int, room: Array, to: int) -> None:
    """Part of some rows of a table, at most four, and zeros after them."""
    for b in range(BLOCK):
        if b < count:
            at = which[b]
            for j in range(WIDTH):
                room[to + b, j] = table[at, column + j]
        else:
            for j in range(WIDTH):
                room[to + b, j] = 0.0


@_kernel
def spreads_of(which: Integers, count: int, covariance: Array, table: Array, room: Array) -> None:
    """Variances of at most four innovations, each as if it stood alone, into the table."""
    _gather(which, count, table, ROW, room, ROWS)
    _times_four(covariance, room, ROWS, COLUMNS)
    for b in range(count):
        j = which[b]
        table[j, SPREAD] = _dot(room, ROWS + b, room, COLUMNS + b) + table[j, NOISE]


@_ordered_kernel
def _less_squares(matrix: Array, room: Array, at: int) -> None:
    """Take the sum of r r' over four rows of the room off a matrix."""
    for i in range(matrix.shape[0]):
        a, b, c, d = room[at, i], room[at + 1, i], room[at + 2, i], room[at + 3, i]
        for j in range(WIDTH):
            matrix[i, j] -= a * room[at, j] + b * room[at + 1, j] + (c * room[at + 2, j] + d * room[at + 3, j])


@_ordered_kernel
def _with_products(matrix: Array, room: Array, r: int, q: int) -> None:
    """Add the sum of r q' + q r' over four pairs of rows of the room to a matrix."""
    for i in range(matrix.shape[0]):
        a, b, c, d = room[r, i], room[r + 1, i], room[r + 2, i], room[r + 3, i]
        e, f, g, h = room[q, i], room[q + 1, i], room[q + 2, i], room[q + 3, i]
        for j in range(WIDTH):
            first = a * room[q, j] + e * room[r, j] + (b * room[q + 1, j] + f * room[r + 1, j])
            second = c * room[q + 2, j] + g * room[r + 2, j] + (d * room[q + 3, j] + h * room[r + 3, j])
            matrix[i, j] += first + second


@_kernel
def update(which: Integers, count: int, off: Array, covariance: Array, table: Array, room: Array) -> None:
    """Take in at most four measurements, in place.

    which, count: their rows of the table, and how many they are
    off: shape (WIDTH,), what the state has moved away from where the innovations were taken
    covariance: shape (n, WIDTH)
    """
    _gather(which, count, table, ROW, room, ROWS)
    _times_four(covariance, room, ROWS, COLUMNS)
    for b in range(count):
        j = which[b]
        for before in range(b):
            share = _dot(room, COLUMNS + before, room, ROWS + b)
            for i in range(WIDTH):
                room[COLUMNS + b, i] -= share * room[COLUMNS + before, i]
        spread = _dot(room, ROWS + b, room, COLUMNS + b) + table[j, NOISE]
        innovation = table[j, INNOVATION] - _along(room, ROWS + b, off)
        table[j, INNOVATION], table[j, SPREAD] = innovation, spread
        size = 1.0 / np.sqrt(spread)
        for i in range(WIDTH):
            root = room[COLUMNS + b, i] * size
            room[COLUMNS + b, i] = root
            table[j, GAIN + i] = root * size
            off[i] += root * size * innovation
    for b in range(count, BLOCK):
        for i in range(WIDTH):
            room[COLUMNS + b, i] = 0.0
    _less_squares(covariance, room, COLUMNS)


@_kernel
def back_update(which: Integers, count: int, information: Array, table: Array, room: Array) -> None:
    """Undo at most four measurements: the adjoint of the covariance from after them to before them, in place.

    which, count: their rows of the table, the last first, and how many they are
    information: shape (n, WIDTH)
    """
    _gather(which, count, table, ROW, room, ROWS)
    _gather(which, count, table, GAIN, room, COLUMNS)
    _times_four(information, room, COLUMNS, THROUGH)
    for b in range(count):
        j, now = which[b], THROUGH + b
        for before in range(b):
            by_row = _dot(room, THROUGH + before, room, COLUMNS + b)
            by_now = _dot(room, ROWS + before, room, COLUMNS + b)
            for i in range(WIDTH):
                room[now, i] += room[ROWS + before, i] * by_row + room[THROUGH + before, i] * by_now
        half = 0.5 * (_dot(room, COLUMNS + b, room, now) + 1.0 / table[j, SPREAD])
        for i in range(WIDTH):
            room[now, i] = half * room[ROWS + b, i] - room[now, i]
    for b in range(count, BLOCK):
        for i in range(WIDTH):
            room[THROUGH + b, i] = 0.0
    _with_products(information, room, ROWS, THROUGH)


@_kernel
def back_mean(j: int, innovation: float, adjoint: Array, state: Array, table: Array) -> None:
    """Undo one measurement, in place: for the adjoint of the mean, and for the state that it moved.

    j, innovation: row of the table, and what takes the place of its innovation
    """
    pull = innovation / table[j, SPREAD]
    for i in range(WIDTH):
        pull += table[j, GAIN + i] * adjoint[i]
    for i in range(WIDTH):
        adjoint[i] -= table[j, ROW + i] * pull
    for i in range(WIDTH):
        state[i] -= table[j, GAIN + i] * innovation


@_kernel
def moved(vector: Array, block: Array, decay: Array) -> None:
    """F x in place."""
    m, driven_by = block.shape
    for back in range(m - 1):
        i = m - 1 - back
        vector[i] += block[i, i - 1] * vector[i - 1]
    for i in range(m):
        total = 0.0
        for k in range(i, driven_by):
            total += block[i, k] * vector[k]
        vector[i] = total
    for i in range(decay.size):
        vector[m + i] *= decay[i]


@_kernel
def back_moved(adjoint: Array, block: Array, decay: Array) -> None:
    """F' a in place."""
    m, driven_by = block.shape
    for i in range(decay.size):
        adjoint[m + i] *= decay[i]
    for i in range(m, driven_by):
        for k in range(m):
            adjoint[i] += block[k, i] * adjoint[k]
    for back in range(m):
        i = m - 1 - back
        total = 0.0
        for k in range(i + 1):
            total += block[k, i] * adjoint[k]
        adjoint[i] = total
    for i in range(1, m):
        adjoint[i - 1] += block[i, i - 1] * adjoint[i]


@_kernel
def back_predict(information: Array, block: Array, decay: Array, room: Array) -> None:
    """Undo one step: the adjoint of the covariance from after it to before it, in place."""
    driven_by = block.shape[1]
    _by_columns(block, decay, information, 0, WIDTH)
    _transposed(information, room, driven_by, driven_by)
    _by_columns(block, decay, room, TURNED, TURNED_WIDTH)
    _decayed(information, decay, room, driven_by)


@_inlined_kernel
def _times_eight(matrix: Array, n: int, by: Array, out: Array) -> None:
    """The first n rows of a matrix times each of eight rows, which are rows of `out`."""
    for i in range(n):
        a = b = c = d = e = f = g = h = 0.0
        for j in range(WIDTH):
            value = matrix[i, j]
            a += value * by[0, j]
            b += value * by[1, j]
            c += value * by[2, j]
            d += value * by[3, j]
            e += value * by[4, j]
            f += value * by[5, j]
            g += value * by[6, j]
            h += value * by[7, j]
        out[0, i], out[1, i], out[2, i], out[3, i] = a, b, c, d
        out[4, i], out[5, i], out[6, i], out[7, i] = e, f, g, h


@_kernel
def smoothed(covariance: Array, information: Array, seen: Array, out: Array, through: Array) -> None:
    """The smoothed covariance T (P - P I P) T' of what is kept of the states, written into `out`.

    covariance: T P, shape (MOST_MOVING, WIDTH); through: room of that shape
    seen: the last rows of T, shape (SEEN, WIDTH); those before take the states as they are
    """
    _times_eight(information, information.shape[0], covariance, through)
    _times_eight(through, MOST_MOVING, covariance, out)
    for i in range(MOST_MOVING):
        for k in range(MOST_MOVING - SEEN):
            out[i, k] = covariance[i, k] - out[i, k]
        for k in range(SEEN):
            out[i, MOST_MOVING - SEEN + k] = _dot(covariance, i, seen, k) - out[i, MOST_MOVING - SEEN + k]
