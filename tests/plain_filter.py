"""The filter and smoother of a phone's log as one writes them with a general library: filterpy and plain numpy.

Motion, sensors and derivatives are written anew from docs/models/fusion.md, so that they check those of
`conewise.logs.motion` too. A log that makes the filter start anew is beyond it.
"""

from __future__ import annotations

from math import cos, sin
from typing import NamedTuple

import numpy as np
from filterpy.kalman import ExtendedKalmanFilter

from conewise.logs import motion as m

X, Y, YAW, U, V, R, FX, FY, TURN, PITCH, ROLL = range(11)
N_BLOCK = 11
POSITION, VELOCITY, INERTIAL, STANDING, SLIDING = "position", "velocity", "inertial", "standing", "sliding"
FAMILIES = {
    **dict.fromkeys((m.AT_X, m.AT_Y), POSITION),
    **dict.fromkeys((m.EAST_SPEED, m.NORTH_SPEED), VELOCITY),
    **dict.fromkeys((m.SENSOR_X, m.SENSOR_Y, m.SENSOR_RATE), INERTIAL),
    **dict.fromkeys(range(m.STANDING_FORWARD, m.STANDING_SIDEWAYS_CHANGE + 1), STANDING),
    m.SLIDING: SLIDING,
}
STANDING_AT = np.zeros((5, m.N_MOVING + m.N_DECAYING))
STANDING_AT[range(5), [U, V, R, FX, FY]] = 1.0
WANTED = ("DELAY", "SPEED_DELAY", "POSITION_ERROR_X", "BIAS_X", "MOUNTING", "PITCHING", "ROLLING")


class Group(NamedTuple):
    """Readings of one sensor at one time: two of a receiver, three of an inertial sensor, five at rest."""

    family: str
    value: np.ndarray
    variance: np.ndarray
    time: float
    scale: float


def driven(x):
    """Accelerations of the car along and to its left, from those that are felt."""
    return (1.0 - x[PITCH]) * x[FX] - x[TURN] * x[FY], (1.0 - x[ROLL]) * x[FY] + x[TURN] * x[FX]


def by_felt(x, along, across):
    """Derivatives by what is felt, turn, pitch and roll of so much of the one and of the other."""
    fx, fy, t = x[FX], x[FY], x[TURN]
    return (1.0 - x[PITCH]) * along + t * across, (1.0 - x[ROLL]) * across - t * along, fx * across - fy * along, \
        -fx * along, -fy * across  # fmt: skip


class Way(NamedTuple):
    """From the beginning of a step on: sine and cosine of the yaw then and halfway, velocity then, and what pushes."""

    s: float
    c: float
    sh: float
    ch: float
    east: float
    north: float
    push_east: float
    push_north: float


def way(x, t):
    """The way over a time."""
    half = x[YAW] + t * x[R] / 2.0
    s, c, sh, ch = sin(x[YAW]), cos(x[YAW]), sin(half), cos(half)
    along, across = driven(x)
    return Way(s, c, sh, ch, x[U] * c - x[V] * s, x[U] * s + x[V] * c,
               along * ch - across * sh, along * sh + across * ch)  # fmt: skip


class Model:
    """The models of a log with a receiver and a phone's inertial sensor: f, F, h and H in plain numpy."""

    def __init__(self, problem):
        self.n, self.step, self.kept = problem.start.size, problem.step, problem.kept
        self.decay = problem.decay
        self.at = {name: int(problem.places[getattr(m, name)]) for name in WANTED}

    def moved(self, x):
        """The state a step later."""
        h, w = self.step, way(x, self.step)
        new = x.copy()
        new[X] += h * (w.east + h * w.push_east / 2.0)
        new[Y] += h * (w.north + h * w.push_north / 2.0)
        new[YAW] += h * x[R]
        s, c = sin(new[YAW]), cos(new[YAW])
        east, north = w.east + h * w.push_east, w.north + h * w.push_north
        new[U], new[V] = east * c + north * s, north * c - east * s
        new[R : FY + 1] *= self.kept
        new[TURN:] *= self.decay
        return new

    def transition(self, x):
        """Its derivative by the state."""
        h, n, w = self.step, self.n, way(x, self.step)
        b = h * h / 2.0
        F = np.eye(n)
        F[X, YAW:N_BLOCK] = -h * w.north - b * w.push_north, h * w.c, -h * w.s, -b * h / 2.0 * w.push_north, \
            *by_felt(x, b * w.ch, -b * w.sh)  # fmt: skip
        F[Y, YAW:N_BLOCK] = h * w.east + b * w.push_east, h * w.s, h * w.c, b * h / 2.0 * w.push_east, \
            *by_felt(x, b * w.sh, b * w.ch)  # fmt: skip
        F[YAW, R] = h
        turn = h * x[R]
        s, c, sh, ch = sin(turn), cos(turn), sin(turn / 2.0), cos(turn / 2.0)
        along, across = driven(x)
        u, v = x[U] * c + x[V] * s, x[V] * c - x[U] * s
        F[U, U:N_BLOCK] = c, s, h * v + b * (across * ch - along * sh), *by_felt(x, h * ch, h * sh)
        F[V, U:N_BLOCK] = -s, c, -h * u - b * (across * sh + along * ch), *by_felt(x, -h * sh, h * ch)
        F[[R, FX, FY], [R, FX, FY]] = self.kept
        F[range(TURN, n), range(TURN, n)] = self.decay
        return F

    def reading(self, group, x):
        """What a group of readings would tell, and its derivative by the state."""
        return getattr(self, group.family)(group, x)

    def position(self, group, x):
        """A receiver's position: where the car was when it was measured, and the slow error."""
        late, error = self.at["DELAY"], self.at["POSITION_ERROR_X"]
        t = group.time - x[late]
        w, b = way(x, t), t * t / 2.0
        H = np.zeros((2, self.n))
        H[0, X:N_BLOCK] = 1.0, 0.0, -t * w.north - b * w.push_north, t * w.c, -t * w.s, -b * t / 2.0 * w.push_north, \
            *by_felt(x, b * w.ch, -b * w.sh)  # fmt: skip
        H[1, X:N_BLOCK] = 0.0, 1.0, t * w.east + b * w.push_east, t * w.s, t * w.c, b * t / 2.0 * w.push_east, \
            *by_felt(x, b * w.sh, b * w.ch)  # fmt: skip
        H[0, late] = -w.east - t * w.push_east + b / 2.0 * x[R] * w.push_north
        H[1, late] = -w.north - t * w.push_north - b / 2.0 * x[R] * w.push_east
        H[0, error] = H[1, error + 1] = group.scale
        east, north = t * w.east + b * w.push_east, t * w.north + b * w.push_north
        return np.array([x[X] + east + group.scale * x[error], x[Y] + north + group.scale * x[error + 1]]), H

    def velocity(self, group, x):
        """A receiver's velocity."""
        late = self.at["SPEED_DELAY"]
        t = group.time - x[late]
        w, b = way(x, t), t * t / 2.0
        east, north = w.east + t * w.push_east, w.north + t * w.push_north
        H = np.zeros((2, self.n))
        H[0, YAW:N_BLOCK] = -north, w.c, -w.s, -b * w.push_north, *by_felt(x, t * w.ch, -t * w.sh)
        H[1, YAW:N_BLOCK] = east, w.s, w.c, b * w.push_east, *by_felt(x, t * w.sh, t * w.ch)
        H[0, late] = -w.push_east + t / 2.0 * x[R] * w.push_north
        H[1, late] = -w.push_north - t / 2.0 * x[R] * w.push_east
        return np.array([east, north]), H

    def inertial(self, group, x):
        """Two accelerations and the yaw rate, with their biases."""
        del group
        bias = self.at["BIAS_X"]
        H = np.zeros((3, self.n))
        H[[0, 1, 2], [FX, FY, R]] = H[[0, 1, 2], [bias, bias + 1, bias + 2]] = 1.0
        return x[[FX, FY, R]] + x[bias : bias + 3], H

    def sliding(self, group, x):
        """That a car hardly goes sideways."""
        del group
        return x[V : V + 1], STANDING_AT[1:2, : self.n]

    def standing(self, group, x):
        """At rest."""
        del group
        return x[[U, V, R, FX, FY]], STANDING_AT[:, : self.n]


def grouped(problem):
    """The readings of every step, sensor by sensor. Preparation: it is not part of what is timed."""
    steps = []
    for begin, end in zip(problem.first[:-1], problem.first[1:], strict=True):
        groups, j = [], begin
        while j < end:
            family, stop = FAMILIES[int(problem.kind[j])], j + 1
            while stop < end and FAMILIES[int(problem.kind[stop])] == family and problem.kind[stop] > problem.kind[j]:
                stop += 1
            part, told = slice(j, stop), problem.told[j]
            values = problem.value[part], np.diag(problem.variance[part])
            groups.append(Group(family, *values, float(told[0]), float(told[1])))
            j = stop
        steps.append(groups)
    return steps


def is_believable(kalman, group, told, H, gate):
    """Whether no reading of a receiver's pair is off by more than the gate."""
    if group.family not in (POSITION, VELOCITY):
        return True
    spread = np.diag(H @ kalman.P @ H.T + group.variance)
    return bool(np.all((group.value - told) ** 2 <= gate**2 * spread))


def stacked(groups, rows):
    """All groups of a step as one."""
    size = sum(group.value.size for group in groups)
    variance, at = np.zeros((size, size)), 0
    for group in groups:
        part = slice(at, at + group.value.size)
        variance[part, part] = group.variance
        at += group.value.size
    value = np.concatenate([group.value for group in groups])
    told, slopes = np.concatenate([told for told, _ in rows]), np.concatenate([H for _, H in rows])
    return [groups[0]._replace(value=value, variance=variance)], [(told, slopes)]


class Filter(ExtendedKalmanFilter):
    """filterpy's filter, its prediction overridden for a motion that is not linear, as its documentation says."""

    def __init__(self, problem):
        super().__init__(dim_x=problem.start.size, dim_z=2)
        self.model = Model(problem)
        self.x, self.P, self.Q = problem.mean.copy(), np.diag(problem.start), np.diag(problem.added)
        self.x[[X, Y, YAW, U]] = problem.guess[0]
        self.point = self.x

    def predict_x(self, u=0):
        """Motion linearised at `point`."""
        del u
        self.x = self.model.moved(self.point) + self.F @ (self.x - self.point)

    def take_in(self, group, row):
        """Update with a linear reading: what it tells where the state is zero, and H."""
        told, H = row
        self.update(group.value, lambda _: H, lambda x: H @ x + told, R=group.variance)


def plain_filter(problem, groups, path=None, *, at_once=False):
    """Smoothed states (n_steps, n), and covariances of the first eight with the changes of the speeds last.

    path: states to linearise at, (n_steps, n); left out: the filter's own predictions
    at_once: one update a step in place of one a sensor
    """
    kalman = Filter(problem)
    transitions, priors, posteriors = [], [], []
    for k, readings in enumerate(groups):
        if k:
            kalman.point = kalman.x if path is None else path[k - 1]
            kalman.F = kalman.model.transition(kalman.point)
            kalman.predict()
        transitions.append(kalman.F)
        priors.append((kalman.x.copy(), kalman.P.copy()))
        point = kalman.x.copy() if path is None else path[k]
        used, rows = [], []
        for group in readings:
            told, H = kalman.model.reading(group, point)
            told = told - H @ point
            if is_believable(kalman, group, told + H @ kalman.x, H, problem.gate):
                used.append(group)
                rows.append((told, H))
        if at_once and len(used) > 1:
            used, rows = stacked(used, rows)
        for group, row in zip(used, rows, strict=True):
            kalman.take_in(group, row)
        posteriors.append((kalman.x.copy(), kalman.P.copy()))
    state, covariance = smoothed(transitions, priors, posteriors)
    return state, seen(path if path is not None else [x for x, _ in posteriors], covariance)


def seen(states, covariances):
    """Covariances of the first eight states with the changes of the speeds last, each taken at a state."""
    rows = np.zeros((len(states), 8, states[0].size))
    for x, T in zip(states, rows, strict=True):
        T[range(6), range(6)] = 1.0
        T[6, FX:N_BLOCK], T[7, FX:N_BLOCK] = by_felt(x, 1.0, 0.0), by_felt(x, 0.0, 1.0)
        T[6, [V, R]] = x[R], x[V]
        T[7, [U, V, R]] = -x[R], 1.0 / m.SIDEWAYS_MEMORY, -x[U]
    return rows @ covariances @ rows.transpose(0, 2, 1)


def smoothed(transitions, priors, posteriors):
    """Rauch, Tung and Striebel's recursion, as filterpy has it for linear filters."""
    state, covariance = np.array([x for x, _ in posteriors]), np.array([P for _, P in posteriors])
    for k in range(len(posteriors) - 2, -1, -1):
        prior_state, prior_covariance = priors[k + 1]
        gain = covariance[k] @ transitions[k + 1].T @ np.linalg.inv(prior_covariance)
        state[k] += gain @ (state[k + 1] - prior_state)
        covariance[k] += gain @ (covariance[k + 1] - prior_covariance) @ gain.T
    return state, covariance
