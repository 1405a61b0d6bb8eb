"""Learning over a day, and the kinds of stretch over a season."""

from __future__ import annotations

import numpy as np
import pytest

from conewise.course.reference import lay_out
from conewise.logs.seasons import Pass, RunOrderError, day_of_runs, passes_of, season, stretch_kind
from tests.solved import COURSE_NAMES, demo_course, straight_course
from tests.unit.logs.test_measures import trace_along


def test_a_power_law_of_practice_is_found_again():
    runs = [1, 2, 3, 4, 6, 8]
    day = day_of_runs(runs, [60.0 - 0.8 * np.log2(k) for k in runs], cones=[2, 0, 1, 0, 0, 0])
    assert day.gain_per_doubling == pytest.approx(0.8)
    assert (day.gain_low, day.gain_high) == pytest.approx((0.8, 0.8))
    assert day.spread == pytest.approx(0.0, abs=1e-9)
    assert day.is_still_learning
    assert (day.cones, day.n_clean, day.n_runs) == (3, 4, 6)


def test_one_spoilt_run_does_not_bend_the_trend():
    runs = [1, 2, 3, 4, 5, 6, 7]
    times = [60.0 - 0.5 * np.log2(k) for k in runs]
    times[3] += 9.0
    assert day_of_runs(runs, times).gain_per_doubling == pytest.approx(0.5, abs=0.2)


def test_the_slope_is_the_median_of_all_slopes():
    """Theil-Sen as Sen defined it: Sen, Estimates of the regression coefficient, 1968 (from memory)."""
    x, y = np.log2([1.0, 2.0, 4.0, 8.0]), np.array([50.0, 49.0, 48.5, 47.0])
    slopes = [(y[j] - y[i]) / (x[j] - x[i]) for i in range(4) for j in range(i + 1, 4)]
    assert day_of_runs([1, 2, 4, 8], y.tolist()).gain_per_doubling == pytest.approx(-np.median(slopes))


@pytest.mark.parametrize("n", [2, 3])
def test_few_runs_make_no_trend_and_no_spread(n):
    """The order of three runs is one of two extremes on one day in three without any trend."""
    day = day_of_runs(range(1, n + 1), [50.0, 49.0, 48.0][:n])
    assert (day.gain_per_doubling, day.gain_low, day.gain_high, day.spread) == (None, None, None, None)
    assert day.is_still_learning is None
    assert day.best == 51.0 - n


@pytest.mark.parametrize("n", [4, 5, 6, 8, 12])
@pytest.mark.parametrize("gain", [0.0, 0.5])
def test_interval_and_spread_of_a_day_hold(n, gain, rng):
    """Over 1000 simulated days; that learning is told where there was none is what the interval promises."""
    numbers = np.arange(1, n + 1)
    times = 60.0 - gain * np.log2(numbers) + 0.3 * rng.standard_normal((1000, n))
    days = [day_of_runs(numbers.tolist(), row.tolist()) for row in times]
    assert np.mean([day.gain_low <= gain <= day.gain_high for day in days]) > 0.88  # 90 less two standard errors
    assert 0.85 < np.mean([day.spread for day in days]) / 0.3 < 1.1
    if gain == 0.0:
        assert np.mean([day.is_still_learning for day in days]) < 0.07  # half of ten, and two standard errors


def test_the_interval_is_that_of_the_table_of_kendall():
    """Of ten runs the greatest count that one order in twenty has at most is 12 inversions of 45.

    Kendall's S of 45 - 2 x 12 = 21 and beyond has the chance 0.036, and that of 19 the chance 0.054: Kendall, Rank
    Correlation Methods, appendix table 1 (from memory).
    """
    numbers, times = list(range(1, 11)), [50.3, 50.1, 50.6, 49.2, 49.9, 49.7, 49.8, 49.1, 49.4, 48.9]
    gains = sorted((times[i] - times[j]) / np.log2((j + 1) / (i + 1)) for j in range(10) for i in range(j))
    day = day_of_runs(numbers, times)
    assert (day.gain_low, day.gain_high) == pytest.approx((gains[12], gains[-13]))


@pytest.mark.parametrize("numbers", [[1, 1], [0, 1], [1], []])
def test_runs_that_cannot_be_put_in_order_are_refused(numbers):
    with pytest.raises(RunOrderError):
        day_of_runs(numbers, [50.0, 49.0] if numbers else [])


def test_every_feature_has_a_kind_of_stretch():
    geometry = lay_out(demo_course(COURSE_NAMES[0]))
    kinds = {span.id: stretch_kind(span, geometry) for span in geometry.spans}
    assert kinds[geometry.spans[0].id] == "launch"
    for span in geometry.spans:
        if span.kind.value in ("slalom", "sweeper", "hairpin"):
            assert kinds[span.id] == span.kind.value
    straight = lay_out(straight_course(200.0))
    assert {stretch_kind(span, straight) for span in straight.spans[1:]} == {"straight"}


def test_a_season_sums_what_was_lost_by_kind():
    runs = [
        [
            Pass(event="a", kind="slalom", time=11.0, reference=10.0),
            Pass(event="a", kind="straight", time=5.0, reference=5.0),
        ],
        [
            Pass(event="b", kind="slalom", time=13.0, reference=10.0),
            Pass(event="b", kind="straight", time=5.5, reference=5.0),
        ],
    ]
    worst, other = season(runs)
    assert (worst.kind, worst.n_events, worst.n_passes) == ("slalom", 2, 2)
    assert worst.loss == pytest.approx(2.0)
    assert worst.share == pytest.approx(0.2)
    assert worst.share_spread == pytest.approx(np.std([0.1, 0.3], ddof=1))
    assert other.loss == pytest.approx(0.25)


def test_the_passes_of_a_run_are_its_features():
    geometry = lay_out(straight_course(200.0))
    slow, fast = (
        trace_along(geometry, offset=np.zeros_like, speed=lambda s, v=v: np.full_like(s, v)) for v in (10.0, 20.0)
    )
    passes = passes_of(slow, fast, geometry, event="day")
    assert sum(p.time for p in passes) == pytest.approx(20.0)
    (launch, straight) = sorted(season([passes]), key=lambda kind: kind.kind)
    assert (launch.kind, straight.kind) == ("launch", "straight")
    assert launch.share == pytest.approx(1.0)
    assert launch.share_spread is None
