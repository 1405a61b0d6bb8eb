"""What a proof must do whatever the numbers: intervals that hold, names that do not matter, units that scale."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from conewise.proof.comparison import question_of
from conewise.proof.effect import Effect, effect_of
from tests.seasons import AFTER, BEFORE, SCENARIOS, drawn, times_of

N_SEASONS = 10


@pytest.mark.slow
def test_nine_intervals_of_ten_hold(rng):
    """A sample of bench/study_proof.py: 120 seasons; 90% less and more four standard deviations of the count."""
    inside = []
    for season in SCENARIOS.values():
        for _ in range(N_SEASONS):
            times = times_of(drawn(season, rng))
            found = effect_of(times, question_of(times))
            assert isinstance(found, Effect)
            low, high = found.share.interval(0.9)
            inside.append(low <= season.effect <= high)
    assert np.mean(inside) == pytest.approx(0.9, abs=4 * np.sqrt(0.09 / len(inside)))


@pytest.fixture
def test_day(rng):
    return times_of(drawn(SCENARIOS["one day"], rng))


def test_exchanged_names_turn_the_sign(test_day):
    there = effect_of(test_day, question_of(test_day, before=BEFORE, after=AFTER))
    back = effect_of(test_day, question_of(test_day, before=AFTER, after=BEFORE))
    assert back.share.median == pytest.approx(-there.share.median, abs=1e-9)
    assert back.probability == pytest.approx(1.0 - there.probability, abs=1e-9)


def test_a_longer_course_scales_the_seconds(test_day):
    longer = replace(test_day, raw_time=1.5 * test_day.raw_time)
    one, other = (effect_of(times, question_of(times)) for times in (test_day, longer))
    assert other.effect == pytest.approx(1.5 * one.effect, rel=1e-6)
    assert other.probability == pytest.approx(one.probability, abs=1e-6)


def test_more_certainty_widens_the_interval(test_day):
    widths = [np.ptp(effect_of(test_day, question_of(test_day), level=level).interval) for level in (0.5, 0.9, 0.99)]
    assert widths == sorted(widths)


def test_cones_do_not_move_the_times(test_day):
    with_cones = replace(test_day, cones=test_day.cones + 3.0)
    assert effect_of(with_cones, question_of(with_cones)).effect == effect_of(test_day, question_of(test_day)).effect


def test_a_gross_error_hardly_moves_the_effect(test_day):
    wrong = test_day.raw_time.copy()
    wrong[3] += 8.0
    spoilt = replace(test_day, raw_time=wrong)
    one, other = (effect_of(times, question_of(times)) for times in (test_day, spoilt))
    assert abs(other.effect - one.effect) < np.ptp(one.interval)  # a mean would move by 2 s
    assert [finding.code for finding in other.findings] == ["run-far"]
    assert "line 5" in other.findings[0].where
