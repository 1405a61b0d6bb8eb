"""Whole paths drawn from the joint posterior of a log: one more pass over what the filter left."""

from __future__ import annotations

import numpy as np

from conewise.logs.kalman import GAIN, ROW, SEEN, SPREAD, WIDTH, Array, _kernel, moved
from conewise.logs.motion import N_MOVING
from conewise.logs.passes import Filtered, Flags, Problem, corrected_states


@_kernel
def draw(problem: Problem, filtered: Filtered, restarts: Flags, noise: tuple[Array, Array]) -> Array:
    """Deviations of one path from the smoothed one, drawn from the joint posterior: shape (n_steps, N_MOVING).

    A path is drawn from the prior and measured with drawn noise; what smoothing those readings leaves of it is the
    deviation (Durbin and Koopman 2002). noise: standard normal, shapes (n_steps, n) and (n_readings,).
    """
    n, n_steps = problem.start.size, problem.first.size - 1
    drawn, mean = np.zeros(WIDTH), np.zeros(WIDTH)
    left = np.zeros((n_steps, N_MOVING))
    innovation = np.zeros(problem.kind.size)
    for k in range(n_steps):
        _wander(k, problem, filtered.block[k], (drawn, mean), noise[0][k], restarts[k])
        for j in range(problem.first[k], problem.first[k + 1]):
            if filtered.table[j, SPREAD] > 0.0:
                innovation[j] = np.sqrt(problem.variance[j]) * noise[1][j]
                for i in range(n):
                    innovation[j] += filtered.table[j, ROW + i] * (drawn[i] - mean[i])
                for i in range(n):
                    mean[i] += filtered.table[j, GAIN + i] * innovation[j]
        left[k] = _seen_of(drawn - mean, filtered.seen[k])
    smooth = corrected_states(problem, filtered, restarts, (np.zeros((n_steps, WIDTH)), innovation))
    for k in range(n_steps):
        left[k] -= _seen_of(smooth[k], filtered.seen[k])
    return left


@_kernel
def _seen_of(deviation: Array, rows: Array) -> Array:
    """What a deviation of the state is of its leading part, with the changes of speeds last."""
    out, first = deviation[:N_MOVING].copy(), N_MOVING - SEEN
    for i in range(SEEN):
        out[first + i] = np.sum(rows[i] * deviation)
    return out


@_kernel
def _wander(
    k: int, problem: Problem, block: Array, vectors: tuple[Array, Array], noise: Array, is_restart: bool
) -> None:
    """Move a drawn deviation and the filter's mean of it by a step, in place."""
    drawn, mean = vectors
    if k > 0:
        for vector in vectors:
            moved(vector, block, problem.decay)
    for i in range(problem.start.size):
        if k == 0 or (is_restart and problem.anew[i]):
            drawn[i], mean[i] = np.sqrt(problem.start[i]) * noise[i], 0.0
        else:
            drawn[i] += np.sqrt(problem.added[i]) * noise[i]
