"""Motions known exactly, logs simulated from them, and the bound that no estimate from such a log can beat."""

from __future__ import annotations

from functools import lru_cache
from types import SimpleNamespace

import numpy as np
from filterpy.kalman import KalmanFilter
from scipy.integrate import cumulative_simpson

from conewise.logs import motion as m
from conewise.logs.fusion import _slopes, fused, track_of
from conewise.logs.kalman import SEEN
from conewise.logs.passes import backward, filtered_room, forward
from conewise.logs.sensor_model import SensorModel
from conewise.logs.simulated import SensorNoise, motion_of, simulated_log

GRAVITY = 9.80665


@lru_cache(maxsize=4)
def weaving(duration=24.0, standing=5.0):
    """Off from rest, left and right at 8 to 16 m/s and up to 0.8 g with some sideslip, to a stop; by integration."""
    t = np.arange(0.0, duration, 0.05)
    speed = 12.0 - 10.0 * np.exp(-t) + 3.0 * np.sin(0.5 * t)
    heading = 0.7 + 0.9 * np.sin(0.7 * t) + 0.05 * t
    x, y = (cumulative_simpson(speed * f(heading), x=t, initial=0.0) for f in (np.cos, np.sin))
    body = heading + 0.05 * np.sin(0.7 * t + 0.4)
    return motion_of(SimpleNamespace(elapsed=t, x=x, y=y, heading=body), standing=standing)


def told(noise):
    """The model that knows the noise of a simulated log."""
    return SensorModel(
        correlation_time=noise.correlation_time,
        slow_position=noise.slow_position,
        white_position=noise.white_position,
        received_speed=noise.received_speed or 0.1,
        bias_walk=0.002,
    )


def fused_log(known, seed, noise, model=None):
    """Log, last problem and pass, and track of a simulated recording."""
    log = simulated_log(known, rng=np.random.default_rng(seed), noise=noise)
    prepared, smoothed = fused(log, plane=None, model=model or told(noise))
    return SimpleNamespace(log=log, prepared=prepared, smoothed=smoothed, track=track_of(prepared, smoothed))


def errors(known, track):
    """What a track gets wrong, by quantity; shape (n_samples,) each."""

    def of(value):
        return np.interp(track.time, known.time, value)

    return {
        "x": track.x - of(known.x),
        "y": track.y - of(known.y),
        "speed": track.speed - of(known.speed),
        "heading": np.angle(np.exp(1j * (track.heading - of(known.heading)))),
        "yaw_rate": track.yaw_rate - of(known.yaw_rate),
        "lateral_acceleration": track.lateral_acceleration - of(known.lateral_acceleration),
        "longitudinal_acceleration": track.longitudinal_acceleration - of(known.longitudinal_acceleration),
    }


def position_nees(known, track):
    """Squared position error over its covariance, shape (n_samples,); two degrees of freedom."""
    wrong = errors(known, track)
    off = np.column_stack([wrong["x"], wrong["y"]])
    return np.einsum("ni,nij,nj->n", off, np.linalg.inv(track.position_covariance), off)


def true_states(known, steps):
    """The moving states of a known motion at the beginning of each step, shape (n_steps, N_MOVING)."""
    edges = steps.edges
    sideslip = known.heading - known.yaw
    forward_speed, sideways, yaw = (
        np.interp(edges, known.time, value)
        for value in (known.speed * np.cos(sideslip), known.speed * np.sin(sideslip), known.yaw)
    )
    changes = [np.diff(value) / steps.step for value in (yaw, forward_speed, sideways)]
    changes[2] += sideways[:-1] / m.SIDEWAYS_MEMORY
    place = [np.interp(edges[:-1], known.time, value) for value in (known.x, known.y)]
    return np.column_stack([*place, yaw[:-1], forward_speed[:-1], sideways[:-1], *changes])


def felt(moving, state):
    """What a sensor with the turn and shares of a state would feel of a motion, shape (n, 2)."""
    _, _, _, u, v, r, along, across = moving.T
    turn, pitch, roll = state[:, [m.TURN, m.PITCH, m.ROLL]].T
    along, across = along - r * v, across - v / m.SIDEWAYS_MEMORY + r * u
    whole = (1.0 - pitch) * (1.0 - roll) + turn**2
    return (
        np.column_stack([(1.0 - roll) * along + turn * across, (1.0 - pitch) * across - turn * along]) / whole[:, None]
    )


def position_bound(known, case):
    """Cramer-Rao bound of the horizontal RMS error over the whole log. [m]

    The inverse of the information of prior, motion model and readings, linearised at the true motion: the posterior
    (van Trees) bound, which a smoother's covariance is.
    """
    problem = case.prepared.problem._replace(gate=np.inf)
    path, moving = case.smoothed.state.copy(), true_states(known, case.prepared.steps)
    path[:, : m.N_MOVING] = moving
    if m.is_felt(problem.places):
        path[:, m.FORWARD_CHANGE : m.N_MOVING] = felt(moving, path)
    _, covariance = backward(
        problem, forward(problem, path, case.smoothed.restarts, filtered_room(problem)), case.smoothed.restarts
    )
    slopes = _slopes(moving)[:, :2]
    spread = np.einsum("nij,njk,nik->n", slopes, covariance, slopes)
    return float(np.sqrt(spread.mean()))


def whole(block):
    """The matrix that a block stands for: its upper triangle times ones and what is just below the diagonal."""
    shear = np.eye(block.shape[1])
    shear[: len(block)] += np.tril(block, -1)
    return np.triu(block) @ shear


def seen_rows(filtered, n):
    """What is kept of n states, by them: those before the last two moving ones, and the changes of the speeds."""
    rows = np.zeros((filtered.state.shape[0], m.N_MOVING, n))
    rows[:, range(m.N_MOVING - SEEN), range(m.N_MOVING - SEEN)] = 1.0
    rows[:, m.N_MOVING - SEEN :] = filtered.seen[:, :, :n]
    return rows


def linear_problem(problem, smoothed):
    """The last pass as a linear problem about the mean path that it has without readings.

    Returns transitions (n_steps, n, n), added variance (n,), and for each step the readings' rows, differences to what
    the mean path would read, and variances; and that mean path (n_steps, n).
    """
    filtered, n = smoothed.filtered, problem.start.size
    n_steps = problem.first.size - 1
    transitions, mean = np.zeros((n_steps, n, n)), np.zeros((n_steps, n))
    mean[0] = problem.mean
    mean[0, [m.X, m.Y, m.YAW, m.FORWARD]] = problem.guess[0]
    for k in range(1, n_steps):
        transitions[k, range(m.N_MOVING, n), range(m.N_MOVING, n)] = problem.decay
        transitions[k, : m.N_MOVING, : m.N_DRIVING] = whole(filtered.block[k])
        point = smoothed.path[k - 1].copy()
        m.advance(point, problem.step, problem.kept, np.zeros_like(filtered.block[k]), problem.places)
        point[m.N_MOVING : n] = problem.decay * smoothed.path[k - 1, m.N_MOVING : n]
        mean[k] = point[:n] + transitions[k] @ (mean[k - 1] - smoothed.path[k - 1, :n])
    readings, row = [], np.zeros(n + 1)
    for k in range(n_steps):
        rows, differences, variances = [], [], []
        for j in range(problem.first[k], problem.first[k + 1]):
            if filtered.spread[j] > 0.0:
                value = m.expected(problem.kind[j], smoothed.path[k], tuple(problem.told[j]), problem.places, row)
                rows.append(row[:n].copy())
                differences.append(problem.value[j] - value - row[:n] @ (mean[k] - smoothed.path[k, :n]))
                variances.append(problem.variance[j])
        readings.append((np.array(rows).reshape(-1, n), np.array(differences), np.array(variances)))
    return transitions, problem.added, readings, mean


def by_filterpy(linear, start):
    """Smoothed states and covariances of a linear problem from filterpy's own filter and smoother."""
    transitions, added, readings, mean = linear
    n = start.size
    kalman, noise = KalmanFilter(dim_x=n, dim_z=1), np.diag(added)
    kalman.P = np.diag(start)
    states, covariances = [], []
    for transition, (rows, differences, variances) in zip(transitions, readings, strict=True):
        if states:
            kalman.predict(F=transition, Q=noise)
        if differences.size:
            kalman.update(differences[:, None], R=np.diag(variances), H=rows)
        states.append(kalman.x)
        covariances.append(kalman.P)
    state, covariance, _, _ = kalman.rts_smoother(
        np.array(states), np.array(covariances), list(transitions), [noise] * len(states)
    )
    return mean + state[:, :, 0], covariance


QUIET = SensorNoise(
    slow_position=1e-3,
    white_position=1e-3,
    received_speed=1e-3,
    delay=0.0,
    acceleration=1e-3,
    rate=1e-4,
    acceleration_bias=0.0,
    rate_bias=0.0,
)
