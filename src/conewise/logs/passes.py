"""The passes over a log: filter forwards, smooth backwards.

Everything is linearised at a given path of states where there is one (the smoothed states of the pass before), and
at the filter's own prediction otherwise.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from conewise.logs.kalman import (
    BLOCK,
    INNOVATION,
    NOISE,
    ROOM,
    ROW,
    SEEN,
    SPREAD,
    TABLE_WIDTH,
    WIDTH,
    Array,
    Integers,
    _inlined_kernel,
    _kernel,
    back_mean,
    back_moved,
    back_predict,
    back_update,
    moved,
    predict,
    smoothed,
    spreads_of,
    update,
)
from conewise.logs.motion import (
    AT_X,
    EAST_SPEED,
    FORWARD,
    N_DRIVING,
    N_MOVING,
    SPEED,
    WHEEL,
    YAW,
    X,
    Y,
    advance,
    expected,
    seen,
)

Flags = NDArray[np.bool_]


class Problem(NamedTuple):
    """A log as the passes take it. n states, n_steps steps, n_readings readings in the order of their steps.

    step: [s]
    mean, start: shape (n,), each state before anything is known, and its variance
    added: shape (n,), variance that a step adds
    kept: shape (3,), share of yaw rate, forward and sideways change that a step leaves
    decay: shape (n - N_MOVING,), what a step leaves of each decaying state
    anew: shape (n,), whether a state is forgotten at a restart: what moves, what it aims at, the errors of positions
    places: shape (N_DECAYING,), where each decaying state stands; n where the log does not have it
    guess: shape (n_steps, 4): x, y, yaw and forward speed to start from, and again after a restart
    first: shape (n_steps + 1,), the first reading of each step
    kind, value, variance: shape (n_readings,)
    told: shape (n_readings, 3): time since the step's own [s], and what the kind needs besides (`motion.expected`)
    gate: normalised innovation beyond which a reading is left out
    patience: how long positions may be left out before the filter starts anew [s]
    """

    step: float
    mean: Array
    start: Array
    added: Array
    kept: Array
    decay: Array
    anew: Flags
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

    state: shape (n_steps, WIDTH), after the readings of the step
    seen: shape (n_steps, 2, WIDTH), derivatives of the changes of forward and sideways speed by the state
    covariance: shape (n_steps, N_MOVING, WIDTH), its leading rows, those of these changes in place of the last two
    block: shape (n_steps, N_MOVING, N_DRIVING), of the transition that led to the step
    table: shape (n_readings, TABLE_WIDTH), readings as `kalman` lists them; the spread is minus the variance where the
        reading was left out
    """

    state: Array
    seen: Array
    covariance: Array
    block: Array
    table: Array

    @property
    def innovation(self) -> Array:
        """Of every reading, shape (n_readings,). [as the reading]"""
        return self.table[:, INNOVATION]

    @property
    def spread(self) -> Array:
        """Variance of the innovations, shape (n_readings,); minus the variance where the reading was left out."""
        return self.table[:, SPREAD]


def filtered_room(problem: Problem) -> Filtered:
    """Where a filter writes; the passes over one log can share it. One piece of memory: it comes in larger pages."""
    n_steps, n_readings = problem.first.size - 1, problem.kind.size
    shapes = (
        *((n_steps, WIDTH), (n_steps, SEEN, WIDTH), (n_steps, N_MOVING, WIDTH)),
        *((n_steps, N_MOVING, N_DRIVING), (n_readings, TABLE_WIDTH)),
    )
    ends = np.cumsum([0, *(int(np.prod(shape)) for shape in shapes)])
    memory = np.empty(ends[-1])
    parts = [memory[begin:end].reshape(shape) for begin, end, shape in zip(ends, ends[1:], shapes, strict=False)]
    room = Filtered(*parts)
    room.block[:] = 0.0
    return room


@_kernel
def _restart(k: int, problem: Problem, state: Array, covariance: Array) -> None:
    """Forget the motion, keep what is known of the sensors."""
    for i in range(covariance.shape[0]):
        if problem.anew[i]:
            covariance[i, :] = 0.0
            covariance[:, i] = 0.0
            covariance[i, i] = problem.start[i]
            state[i] = 0.0
    for i, at in enumerate((X, Y, YAW, FORWARD)):
        state[at] = problem.guess[k, i]


@_kernel
def _restart_decay(problem: Problem) -> Array:
    """Decay over a step at which the filter starts anew."""
    return np.where(problem.anew[N_MOVING:], 0.0, problem.decay)


@_inlined_kernel
def _linearise(k: int, problem: Problem, states: tuple[Array, Array, Array], table: Array) -> None:
    """Rows and innovations of a step's readings against the predicted state.

    states: the predicted one, the one at which everything is linearised, and what lies between them (written)
    """
    state, point, off = states
    n, end = problem.start.size, problem.first[k + 1]
    kinds, values, variances, places, besides = (
        problem.kind,
        problem.value,
        problem.variance,
        problem.places,
        problem.told,
    )
    for i in range(WIDTH):
        off[i] = state[i] - point[i]
    for j in range(problem.first[k], end):
        told, row = (besides[j, 0], besides[j, 1], besides[j, 2]), table[j, ROW : ROW + WIDTH]
        difference = values[j] - expected(kinds[j], point, told, places, row)
        row[n] = 0.0  # of states that this log does not have
        for i in range(WIDTH):
            difference -= row[i] * off[i]
        table[j, INNOVATION], table[j, SPREAD], table[j, NOISE] = difference, 1.0, variances[j]


@_inlined_kernel
def _gate(k: int, problem: Problem, covariance: Array, table: Array, rooms: tuple[Integers, Array]) -> int:
    """Leave out what cannot be; -1 where the positions of a step are left out, 1 where one is taken, 0 without any."""
    which, room = rooms
    kinds, begin, end = problem.kind, problem.first[k], problem.first[k + 1]
    n_told = n_taken = 0
    for j in range(begin, end):
        if kinds[j] <= SPEED or kinds[j] == WHEEL:
            which[n_told % BLOCK] = j
            n_told += 1
            if n_told % BLOCK == 0:
                spreads_of(which, BLOCK, covariance, table, room)
    if n_told == 0:
        return 0
    spreads_of(which, n_told % BLOCK, covariance, table, room)
    for j in range(begin, end):
        is_told = kinds[j] <= SPEED or kinds[j] == WHEEL
        if is_told and table[j, INNOVATION] ** 2 > problem.gate**2 * table[j, SPREAD]:
            table[j, SPREAD] = -table[j, SPREAD]
    for j in range(begin, end - 1):  # east and north stand and fall together
        is_pair = (kinds[j] in (AT_X, EAST_SPEED)) and kinds[j + 1] == kinds[j] + 1
        if is_pair and min(table[j, SPREAD], table[j + 1, SPREAD]) < 0.0:
            table[j, SPREAD], table[j + 1, SPREAD] = -abs(table[j, SPREAD]), -abs(table[j + 1, SPREAD])
    for j in range(begin, end):
        n_taken += (kinds[j] <= SPEED or kinds[j] == WHEEL) and table[j, SPREAD] > 0.0
    return 1 if n_taken else -1


@_inlined_kernel
def _step(states: tuple[Array, Array, Array], problem: Problem, block: Array) -> None:
    """Move the state by a step, with the motion linearised at a point.

    states: the state, that point, and room for another
    """
    state, point, new = states
    for i in range(block.shape[1]):
        new[i] = point[i]
        state[i] -= new[i]
    advance(new, problem.step, problem.kept, block, problem.places)
    for i in range(N_MOVING, N_DRIVING):
        new[i] *= problem.decay[i - N_MOVING]
    moved(state, block, problem.decay)
    for i in range(block.shape[1]):
        state[i] += new[i]


@_inlined_kernel
def _keep(k: int, covariance: Array, out: Filtered) -> None:
    """The rows of the covariance that the smoother needs."""
    n, first = covariance.shape[0], N_MOVING - SEEN
    kept, rows = out.covariance[k], out.seen[k]
    for i in range(first):
        for j in range(WIDTH):
            kept[i, j] = covariance[i, j]
    for i in range(SEEN):
        for j in range(WIDTH):
            kept[first + i, j] = 0.0
        for a in range(n):
            factor = rows[i, a]
            if factor != 0.0:
                for j in range(WIDTH):
                    kept[first + i, j] += factor * covariance[a, j]


@_inlined_kernel
def _take_in(
    ends: tuple[int, int], state: Array, covariance: Array, table: Array, rooms: tuple[Integers, Array, Array]
) -> None:
    """Update with the readings of a step, from the first of `ends` to before the second."""
    which, room, off = rooms
    begin, end = ends
    off[:] = 0.0
    count = 0
    for j in range(begin, end):
        if table[j, SPREAD] > 0.0:
            which[count] = j
            count += 1
        if count == BLOCK or (count and j == end - 1):
            update(which, count, off, covariance, table, room)
            count = 0
    for i in range(WIDTH):
        state[i] += off[i]


@_kernel
def forward(problem: Problem, path: Array, restarts: Flags, out: Filtered) -> Filtered:
    """Filter a log into `out`, and return it.

    path: shape (n_steps, WIDTH), states at which everything is linearised; (0, 0) for the filter's own
    restarts: shape (n_steps,), where the filter starts anew; without a path it adds those that it needs
    """
    n, n_steps, first, table = problem.start.size, problem.first.size - 1, problem.first, out.table
    has_path = path.shape[0] > 0
    covariance, state, spare = np.zeros((n, WIDTH)), np.zeros(WIDTH), np.zeros(WIDTH)
    which, room = np.zeros(BLOCK, dtype=np.int64), np.zeros((ROOM, WIDTH))
    for i in range(n):
        state[i], covariance[i, i] = problem.mean[i], problem.start[i]
    _restart(0, problem, state, covariance)
    refused = 0.0
    for k in range(n_steps):
        if k > 0:
            _step((state, path[k - 1] if has_path else state, spare), problem, out.block[k])
            predict(covariance, out.block[k], problem.decay, problem.added, room)
        if restarts[k]:
            _restart(k, problem, state, covariance)
        _linearise(k, problem, (state, path[k] if has_path else state, spare), table)
        verdict = _gate(k, problem, covariance, table, (which, room))
        refused = 0.0 if verdict > 0 else refused + problem.step if verdict < 0 or refused > 0.0 else 0.0
        if verdict < 0 and refused > problem.patience and not has_path:
            restarts[k], refused = True, 0.0
            _restart(k, problem, state, covariance)
            _linearise(k, problem, (state, state, spare), table)
            _gate(k, problem, covariance, table, (which, room))
        _take_in((first[k], first[k + 1]), state, covariance, table, (which, room, spare))
        out.state[k] = state
        seen(path[k] if has_path else state, problem.places, out.seen[k])
        _keep(k, covariance, out)
    return out


@_kernel
def backward(problem: Problem, filtered: Filtered, restarts: Flags) -> tuple[Array, Array]:
    """Smoothed states, shape (n_steps, WIDTH), and covariance of their moving part, (n_steps, N_MOVING, N_MOVING)."""
    n, n_steps, first = problem.start.size, problem.first.size - 1, problem.first
    covariance, information = np.zeros((n_steps, N_MOVING, N_MOVING)), np.zeros((n, WIDTH))
    which, room, through = np.zeros(BLOCK, dtype=np.int64), np.zeros((ROOM, WIDTH)), np.zeros((N_MOVING, WIDTH))
    anew, nothing = _restart_decay(problem), np.zeros(filtered.block.shape[1:])
    for k in range(n_steps - 1, -1, -1):
        smoothed(filtered.covariance[k], information, filtered.seen[k], covariance[k], through)
        _back_over((first[k], first[k + 1]), information, filtered.table, (which, room))
        if restarts[k]:
            back_predict(information, nothing, anew, room)
        else:
            back_predict(information, filtered.block[k], problem.decay, room)
    return smoothed_states(problem, filtered, restarts), covariance


@_inlined_kernel
def _back_over(ends: tuple[int, int], information: Array, table: Array, rooms: tuple[Integers, Array]) -> None:
    """Undo the readings of a step that were taken, the last first."""
    which, room = rooms
    begin, end = ends
    count = 0
    for j in range(end - 1, begin - 1, -1):
        if table[j, SPREAD] > 0.0:
            which[count] = j
            count += 1
        if count == BLOCK or (count and j == begin):
            back_update(which, count, information, table, room)
            count = 0


@_kernel
def smoothed_states(problem: Problem, filtered: Filtered, restarts: Flags) -> Array:
    """The smoothed states alone, shape (n_steps, WIDTH)."""
    return corrected_states(problem, filtered, restarts, (filtered.state, filtered.table[:, INNOVATION].copy()))


@_kernel
def corrected_states(problem: Problem, filtered: Filtered, restarts: Flags, met: tuple[Array, Array]) -> Array:
    """Smoothed states, shape (n_steps, WIDTH), from filtered ones and the innovations that led to them.

    Backwards the adjoint; then forwards what it says of the disturbance of every step, which needs no covariance (the
    fast state smoother of Durbin and Koopman 2002).
    """
    before, innovations = met
    n, n_steps, first, table = problem.start.size, problem.first.size - 1, problem.first, filtered.table
    states, adjoints, adjoint = before.copy(), np.empty((n_steps, WIDTH)), np.zeros(WIDTH)
    anew, nothing = _restart_decay(problem), np.zeros(filtered.block.shape[1:])
    for k in range(n_steps - 1, -1, -1):
        for j in range(first[k + 1] - 1, first[k] - 1, -1):
            if table[j, SPREAD] > 0.0:
                back_mean(j, innovations[j], adjoint, states[k], table)
        adjoints[k] = adjoint
        if restarts[k]:
            back_moved(adjoint, nothing, anew)
        else:
            back_moved(adjoint, filtered.block[k], problem.decay)
    correction = np.zeros(WIDTH)
    for k in range(n_steps):
        if restarts[k]:
            moved(correction, nothing, anew)
        else:
            moved(correction, filtered.block[k], problem.decay)
        for i in range(n):
            is_new = k == 0 or (restarts[k] and problem.anew[i])
            correction[i] -= (problem.start[i] if is_new else problem.added[i]) * adjoints[k, i]
            states[k, i] += correction[i]
            correction[i] = states[k, i] - before[k, i]
    return states
