"""Ranking, intervals and words of advice, with made-up effects."""

from __future__ import annotations

import json

import numpy as np
import pytest

from conewise.advisor.advice import advise
from conewise.advisor.kinds import CAUTIONS, LEAST_SHARE, MODEL_PARTS
from conewise.advisor.rows import Effect, Option, Row, handling_words
from conewise.cars.change import KINDS
from conewise.cli.render import _finite
from conewise.findings import Finding
from conewise.money import money
from conewise.reports.advice_record import advice_record

LOCKS = Finding("stop", "rear-locks-first", "The rear axle would lock first.")


def option(name="bar", kind="bar", **others):
    return Option(name=name, kind=kind, **others)


def effect(gain=0.1, *, course="lot", **others):
    return Effect(course=course, linear=gain, gain=gain, **others)


def row(*effects, **others):
    return Row(option=option(**others), effects=effects)


def test_every_kind_of_change_has_a_model_part_with_a_reason_and_a_caution():
    assert set(MODEL_PARTS) == set(CAUTIONS) == set(KINDS)
    assert all(part.reason and part.share >= LEAST_SHARE for part in MODEL_PARTS.values())


def test_parts_of_the_interval_add_as_independent_ones_do():
    # 90 % of a normal distribution lies within 1.645 standard deviations: tables of the normal distribution
    found = row(effect(1.0, common={"mass.total": 0.1, "body.cg_height": 0.0}), kind="mass")
    wide = np.sqrt((1.645 * 0.1) ** 2 + 0.004**2 + 0.2**2)
    assert found.interval == pytest.approx((1.0 - wide, 1.0 + wide), rel=1e-9)


def test_the_same_parameter_is_off_alike_on_every_course():
    alike = row(effect(common={"a": 0.1}), effect(common={"a": 0.1}, course="b"))
    opposed = row(effect(common={"a": 0.1}), effect(common={"a": -0.1}, course="b"))
    assert alike.parameter[0] == pytest.approx(1.645 * 0.1)
    assert opposed.parameter[0] == pytest.approx(0.0)


def test_draws_give_a_lopsided_interval():
    draws = np.concatenate([np.zeros(90), np.full(10, 0.5)])
    low, high = row(effect(draws=draws)).parameter
    assert (low, high) == (0.0, 0.5)


def test_what_costs_no_time_has_an_interval_that_ends_at_zero():
    free = row(effect(0.1), kind="differential").interval
    bound = row(effect(0.1), kind="differential", only_gains=True).interval
    assert free[0] < 0.0
    assert bound == (0.0, free[1])


def test_a_differential_leaves_three_tenths_open():
    low, high = row(effect(0.1), kind="differential").interval
    assert high - low >= 0.6


def test_the_gap_of_a_round_trip_widens_the_numerical_part():
    assert row(effect(closure=0.03)).numerical == 0.03
    assert row(effect(closure=1e-5)).numerical == 0.004


def test_a_small_gain_has_no_price_per_tenth():
    assert row(effect(0.003), price=money(100, where="price")).is_small
    assert row(effect(0.003), price=money(100, where="price")).price_per_tenth is None
    assert row(effect(-0.3), price=money(100, where="price")).price_per_tenth is None
    assert row(effect(0.2), price=money(100, where="price")).price_per_tenth == pytest.approx(50.0)


def test_gains_are_averaged_over_the_courses():
    found = row(effect(0.1), effect(0.3, course="b"))
    assert found.gain == pytest.approx(0.2)


def test_what_was_not_solved_says_so_and_is_no_zero():
    found = row(Effect(course="lot", linear=0.2, stopped="The solver stopped at 'gate-3'."))
    assert np.isnan(found.gain)
    assert "Not solved on lot: The solver stopped at 'gate-3'." in found.note
    assert found.price_per_tenth is None


def advice():
    options = [
        option("small"), option("unsafe", findings=(LOCKS,)), option("stuck"),
        option("large", price=money(200, where="price")),
    ]  # fmt: skip
    effects = [
        (effect(0.05),), (effect(0.9),), (Effect(course="lot", linear=5.0, stopped="stopped"),), (effect(0.4),),
    ]  # fmt: skip
    return advise(options, effects[: len(options)], base={"lot": 40.0})


def test_rows_are_ranked_with_unsolved_and_unsafe_ones_last():
    assert [found.option.name for found in advice().rows] == ["large", "small", "stuck", "unsafe"]


def test_an_unsafe_change_says_why():
    unsafe = advice().rows[-1]
    assert unsafe.cautions[0] == LOCKS.message
    assert "Not proposed" in unsafe.note


def test_the_record_is_json_with_null_for_what_was_not_solved():
    record = json.loads(json.dumps(_finite(advice_record(advice())), allow_nan=False))
    changes = {change["name"]: change for change in record["changes"]}
    assert record["base_s"] == {"lot": 40.0}
    assert changes["large"]["price_per_tenth"] == pytest.approx(50.0)
    assert changes["stuck"]["gain_s"] is None
    assert changes["stuck"]["linear_s"] == 5.0
    assert changes["unsafe"]["proposed"] is False


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        (0.05, 0.08, "understeers at the limit, more than before"),
        (0.08, 0.05, "understeers at the limit, less than before"),
        (-0.05, -0.08, "oversteers at the limit, more than before"),
        (0.05, 0.0505, "understeers at the limit, as before"),
        (0.0, 0.01, "neutral at the limit, towards understeer"),
        (0.0, np.nan, "unknown"),
    ],
)
def test_handling_in_words(before, after, words):
    assert handling_words(before, after) == words
