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

X, Y, YAW, U, V, R, A, S = range(8)
MEMORY = m.SIDEWAYS_MEMORY
POSITION, VELOCITY, INERTIAL, STANDING = "position", "velocity", "inertial", "standing"
FAMILIES = {
    **dict.fromkeys((m.AT_X, m.AT_Y), POSITION),
    **dict.fromkeys((m.EAST_SPEED, m.NORTH_SPEED), VELOCITY),
    **dict.fromkeys((m.SENSOR_X, m.SENSOR_Y, m.SENSOR_RATE), INERTIAL),
    **dict.fromkeys(range(m.STANDING_FORWARD, m.STANDING_SIDEWAYS_CHANGE + 1), STANDING),
}
STANDING_AT = np.zeros((5, m.N_MOVING + m.N_DECAYING))
STANDING_AT[range(5), [U, V, R, A, S]] = 1.0
WANTED = ("DELAY", "SPEED_DELAY", "POSITION_ERROR_X", "BIAS_X", "MOUNTING", "PITCHING")


class Group(NamedTuple):
    """Readings of one sensor at one time: two of a receiver, three of an inertial sensor, five at rest."""

    family: str
    value: np.ndarray
    variance: np.ndarray
    time: float
    scale: float
    felt: tuple[float, float]


class Model:
    """The models of a log with a receiver and a phone's inertial sensor: f, F, h and H in plain numpy."""

    def __init__(self, problem):
        self.n, self.step, self.kept = problem.start.size, problem.step, problem.kept
        self.decay = problem.decay
        self.at = {name: int(problem.places[getattr(m, name)]) for name in WANTED}

    def moved(self, x):
        """The state a step later."""
        h = self.step
        turn = x[YAW] + h * x[R] / 2.0
        drift = x[S] - x[V] / MEMORY
        ahead, aside = h * (x[U] + h * x[A] / 2.0), h * (x[V] + h * drift / 2.0)
        c, s = cos(turn), sin(turn)
        new = x.copy()
        new[X] += ahead * c - aside * s
        new[Y] += ahead * s + aside * c
        new[YAW] += h * x[R]
        new[U] += h * x[A]
        new[V] += h * drift
        new[R:8] *= self.kept
        new[8:] *= self.decay
        return new

    def transition(self, x):
        """Its derivative by the state."""
        h, n = self.step, self.n
        turn = x[YAW] + h * x[R] / 2.0
        drift = x[S] - x[V] / MEMORY
        ahead, aside = h * (x[U] + h * x[A] / 2.0), h * (x[V] + h * drift / 2.0)
        c, s = cos(turn), sin(turn)
        east, north = ahead * c - aside * s, ahead * s + aside * c
        lasting = h * (1.0 - h / (2.0 * MEMORY))
        F = np.eye(n)
        F[X, YAW:8] = -north, h * c, -lasting * s, -h * north / 2.0, h * h * c / 2.0, -h * h * s / 2.0
        F[Y, YAW:8] = east, h * s, lasting * c, h * east / 2.0, h * h * s / 2.0, h * h * c / 2.0
        F[YAW, R] = F[U, A] = F[V, S] = h
        F[V, V] = 1.0 - h / MEMORY
        F[[R, A, S], [R, A, S]] = self.kept
        F[range(8, n), range(8, n)] = self.decay
        return F

    def reading(self, group, x):
        """What a group of readings would tell, and its derivative by the state."""
        return getattr(self, group.family)(group, x)

    def position(self, group, x):
        """A receiver's position: where the car was when it was measured, and the slow error."""
        late = self.at["DELAY"]
        t = group.time - x[late]
        drift = x[S] - x[V] / MEMORY
        turn = x[YAW] + t * x[R] / 2.0
        c, s = cos(turn), sin(turn)
        ahead, aside = t * (x[U] + t * x[A] / 2.0), t * (x[V] + t * drift / 2.0)
        east, north = ahead * c - aside * s, ahead * s + aside * c
        c1, s1 = cos(turn + t * x[R] / 2.0), sin(turn + t * x[R] / 2.0)
        u, v = x[U] + t * x[A], x[V] + t * drift
        lasting = t * (1.0 - t / (2.0 * MEMORY))
        H = np.zeros((2, self.n))
        H[0, :8] = 1.0, 0.0, -north, t * c, -lasting * s, -t * north / 2.0, t * t * c / 2.0, -t * t * s / 2.0
        H[1, :8] = 0.0, 1.0, east, t * s, lasting * c, t * east / 2.0, t * t * s / 2.0, t * t * c / 2.0
        H[:, late] = v * s1 - u * c1, -u * s1 - v * c1
        error = self.at["POSITION_ERROR_X"]
        H[0, error] = H[1, error + 1] = group.scale
        told = np.array([x[X] + east + group.scale * x[error], x[Y] + north + group.scale * x[error + 1]])
        return told, H

    def velocity(self, group, x):
        """A receiver's velocity."""
        late = self.at["SPEED_DELAY"]
        t = group.time - x[late]
        drift = x[S] - x[V] / MEMORY
        turn = x[YAW] + t * x[R]
        c, s = cos(turn), sin(turn)
        u, v = x[U] + t * x[A], x[V] + t * drift
        east, north = u * c - v * s, u * s + v * c
        lasting = 1.0 - t / MEMORY
        H = np.zeros((2, self.n))
        H[0, YAW:8] = -north, c, -s * lasting, -t * north, t * c, -t * s
        H[1, YAW:8] = east, s, c * lasting, t * east, t * s, t * c
        H[0, late] = -x[A] * c + drift * s + north * x[R]
        H[1, late] = -x[A] * s - drift * c - east * x[R]
        return np.array([east, north]), H

    def inertial(self, group, x):
        """Two accelerations and the yaw rate."""
        bias, mounting, leaning = self.at["BIAS_X"], self.at["MOUNTING"], self.at["PITCHING"]
        along, across = group.felt
        H = np.zeros((3, self.n))
        H[0, V], H[0, R], H[0, A] = -x[R], -x[V], 1.0
        H[1, U], H[1, V], H[1, R], H[1, S] = x[R], -1.0 / MEMORY, x[U], 1.0
        H[2, R] = 1.0
        H[[0, 1, 2], [bias, bias + 1, bias + 2]] = 1.0
        H[0, mounting], H[1, mounting] = across, -along
        H[0, leaning], H[1, leaning + 1] = along, across
        turn, pitch, roll = x[mounting], x[leaning], x[leaning + 1]
        told = np.array(
            [
                x[A] - x[R] * x[V] + x[bias] + across * turn + along * pitch,
                x[S] - x[V] / MEMORY + x[R] * x[U] + x[bias + 1] - along * turn + across * roll,
                x[R] + x[bias + 2],
            ]
        )
        return told, H

    def standing(self, group, x):
        """At rest."""
        del group
        return x[[U, V, R, A, S]], STANDING_AT[:, : self.n]


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
            groups.append(Group(family, problem.value[part], np.diag(problem.variance[part]), float(told[0]),
                                float(told[1]), (float(told[1]), float(told[2]))))  # fmt: skip
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
    """Smoothed states (n_steps, n) and covariances (n_steps, n, n).

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
    return smoothed(transitions, priors, posteriors)


def smoothed(transitions, priors, posteriors):
    """Rauch, Tung and Striebel's recursion, as filterpy has it for linear filters."""
    state, covariance = np.array([x for x, _ in posteriors]), np.array([P for _, P in posteriors])
    for k in range(len(posteriors) - 2, -1, -1):
        prior_state, prior_covariance = priors[k + 1]
        gain = covariance[k] @ transitions[k + 1].T @ np.linalg.inv(prior_covariance)
        state[k] += gain @ (state[k + 1] - prior_state)
        covariance[k] += gain @ (covariance[k + 1] - prior_covariance) @ gain.T
    return state, covariance
