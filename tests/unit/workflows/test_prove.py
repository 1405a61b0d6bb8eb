"""The whole answer from Python."""

from __future__ import annotations

import numpy as np
import pytest

import conewise
from conewise.workflows.prove import TestNumberError, plan_test, prove
from tests.seasons import Season, csv_text, drawn, times_of


def columns(*orders, **facts):
    return drawn(Season(orders=orders, **facts), np.random.default_rng(6))


def test_a_file_and_its_runs_give_the_same_answer(tmp_path):
    drawn_columns = columns("AABBBBAA", effect=-0.03)
    path = tmp_path / "t.csv"
    path.write_text(csv_text(drawn_columns), encoding="utf-8")
    assert conewise.prove is prove
    one, other = prove(path), prove(times_of(drawn_columns))
    assert one.effect.effect == pytest.approx(other.effect.effect, abs=1e-3)  # the file has milliseconds
    assert one.verdict == "helped"
    assert one.plan is None


def test_not_shown_brings_a_plan_for_as_much():
    answer = prove(times_of(columns("AABBBBAA", effect=-0.001)))
    assert answer.verdict == "not-shown"
    assert answer.plan is not None
    assert answer.plan.planned.n_runs > 8 or answer.plan.wanted is None


def test_ten_thousand_rows():
    many = columns(*(["ABBAA"] * 100), testers=20)
    assert len(many["run"]) == 10_000
    answer = prove(times_of(many))
    low, high = answer.effect.interval
    assert low < -0.006 * answer.effect.reference_time < high
    assert high - low < 0.2


def test_what_a_plan_is_made_for():
    plan = plan_test(effect=0.8, spread=0.4)
    assert plan.least_difference <= 0.8
    assert plan_test(runs=6, days=3, spread=0.4).planned.n_runs == 18
    assert "estimate" in plan_test().spread_from
    with pytest.raises(TestNumberError, match="The number of days is 0"):
        plan_test(days=0)
