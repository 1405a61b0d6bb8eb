"""The most probable line: it stays where the recording is sure, gives way to cones, and is the optimum."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import LinearConstraint, minimize

from conewise.logs.driven_line import (
    RIPPLE,
    Draws,
    LineKnowledge,
    RecordedError,
    border_shift,
    left_and_ahead,
    line_knowledge,
    recorded_error,
)
from conewise.logs.laid import lay_day
from tests.debriefs import BODY, driven_run
from tests.driven import FRONT, Drive, day_of


def known(deviation, memory=20.0, **more):
    geometry, _, _, trace = driven_run()
    angle = np.zeros_like(trace.station)
    error = RecordedError(deviation=deviation, memory=memory, shift=np.zeros(2), shift_covariance=1e-6 * np.eye(2))
    return line_knowledge(trace, geometry, BODY, error=error, body_angle=angle, **more)


def room(line, offset):
    """Least spare room beside any cone. [m]"""
    return float(np.min(line.rows @ offset - line.least))


def test_a_sure_recording_keeps_its_line():
    trace = driven_run()[3]
    everything = frozenset(cone.id for cone in driven_run()[0].passes)
    found = known(0.005, hit=everything).most_probable(trace.lateral_offset)
    inside = slice(20, -20)  # at the start the car stands along the path, whatever the recording says
    assert np.abs(found - trace.lateral_offset)[inside].max() < 5.0 * RIPPLE


def test_a_line_through_cones_gives_way_to_them():
    line = known(0.3)
    trace = driven_run()[3]
    through = trace.lateral_offset + 2.0 * np.sin(trace.station / 8.0)
    found = line.most_probable(through)
    assert room(line, through) < -0.5
    assert room(line, found) > -0.1  # a cone gives a little: 2 cm, one standard deviation


def test_cones_that_were_hit_tell_nothing():
    geometry = driven_run()[0]
    everything = frozenset(cone.id for cone in geometry.passes)
    assert known(0.3, hit=everything).least.size == 0
    one = geometry.passes[len(geometry.passes) // 2].id
    assert 0 < known(0.3, hit=frozenset({one})).least.size < known(0.3).least.size


def test_the_line_is_the_optimum():
    """Held against SciPy's SLSQP on a small problem with the same slack."""
    rng = np.random.default_rng(3)
    n, m = 8, 5
    root = rng.standard_normal((n, n))
    weight = root @ root.T + n * np.eye(n)
    spread = np.linalg.inv(weight + np.eye(n))
    rows, least = rng.standard_normal((m, n)), rng.uniform(0.0, 1.0, m)
    both = np.zeros((n + 2, n + 2))
    both[:n, :n], both[n:, n:] = spread, np.eye(2)
    nothing = np.zeros((n, 2))
    line = LineKnowledge(weight=weight, across=nothing, spread=both, pull=np.zeros(n + 2), rows=rows, least=least)
    told = rng.standard_normal(n)
    centre, precision = spread @ weight @ told, np.linalg.inv(spread)

    def cost(z):
        off = z[:n] - centre
        return off @ precision @ off + z[n:] @ z[n:] / 0.02**2 * 1e-2

    def slope(z):
        return np.concatenate([2.0 * precision @ (z[:n] - centre), 2.0 * z[n:] / 0.02**2 * 1e-2])

    scaled = LinearConstraint(np.hstack([rows, 0.1 * np.eye(m)]), least, np.inf)
    start = np.concatenate([centre, np.zeros(m)])
    # a hundredth of this end is beyond rounding: some processors never get there
    how = {"maxiter": 500, "ftol": 1e-10}
    other = minimize(cost, start, jac=slope, method="SLSQP", constraints=[scaled], options=how)
    assert other.success
    assert line.most_probable(told) == pytest.approx(other.x[:n], abs=1e-5)  # 1.4e-6 at most in 200 draws


def test_memory_is_where_the_correlation_has_halved():
    rng = np.random.default_rng(5)
    kept = 0.5 ** (1 / 40)  # halves in 40 steps
    noise = rng.standard_normal((200, 800))
    error = np.zeros_like(noise)
    error[:, 0] = noise[:, 0]
    for k in range(1, 800):
        error[:, k] = kept * error[:, k - 1] + np.sqrt(1.0 - kept**2) * noise[:, k]
    draws = Draws(lateral=0.3 * error, along=0.3 * error)
    assert draws.memory(0.5) == pytest.approx(20.0, rel=0.15)  # 200 x 800 steps hold about 4000 independent values
    assert draws.deviation == pytest.approx(0.3, rel=0.05)


def test_a_path_ahead_is_earlier_but_at_the_start():
    trace = driven_run()[3]
    later = border_shift(np.full_like(trace.station, 0.5), trace)
    middle = trace.station.size // 2
    assert later[middle] == pytest.approx(-0.5 / trace.speed[middle])
    assert later[-1] == pytest.approx(-0.5 / trace.speed[-1])
    assert later[0] == pytest.approx(0.0, abs=1e-12)


def test_drawn_lines_keep_off_the_cones_and_scatter_as_the_recording_does(rng):
    trace = driven_run()[3]
    line = known(0.3)
    drawn, shift = line.drawn(trace.lateral_offset, rng, 40)
    assert min(room(line, one) for one in drawn) > -0.1  # a cone gives a little: 2 cm, one standard deviation
    assert np.abs(shift).max() < 0.01  # the shift is known to 1 mm here
    everything = frozenset(cone.id for cone in driven_run()[0].passes)
    free, _ = known(0.3, hit=everything).drawn(trace.lateral_offset, rng, 200)
    inside = slice(20, -20)
    assert free.std(axis=0)[inside].mean() == pytest.approx(0.3, rel=0.2)  # 8 independent stretches times 200 lines
    assert free.mean(axis=0)[inside] == pytest.approx(trace.lateral_offset[inside], abs=0.15)  # 0.3 m over sqrt(200)
    assert drawn.std(axis=0).mean() < 0.8 * free.std(axis=0).mean()


def test_a_line_and_the_shift_of_its_recording_move_together(rng):
    geometry, _, _, trace = driven_run()
    error = RecordedError(deviation=0.01, memory=20.0, shift=np.array([0.5, 0.0]), shift_covariance=1e-6 * np.eye(2))
    everything = frozenset(cone.id for cone in geometry.passes)
    angle = np.zeros_like(trace.station)
    line = line_knowledge(trace, geometry, BODY, error=error, body_angle=angle, hit=everything)
    left, _ = left_and_ahead(geometry.path, trace.station)
    found = line.most_probable(trace.lateral_offset)[20:-20]
    assert found == pytest.approx((trace.lateral_offset - 0.5 * left[:, 0])[20:-20], abs=0.05)


def test_the_shift_is_found_from_the_best_line():
    """A driver about the best line, recorded with a bias: what is left of it is as large as its deviation says."""
    geometry, _, _, trace = driven_run()
    day, left = day_of(geometry, [Drive(friction=0.8)]), []
    exact = day.track(np.random.default_rng(0))
    for seed in range(8):
        track = day.track(np.random.default_rng(seed), noise=0.05, bias=0.6)
        (laid,) = lay_day(track, geometry, is_placed=True, front_reach=FRONT).runs
        draws = Draws(lateral=0.05 * np.ones((4, 9)), along=np.zeros((4, 9)))
        error = recorded_error(laid, draws, np.interp(laid.trace.station, trace.station, trace.lateral_offset))
        then = laid.track.time[laid.run.samples]
        off = [
            np.mean(values[laid.run.samples] - np.interp(then, exact.time, true))
            for values, true in ((laid.track.x, exact.x), (laid.track.y, exact.y))
        ]
        left.append((off - error.shift) / np.sqrt(np.diag(error.shift_covariance)))
    assert np.sqrt(np.mean(np.square(left))) < 1.7  # 16 values: chi-square allows 1.4, neighbours hang together
