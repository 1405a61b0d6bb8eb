"""The passes over a log: filter forwards, smooth backwards, draw whole paths from the joint posterior.

Everything is linearised at a given path of states where there is one (the smoothed states of the pass before), and
at the filter's own prediction otherwise.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from conewise.logs.kalman import (
    Array,
    _kernel,
    back_adjoint,
    back_predict,
    back_update,
    predict,
    projected,
    smoothed,
    update,
)
from conewise.logs.motion import (
    AT_X,
    EAST_SPEED,
    FORWARD,
    N_MOVING,
    POSITION_ERROR_X,
    POSITION_ERROR_Y,
    SPEED,
    WHEEL,
    YAW,
    X,
    Y,
    advance,
    expected,
)

Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]


class Problem(NamedTuple):
    """A log as the passes take it. n states, n_steps steps, n_readings readings in the order of their steps.

    step: [s]
    mean, start: shape (n,), each state before anything is known, and its variance
    added: shape (n,), variance that a step adds
    kept: shape (3,), share of yaw rate, forward and sideways change that a step leaves
    decay: shape (n - N_MOVING,), what a step leaves of each decaying state
    places: shape (N_DECAYING,), where each decaying state stands; n where the log does not have it
    guess: shape (n_steps, 4): x, y, yaw and forward speed to start from, and again after a restart
    first: shape (n_steps + 1,), the first reading of each step
    kind, value, variance: shape (n_readings,)
    told: shape (n_readings, 3): time since the step's own [s], and what the kind needs besides
    gate: normalised innovation beyond which a reading is left out
    patience: how long positions may be left out before the filter starts anew [s]
    """

    step: float
    mean: Array
    start: Array
    added: Array
    kept: Array
    decay: Array
    places: Integers
    guess: Array
    first: Integers
    kind: Integers
    value: Array
    variance: Array
    told: Array
    gate: float
    patience: float


class Filtered(NamedTuple):
    """What the filter leaves for the smoother.

    state, covariance: shapes (n_steps, n + 1), (n_steps, n, n), after the readings of the step
    block: shape (n_steps, N_MOVING, N_MOVING), of the transition that led to the step
    row, gain: shape (n_readings, n)
    innovation, spread: shape (n_readings,), with its variance; minus the variance where the reading was left out
    """

    state: Array
    covariance: Array
    block: Array
    row: Array
    gain: Array
    innovation: Array
    spread: Array


@_kernel
def _restart(k: int, problem: Problem, state: Array, covariance: Array) -> None:
    """Forget the motion, keep what is known of the sensors."""
    n = covariance.shape[0]
    x_error, y_error = problem.places[POSITION_ERROR_X], problem.places[POSITION_ERROR_Y]
    for i in range(n):
        if i < N_MOVING or i in (x_error, y_error):
            covariance[i, :] = 0.0
            covariance[:, i] = 0.0
            covariance[i, i] = problem.start[i]
            state[i] = 0.0
    for i, at in enumerate((X, Y, YAW, FORWARD)):
        state[at] = problem.guess[k, i]


@_kernel
def _restart_decay(problem: Problem) -> Array:
    """Decay over a step at which the filter starts anew."""
    decay = problem.decay.copy()
    for kind in (POSITION_ERROR_X, POSITION_ERROR_Y):
        at = problem.places[kind] - N_MOVING
        if at < decay.size:
            decay[at] = 0.0
    return decay


@_kernel
def _linearise(k: int, problem: Problem, states: tuple[Array, Array], out: Filtered) -> None:
    """Rows and innovations of a step's readings against the predicted state."""
    state, point = states
    n = problem.start.size
    row = np.zeros(n + 1)
    kinds, values, besides, places = problem.kind, problem.value, problem.told, problem.places
    rows, innovations = out.row, out.innovation
    for j in range(problem.first[k], problem.first[k + 1]):
        told = (besides[j, 0], besides[j, 1], besides[j, 2])
        difference = values[j] - expected(kinds[j], point, told, places, row)
        for i in range(n):
            difference -= row[i] * (state[i] - point[i])
            rows[j, i] = row[i]
        innovations[j] = difference


@_kernel
def _gate(k: int, problem: Problem, covariance: Array, out: Filtered) -> int:
    """Leave out what cannot be; -1 where the positions of a step are left out, 1 where one is taken, 0 without any."""
    through = np.zeros(problem.start.size)
    kinds, spreads, innovations, rows = problem.kind, out.spread, out.innovation, out.row
    begin, end = problem.first[k], problem.first[k + 1]
    n_told = n_taken = 0
    for j in range(begin, end):
        spreads[j] = 1.0
        if kinds[j] <= SPEED or kinds[j] == WHEEL:
            spread = projected(covariance, rows[j], through) + problem.variance[j]
            spreads[j] = -spread if innovations[j] ** 2 > problem.gate**2 * spread else spread
            n_told += 1
    for j in range(begin, end - 1):  # east and north stand and fall together
        is_pair = (kinds[j] in (AT_X, EAST_SPEED)) and kinds[j + 1] == kinds[j] + 1
        if is_pair and min(spreads[j], spreads[j + 1]) < 0.0:
            spreads[j], spreads[j + 1] = -abs(spreads[j]), -abs(spreads[j + 1])
    for j in range(begin, end):
        n_taken += (kinds[j] <= SPEED or kinds[j] == WHEEL) and spreads[j] > 0.0
    return 1 if n_taken else -1 if n_told else 0


@_kernel
def _step(state: Array, point: Array, problem: Problem, block: Array) -> None:
    """Move the state by a step, with the motion linearised at a point."""
    moved = point.copy()
    advance(moved, problem.step, problem.kept, block)
    off = state - point
    for i in range(N_MOVING):
        total = moved[i]
        for j in range(N_MOVING):
            total += block[i, j] * off[j]
        moved[i] = total
    state[:N_MOVING] = moved[:N_MOVING]
    for i in range(problem.decay.size):
        state[N_MOVING + i] *= problem.decay[i]


@_kernel
def _take_in(k: int, problem: Problem, states: tuple[Array, Array], covariance: Array, out: Filtered) -> None:
    """Update with the readings of a step, one after the other."""
    state, predicted = states
    n = problem.start.size
    rows, gains, innovations, spreads, variances = out.row, out.gain, out.innovation, out.spread, problem.variance
    for j in range(problem.first[k], problem.first[k + 1]):
        if spreads[j] < 0.0:
            continue
        innovation = innovations[j]
        for i in range(n):
            innovation -= rows[j, i] * (state[i] - predicted[i])
        innovations[j] = innovation
        spreads[j] = update(state, covariance, rows[j], (innovation, variances[j]), gains[j])


@_kernel
def forward(problem: Problem, path: Array, restarts: Flags) -> Filtered:
    """Filter a log.

    path: shape (n_steps, n + 1), states at which everything is linearised; (0, 0) for the filter's own
    restarts: shape (n_steps,), where the filter starts anew; without a path it adds those that it needs
    """
    n, n_steps, n_readings = problem.start.size, problem.first.size - 1, problem.kind.size
    has_path = path.shape[0] > 0
    out = Filtered(
        np.zeros((n_steps, n + 1)),
        np.zeros((n_steps, n, n)),
        np.zeros((n_steps, N_MOVING, N_MOVING)),
        np.zeros((n_readings, n)),
        np.zeros((n_readings, n)),
        np.zeros(n_readings),
        np.zeros(n_readings),
    )
    covariance, state = np.diag(problem.start), np.append(problem.mean, 0.0)
    _restart(0, problem, state, covariance)
    refused = 0.0
    for k in range(n_steps):
        if k > 0:
            _step(state, path[k - 1] if has_path else state, problem, out.block[k])
            predict(covariance, out.block[k], problem.decay, problem.added)
        if restarts[k]:
            _restart(k, problem, state, covariance)
        _linearise(k, problem, (state, path[k] if has_path else state), out)
        verdict = _gate(k, problem, covariance, out)
        refused = 0.0 if verdict > 0 else refused + problem.step if verdict < 0 or refused > 0.0 else 0.0
        if verdict < 0 and refused > problem.patience and not has_path:
            restarts[k], refused = True, 0.0
            _restart(k, problem, state, covariance)
            _linearise(k, problem, (state, state), out)
            _gate(k, problem, covariance, out)
        _take_in(k, problem, (state, state.copy()), covariance, out)
        out.state[k] = state
        out.covariance[k] = covariance
    return out


@_kernel
def backward(problem: Problem, filtered: Filtered, restarts: Flags) -> tuple[Array, Array]:
    """Smoothed states, shape (n_steps, n + 1), and covariance of their moving part, (n_steps, N_MOVING, N_MOVING)."""
    n, n_steps = problem.start.size, problem.first.size - 1
    states, covariance = filtered.state.copy(), np.zeros((n_steps, N_MOVING, N_MOVING))
    adjoint, information, correction = np.zeros(n), np.zeros((n, n)), np.zeros(n)
    anew, nothing = _restart_decay(problem), np.zeros((N_MOVING, N_MOVING))
    _, covariances, blocks, rows, gains, innovations, spreads = filtered
    first, decay = problem.first, problem.decay
    for k in range(n_steps - 1, -1, -1):
        smoothed(covariances[k], adjoint, information, (correction, covariance[k]))
        states[k, :n] += correction
        for j in range(first[k + 1] - 1, first[k] - 1, -1):
            if spreads[j] > 0.0:
                back_update(adjoint, information, rows[j], gains[j], (innovations[j], spreads[j]))
        if restarts[k]:
            back_predict(adjoint, information, nothing, anew)
        else:
            back_predict(adjoint, information, blocks[k], decay)
    return states, covariance


@_kernel
def draw(problem: Problem, filtered: Filtered, restarts: Flags, noise: tuple[Array, Array]) -> Array:
    """Deviations of one path from the smoothed one, drawn from the joint posterior: shape (n_steps, N_MOVING).

    A path is drawn from the prior and measured with drawn noise; what smoothing those readings leaves of it is the
    deviation (Durbin and Koopman 2002). noise: standard normal, shapes (n_steps, n) and (n_readings,).
    """
    n, n_steps = problem.start.size, problem.first.size - 1
    drawn, mean = np.zeros(n), np.zeros(n)
    left = np.zeros((n_steps, N_MOVING))
    innovation = np.zeros(problem.kind.size)
    for k in range(n_steps):
        _wander(k, problem, filtered.block[k], (drawn, mean), noise[0][k], restarts[k])
        for j in range(problem.first[k], problem.first[k + 1]):
            if filtered.spread[j] > 0.0:
                innovation[j] = np.sqrt(problem.variance[j]) * noise[1][j]
                for i in range(n):
                    innovation[j] += filtered.row[j, i] * (drawn[i] - mean[i])
                for i in range(n):
                    mean[i] += filtered.gain[j, i] * innovation[j]
        left[k] = drawn[:N_MOVING] - mean[:N_MOVING]
    _subtract_smoothed(problem, filtered, restarts, (left, innovation))
    return left


@_kernel
def _wander(
    k: int, problem: Problem, block: Array, vectors: tuple[Array, Array], noise: Array, is_restart: bool
) -> None:
    """Move a drawn deviation and the filter's mean of it by a step, in place."""
    drawn, mean = vectors
    for vector in vectors:
        vector[:N_MOVING] = block @ vector[:N_MOVING].copy()
        vector[N_MOVING:] *= problem.decay
    for i in range(drawn.size):
        is_error = i in (problem.places[POSITION_ERROR_X], problem.places[POSITION_ERROR_Y])
        if k == 0 or (is_restart and (i < N_MOVING or is_error)):
            drawn[i], mean[i] = np.sqrt(problem.start[i]) * noise[i], 0.0
        else:
            drawn[i] += np.sqrt(problem.added[i]) * noise[i]


@_kernel
def _subtract_smoothed(problem: Problem, filtered: Filtered, restarts: Flags, deviations: tuple[Array, Array]) -> None:
    """Take the smoother's correction for given innovations off the deviations from the filter's mean, in place."""
    n, n_steps = problem.start.size, problem.first.size - 1
    left, innovation = deviations
    adjoint = np.zeros(n)
    anew, nothing = _restart_decay(problem), np.zeros((N_MOVING, N_MOVING))
    for k in range(n_steps - 1, -1, -1):
        for i in range(N_MOVING):
            for m in range(n):
                left[k, i] += filtered.covariance[k, i, m] * adjoint[m]
        for j in range(problem.first[k + 1] - 1, problem.first[k] - 1, -1):
            if filtered.spread[j] > 0.0:
                pull = innovation[j] / filtered.spread[j]
                for i in range(n):
                    pull += filtered.gain[j, i] * adjoint[i]
                for i in range(n):
                    adjoint[i] -= filtered.row[j, i] * pull
        if restarts[k]:
            back_adjoint(adjoint, nothing, anew)
        else:
            back_adjoint(adjoint, filtered.block[k], problem.decay)
