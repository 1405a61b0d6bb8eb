"""The smoother against other roads to the same answer: a general Kalman library, and least squares over everything."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest

from conewise.logs.drawn_paths import draw
from conewise.logs.fusion import NO_PATH, Smoothed
from conewise.logs.passes import backward, filtered_room, forward
from conewise.logs.simulated import SensorNoise
from tests.known_motions import by_filterpy, fused_log, linear_problem, seen_rows, weaving
from tests.plain_filter import grouped, plain_filter

NOISE = SensorNoise(vehicle_rate=25.0)
KINDS = {
    "every kind of sensor": NOISE,
    "receiver alone": SensorNoise(inertial_rate=0.0),
    "receiver and car": SensorNoise(inertial_rate=0.0, vehicle_rate=50.0),
}


@lru_cache(maxsize=4)
def cut(begin, n_steps, noise=NOISE):
    """Some steps from the middle of a fused log as a problem of their own, smoothed in one pass."""
    case = fused_log(weaving(), 3, noise)
    problem, path = case.prepared.problem, case.smoothed.state[begin : begin + n_steps]
    first = problem.first[begin : begin + n_steps + 1]
    part = slice(first[0], first[-1])
    problem = problem._replace(
        guess=problem.guess[begin : begin + n_steps],
        first=first - first[0],
        kind=problem.kind[part],
        value=problem.value[part],
        variance=problem.variance[part],
        told=problem.told[part],
    )
    restarts = np.zeros(n_steps, dtype=bool)
    filtered = forward(problem, path, restarts, filtered_room(problem))
    state, covariance = backward(problem, filtered, restarts)
    return problem, Smoothed(state=state, covariance=covariance, path=path, filtered=filtered, restarts=restarts)


@pytest.mark.parametrize("kind", KINDS)
def test_filterpy_gives_the_same_numbers(kind):
    problem, smoothed = cut(400, 150, KINDS[kind])
    state, covariance = by_filterpy(linear_problem(problem, smoothed), problem.start)
    # 1e-6 in the unit of every state; filterpy inverts matrices whose entries span ten decades
    assert np.max(np.abs(smoothed.state[:, : problem.start.size] - state)) < 1e-6
    rows = seen_rows(smoothed.filtered, problem.start.size)
    assert np.max(np.abs(smoothed.covariance - rows @ covariance @ rows.transpose(0, 2, 1))) < 1e-6


@pytest.mark.parametrize("is_about_a_path", [False, True])
def test_an_extended_filter_of_filterpy_gives_the_same_numbers(is_about_a_path):
    """Motion, sensors and derivatives written anew in numpy, updates sensor by sensor, smoothed with an inverse."""
    case = fused_log(weaving(), 3, SensorNoise())
    problem, restarts, n = case.prepared.problem, case.smoothed.restarts, case.prepared.problem.start.size
    path = case.smoothed.state if is_about_a_path else NO_PATH
    own_state, own_covariance = backward(problem, forward(problem, path, restarts, filtered_room(problem)), restarts)
    state, covariance = plain_filter(problem, grouped(problem), path[:, :n] if is_about_a_path else None)
    assert np.max(np.abs(own_state[:, :n] - state)) < 1e-6
    assert np.max(np.abs(own_covariance - covariance)) < 1e-6


@pytest.mark.slow
def test_ten_minutes_stay_positive_definite_and_equal_to_the_form_with_an_inverse():
    """30 000 steps of 100 Hz readings; the covariance is only ever lessened by squares, never rebuilt."""
    case = fused_log(weaving(duration=600.0), 3, SensorNoise())
    problem, smoothed, n = case.prepared.problem, case.smoothed, case.prepared.problem.start.size
    assert problem.first.size > 30_000
    state, covariance = plain_filter(problem, grouped(problem), smoothed.path[:, :n])
    assert np.max(np.abs(smoothed.state[:, :n] - state)) < 1e-6
    assert np.max(np.abs(smoothed.covariance - covariance)) < 1e-6
    rows = seen_rows(smoothed.filtered, n)
    for found in (smoothed.filtered.covariance[:, :, :n] @ rows.transpose(0, 2, 1), smoothed.covariance):
        sd = np.sqrt(np.einsum("kii->ki", found))
        values = np.linalg.eigvalsh(found / np.einsum("ki,kj->kij", sd, sd))
        # of correlations: found 8e-4, where rounding of the largest is 1e-16
        assert values[:, 0].min() > 1e-5


@lru_cache(maxsize=1)
def by_least_squares(begin, n_steps):
    """States (n_steps, n) and their joint covariance (n_steps, n, n_steps, n) from one triangular factor of all rows.

    Prior, motion and readings are rows of unit noise; what nothing disturbs is given a deviation of 1e-7, so that its
    motion is a row like any other.
    """
    problem, smoothed = cut(begin, n_steps)
    transitions, added, readings, mean = linear_problem(problem, smoothed)
    n = problem.start.size
    room = np.sqrt(np.maximum(added, 1e-14))
    rows, right = [np.zeros((n, n * n_steps))], [np.zeros(n)]
    rows[0][:, :n] = np.diag(1.0 / np.sqrt(problem.start))
    for k, (told, differences, variances) in enumerate(readings):
        if k:
            step = np.zeros((n, n * n_steps))
            step[:, (k - 1) * n : (k + 1) * n] = np.hstack([-transitions[k], np.eye(n)]) / room[:, None]
            rows.append(step)
            right.append(np.zeros(n))
        reading = np.zeros((differences.size, n * n_steps))
        reading[:, k * n : (k + 1) * n] = told / np.sqrt(variances)[:, None]
        rows.append(reading)
        right.append(differences / np.sqrt(variances))
    every = np.concatenate(rows)
    scale = np.linalg.norm(every, axis=0)
    q, r = np.linalg.qr(every / scale)
    root = np.linalg.inv(r) / scale[:, None]
    state = mean + (root @ (q.T @ np.concatenate(right))).reshape(n_steps, n)
    return state, (root @ root.T).reshape(n_steps, n, n_steps, n)


def test_least_squares_over_everything_gives_the_same_numbers():
    _, smoothed = cut(400, 40)
    state, joint = by_least_squares(400, 40)
    rows = seen_rows(smoothed.filtered, state.shape[1])
    own = np.sqrt(np.einsum("kai,kikj,kaj->ka", rows, joint, rows, optimize=True))
    sd = np.sqrt(np.einsum("kii->ki", smoothed.covariance))
    # a thousandth of a standard deviation: what is left of rows that span nine decades
    differences = np.einsum("kai,ki->ka", rows, smoothed.state[:, : state.shape[1]] - state)
    assert np.max(np.abs(differences) / sd) < 1e-3
    assert np.max(np.abs(own / sd - 1.0)) < 1e-3


@pytest.mark.parametrize("lag", [0, 30])
def test_drawn_paths_have_the_covariance_of_the_joint_posterior(lag):
    """Within a step, and between steps 0.6 s apart, where only least squares over everything knows it."""
    problem, smoothed = cut(400, 40)
    _, joint = by_least_squares(400, 40)
    rng, count = np.random.default_rng(8), 4000
    shapes = (smoothed.state.shape[0], problem.start.size), (problem.kind.size,)
    drawn = np.array(
        [
            draw(problem, smoothed.filtered, smoothed.restarts, tuple(rng.standard_normal(shape) for shape in shapes))
            for _ in range(count)
        ]
    )
    found = drawn[:, 5].T @ drawn[:, 5 + lag] / count
    rows = seen_rows(smoothed.filtered, problem.start.size)
    wanted = rows[5] @ joint[5, :, 5 + lag] @ rows[5 + lag].T
    sd = np.sqrt(np.einsum("kii->ki", smoothed.covariance))
    # four standard errors of a covariance of unit variables from 4000 draws: at most sqrt(2 / 4000) each
    assert np.max(np.abs(found - wanted) / np.outer(sd[5], sd[5 + lag])) < 4.0 * np.sqrt(2.0 / count)


@pytest.mark.parametrize("kind", KINDS)
def test_a_restart_forgets_the_motion_before(kind):
    """Readings before it that tell another motion change nothing after it but what is known of the sensors."""
    problem, smoothed = cut(400, 150, KINDS[kind])
    restarts = smoothed.restarts.copy()
    restarts[75] = True
    sensors = np.flatnonzero(~problem.anew)
    sure = problem.start.copy()
    sure[sensors] = 1e-12  # so that nothing of the sensors is learnt
    known = problem._replace(start=sure, added=np.where(problem.anew, problem.added, 0.0), gate=np.inf)
    other = known._replace(value=np.where(np.arange(known.value.size) < known.first[75], -0.3, 1.0) * known.value)
    states = []
    for each in (known, other):
        filtered = forward(each, smoothed.path, restarts, filtered_room(each))
        states.append((filtered.state[75:].copy(), backward(each, filtered, restarts)[0][75:]))
    for one, changed in zip(*states, strict=True):
        assert np.max(np.abs(one - changed)) < 1e-6
