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


def turn(angle):
    """Turns vectors to the left."""
    return np.array([[cos(angle), -sin(angle)], [sin(angle), cos(angle)]])


QUARTER = turn(np.pi / 2.0)


def driven(x):
    """Accelerations of the car, and their derivatives by the two that are felt, turn, pitch and roll."""
    fx, fy = x[FX], x[FY]
    shares = np.array([[1.0 - x[PITCH], -x[TURN]], [x[TURN], 1.0 - x[ROLL]]])
    return shares @ x[FX : FY + 1], np.column_stack([shares, [-fy, fx], [-fx, 0.0], [0.0, -fy]])


def travelled(x, t):
    """Way and velocity after a time, from the east, with their derivatives by the first eleven states."""
    push, by_push = driven(x)
    start, half = turn(x[YAW]), turn(x[YAW] + t * x[R] / 2.0)
    velocity, gain = start @ x[U : V + 1], half @ push
    way, after = t * velocity + t * t / 2.0 * gain, velocity + t * gain
    by_way, by_after = np.zeros((2, N_BLOCK)), np.zeros((2, N_BLOCK))
    by_way[:, YAW], by_after[:, YAW] = QUARTER @ way, QUARTER @ after
    by_way[:, U : V + 1], by_after[:, U : V + 1] = t * start, start
    by_way[:, R], by_after[:, R] = t**3 / 4.0 * QUARTER @ gain, t * t / 2.0 * QUARTER @ gain
    by_way[:, FX:], by_after[:, FX:] = t * t / 2.0 * half @ by_push, t * half @ by_push
    return (way, after), (by_way, by_after)


class Model:
    """The models of a log with a receiver and a phone's inertial sensor: f, F, h and H in plain numpy."""

    def __init__(self, problem):
        self.n, self.step, self.kept = problem.start.size, problem.step, problem.kept
        self.decay = problem.decay
        self.at = {name: int(problem.places[getattr(m, name)]) for name in WANTED}

    def moved(self, x):
        """The state a step later."""
        (way, after), _ = travelled(x, self.step)
        new = x.copy()
        new[X : Y + 1] += way
        new[YAW] += self.step * x[R]
        new[U : V + 1] = turn(-new[YAW]) @ after
        new[R : FY + 1] *= self.kept
        new[N_BLOCK:] *= self.decay
        return new

    def transition(self, x):
        """Its derivative by the state."""
        h, n = self.step, self.n
        (_, after), (by_way, by_after) = travelled(x, h)
        back = turn(-x[YAW] - h * x[R])
        F = np.eye(n)
        F[X : Y + 1, :N_BLOCK] += by_way
        F[YAW, R] = h
        F[U : V + 1, :N_BLOCK] = back @ by_after
        beside = QUARTER @ back @ after
        F[U : V + 1, YAW] -= beside
        F[U : V + 1, R] -= h * beside
        F[[R, FX, FY], [R, FX, FY]] = self.kept
        F[range(N_BLOCK, n), range(N_BLOCK, n)] = self.decay
        return F

    def reading(self, group, x):
        """What a group of readings would tell, and its derivative by the state."""
        return getattr(self, group.family)(group, x)

    def position(self, group, x):
        """A receiver's position: where the car was when it was measured, and the slow error."""
        late, error = self.at["DELAY"], self.at["POSITION_ERROR_X"]
        t = group.time - x[late]
        (way, after), (by_way, _) = travelled(x, t)
        gain, _ = driven(x)
        gain = turn(x[YAW] + t * x[R] / 2.0) @ gain
        H = np.zeros((2, self.n))
        H[:, :N_BLOCK] = by_way
        H[0, X] = H[1, Y] = 1.0
        H[:, late] = -after - t * t * x[R] / 4.0 * QUARTER @ gain
        H[0, error] = H[1, error + 1] = group.scale
        return x[X : Y + 1] + way + group.scale * x[error : error + 2], H

    def velocity(self, group, x):
        """A receiver's velocity."""
        late = self.at["SPEED_DELAY"]
        t = group.time - x[late]
        (_, after), (_, by_after) = travelled(x, t)
        gain, _ = driven(x)
        gain = turn(x[YAW] + t * x[R] / 2.0) @ gain
        H = np.zeros((2, self.n))
        H[:, :N_BLOCK] = by_after
        H[:, late] = -gain - t * x[R] / 2.0 * QUARTER @ gain
        return after, H

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
    out = []
    for x, P in zip(states, covariances, strict=True):
        T = np.eye(8, x.size)
        _, T[6:, FX:N_BLOCK] = driven(x)
        T[6, [V, R]] = x[R], x[V]
        T[7, [U, V, R]] = -x[R], 1.0 / m.SIDEWAYS_MEMORY, -x[U]
        out.append(T @ P @ T.T)
    return np.array(out)


def smoothed(transitions, priors, posteriors):
    """Rauch, Tung and Striebel's recursion, as filterpy has it for linear filters."""
    state, covariance = np.array([x for x, _ in posteriors]), np.array([P for _, P in posteriors])
    for k in range(len(posteriors) - 2, -1, -1):
        prior_state, prior_covariance = priors[k + 1]
        gain = covariance[k] @ transitions[k + 1].T @ np.linalg.inv(prior_covariance)
        state[k] += gain @ (state[k + 1] - prior_state)
        covariance[k] += gain @ (covariance[k + 1] - prior_covariance) @ gain.T
    return state, covariance
