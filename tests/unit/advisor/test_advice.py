"""The order of the steps, the interval of a package, which rows come first."""

from __future__ import annotations

import numpy as np
import pytest

from conewise.advisor.advice import PackageRow, in_order
from conewise.advisor.rows import ranked
from conewise.reports.advice_record import advice_record
from tests.advice_fixture import COURSES, SAFETY, made_up_advice, option, plain_advice, row


def test_inspection_then_brakes_then_the_cheapest_seconds():
    rows = {
        "dear": row(0.2, "dear", "tyre", 800),
        "cheap": row(0.1, "cheap", "bar", 100),
        "pads": row(0.01, "pads", "brake", 300),
        "asked for": row(0.01, "asked for", "mass", 900, is_required=True),
    }
    assert in_order(rows, {}) == ("asked for", "pads", "cheap", "dear")


def test_what_is_needed_is_done_before_it_and_circles_end():
    rows = {name: row(gain, name, "bar", 100) for name, gain in (("a", 0.3), ("b", 0.2), ("c", 0.1))}
    assert in_order(rows, {"a": ["c"]}) == ("c", "a", "b")
    assert set(in_order(rows, {"a": ["b"], "b": ["a"]})) == {"a", "b", "c"}
    assert in_order(rows, {"a": ["elsewhere"]}) == ("a", "b", "c")


def package(gain, members):
    whole = row(gain, "both", "other", 100)
    return PackageRow(option=whole.option, effects=whole.effects, weights=whole.weights, members=members)


def test_model_parts_are_alike_within_a_kind_and_independent_between_kinds():
    # shares of 0.3 (tyre, bar) and 0.2 (mass) of the gain; see docs/guide.md
    assert package(0.4, (("tyre", 0.2), ("tyre", 0.2))).model == pytest.approx(0.3 * 0.4)
    apart = package(0.4, (("tyre", 0.2), ("mass", 0.2)))
    assert apart.model == pytest.approx(max(np.hypot(0.3 * 0.2, 0.2 * 0.2), 0.2 * 0.4))
    assert package(0.2, (("differential", 0.2),)).model == pytest.approx(0.3)


def test_a_package_carries_the_cautions_of_every_kind_in_it():
    words = " ".join(package(0.4, (("tyre", 0.2), ("spring", 0.2))).cautions)
    assert "Compressed springs" in words
    assert "Tyre pressure" in words


def test_weights_of_courses_count():
    even = row(1.0, "a", "bar")
    heavy = type(even)(option=even.option, effects=even.effects, weights={COURSES[0]: 3.0})
    assert even.gain == pytest.approx(1.0)
    assert heavy.gain == pytest.approx((3.0 * 1.1 + 0.9) / 4.0)


def test_indexed_time_counts_the_factor_of_the_new_class():
    stays, moves = row(0.1, "a", "bar"), row(0.1, "b", "bar", code="T")
    assert stays.indexed == pytest.approx(0.8 * 0.1)
    base = np.mean([effect.base for effect in moves.effects])
    gain = np.mean([effect.gain for effect in moves.effects])
    assert moves.indexed == pytest.approx(0.80 * base - 0.82 * (base - gain))
    assert moves.indexed < 0.0  # a tenth does not pay for another class


def test_for_a_driver_with_few_runs_seat_time_and_safety_items_stand_first():
    rows = made_up_advice().rows
    usual = [one.option.name for one in ranked(rows)]
    first = [one.option.name for one in ranked(rows, driver_first=True)]
    assert usual[0] == first[0] == SAFETY  # inspection asks for it
    assert first[1].startswith("seat time")
    slow_tyre = [row(2.0, "tyres", "tyre"), row(0.1, "seat time", "driver")]
    assert [one.option.name for one in ranked(slow_tyre)] == ["tyres", "seat time"]
    assert [one.option.name for one in ranked(slow_tyre, driver_first=True)] == ["seat time", "tyres"]


def test_the_record_has_packages_with_their_steps():
    record = advice_record(made_up_advice())
    best = record["packages"][0]
    assert best["names"][0] == SAFETY
    assert [step["gain_s"] for step in best["steps"]] == [0.0, 0.31, 0.08]
    assert (best["price"], best["currency"], best["class_code"]) == (1055.0, "EUR", "T")
    assert record["limits"]["budget"] == 1500.0
    by_name = {change["name"]: change for change in record["changes"]}
    moved = by_name["front bar, 2 mm thicker"]
    assert (moved["class_code"], moved["class_moves"]) == ("T", True)
    numbers = moved["handling_numbers"]
    assert numbers["before"]["understeer_gradient_deg_per_g"] == pytest.approx(np.degrees(0.0089))
    assert by_name["rear pads with more bite"]["findings"][0]["code"] == "rear-locks-first"
    assert by_name["strut brace"]["by_course"] == {}


def test_without_rules_and_budget_the_record_says_none():
    record = advice_record(plain_advice())
    assert record["packages"] == []
    assert record["limits"] is None
    assert {change["class_code"] for change in record["changes"]} == {None}


def test_an_option_without_an_effect_has_no_seconds():
    brace = type(row(0.1, "a", "bar"))(option=option("brace", "other", has_effect=False), effects=())
    assert np.isnan(brace.gain)
    assert "no seconds" in brace.note
    assert brace.handling == "as before"
