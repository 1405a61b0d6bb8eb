"""Bars and scales of the chart of gains; the words that every face says alike."""

from __future__ import annotations

from dataclasses import replace

import pytest

from conewise.money import money
from conewise.reports import advice_report, advice_words
from tests.advice_fixture import made_up_advice, plain_advice


@pytest.mark.parametrize(("value", "end"), [(-0.11, -0.2), (-0.05, -0.05), (-0.6, -1.0), (-3.0, -5.0), (0.2, 0.0)])
def test_a_scale_ends_at_a_round_number_beyond_the_value(value, end):
    assert advice_report._down(value) == pytest.approx(end)


def test_bars_begin_at_zero_and_end_at_the_gain():
    chart = advice_report._charts(made_up_advice().rows)[0]
    low, high = (float(end.replace("−", "-")) for end in chart.ends)
    assert chart.zero == pytest.approx(100.0 * (0.0 - low) / (high - low))
    for bar, row in zip(
        chart.bars, [r for r in made_up_advice().rows if r.solved and not r.option.is_first], strict=True
    ):
        end = 100.0 * (row.gain - low) / (high - low)
        assert sorted((bar.start, bar.start + bar.size)) == pytest.approx(sorted((chart.zero, end)))
        assert bar.low <= end <= bar.high


def test_the_driver_has_a_chart_of_his_own():
    titles = [chart.title for chart in advice_report._charts(made_up_advice().rows)]
    assert titles == ["Changes to the car", "Driver and seat time"]


def test_every_step_begins_where_the_one_before_ended():
    package = made_up_advice().packages.packages[1]  # its last step loses
    bars = advice_report._steps(package)
    ends = [0.0]
    for bar in bars:
        sign = 1.0 if bar.is_gain else -1.0
        begin = bar.start if bar.is_gain else bar.start + bar.size
        assert begin == pytest.approx(ends[-1])
        ends.append(begin + sign * bar.size)
    assert max(ends) == pytest.approx(100.0)


def test_the_headline_names_the_best_that_is_proposed():
    advice = made_up_advice()
    assert advice.best.option.name.startswith("seat time")
    assert advice_words.headline(plain_advice()) == "None of these changes gains time on these courses."
    cars_only = replace(advice, rows=advice.rows[2:])
    assert advice_words.headline(cars_only).startswith("Most time: tyres 225/45R15, treadwear 200, +0.31 s a run")


def test_limits_in_words():
    packages = made_up_advice().packages
    assert advice_words.limits(packages) == "for 1500 EUR, 12 hours, class T"
    assert advice_words.limits(replace(packages, hours=None, car_class="")) == "for 1500 EUR"
    assert advice_words.limits(replace(packages, budget=money(0, where=""), hours=None, car_class="")) == "for 0"


def test_numbers_that_stay_are_left_out():
    before, after = (
        made_up_advice().rows[4].option.handling
    )  # a bar: understeer and front frequency move in the fixture
    assert advice_report.handling_numbers(before) == ("0.51", "0.720", "1.90", "1.80")
    assert advice_report.handling_numbers(after, before) == ("0.66", "", "2.10", "")
