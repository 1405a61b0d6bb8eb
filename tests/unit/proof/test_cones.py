"""Cones beside the times."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from conewise.proof.comparison import question_of
from conewise.proof.cones import cones_of, probability_fewer, share_of
from tests.seasons import Season, drawn, times_of


def test_counts_on_both_setups(rng):
    times = times_of(drawn(Season(orders=("AABBBBAA",)), rng))
    outcome = times.outcome.copy()
    outcome[7] = "dnf"
    times = replace(times, cones=np.array([2.0, 0, 0, 0, 0, 1, 1, np.nan]), outcome=outcome)
    found = cones_of(times, question_of(times))
    assert (found.before.n_cones, found.before.hit.n_hits, found.before.hit.n_runs) == (3, 2, 3)
    assert (found.after.n_cones, found.after.hit.n_hits, found.after.hit.n_runs) == (1, 1, 4)
    assert (found.before.unfinished.n_hits, found.before.unfinished.n_runs) == (1, 4)
    assert 0.5 < found.probability_fewer < 1.0


def test_cones_that_were_not_noted_tell_nothing(rng):
    times = times_of(drawn(Season(orders=("AABBBBAA",)), rng))
    times = replace(times, cones=np.full(8, np.nan))
    assert cones_of(times, question_of(times)).probability_fewer is None


def test_chances_of_equal_and_far_shares():
    equal = share_of(3, 10, 0.9)
    assert probability_fewer(equal, equal) == pytest.approx(0.5, abs=2e-3)  # 400 points of the integral
    assert probability_fewer(share_of(9, 10, 0.9), share_of(0, 10, 0.9)) > 0.999
