"""Orders of runs, and what they can show."""

from __future__ import annotations

import pytest

from conewise.proof.power import best_orders, best_plan, planned, runs_needed
from conewise.proof.regression import TooFewRowsError


def test_the_best_order_comes_back_and_is_balanced():
    for n_runs in (5, 6, 8, 10):
        (word,) = best_plan(n_runs).orders
        assert len(word) == n_runs
        assert word.startswith("A")
        assert word.endswith("A")
        assert abs(word.count("A") - word.count("B")) <= 2


def test_an_order_that_does_not_come_back_tells_less():
    assert planned(["AAABBB"]).scale > 1.5 * best_plan(6).scale


def test_the_second_day_begins_with_the_new_one():
    first, second = best_plan(4, 2).orders
    assert first.translate(str.maketrans("AB", "BA")) == second


def test_runs_needed_shows_what_was_asked_for():
    for effect in (1.0, 2.0, 4.0):
        found = runs_needed(effect)
        assert found.power(effect) >= 0.8
        assert found.least_difference() <= effect
    assert runs_needed(4.0).n_runs < runs_needed(1.0).n_runs
    assert runs_needed(0.01) is None


def test_more_days_show_smaller_changes():
    least = [planned(best_orders(6, days, 2)).least_difference() for days in (1, 2, 4)]
    assert least == sorted(least, reverse=True)


def test_too_few_runs():
    with pytest.raises(TooFewRowsError):
        planned(["ABA"])
