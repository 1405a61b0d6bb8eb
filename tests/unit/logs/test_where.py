"""A place stands out among the driver's others of its kind, by the noise of the recording, or not at all."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from conewise.logs.breakdown import Breakdown, FeatureGap, FrictionFound, Interval
from conewise.logs.where import standing_out
from conewise.reports.debrief_words import where_sentence

UNTOLD = Interval(np.nan, np.nan)


def gap(name, kind, *, best, lost):
    return FeatureGap(
        id=name, kind=kind, start=0.0, end=1.0, measured=best + lost, best_on_line=np.nan, best=best,
        line_interval=UNTOLD, speed_interval=UNTOLD,
    )  # fmt: skip


def place(*gaps, doubt=0.03):
    breakdown = Breakdown(
        features=gaps,
        friction=FrictionFound(value=1.0, low=0.0, high=np.inf, origin="typical"),
        n_paths=0,
        line_interval=UNTOLD,
        speed_interval=UNTOLD,
    )
    rows = tuple(SimpleNamespace(result=SimpleNamespace(id=one.id), time_deviation=doubt) for one in gaps)
    return standing_out(breakdown, SimpleNamespace(features=rows))


GATES = tuple(gap(f"gate {n}", "gate", best=1.0, lost=0.02) for n in range(4))


def test_two_slaloms_that_cost_alike_do_not_stand_out():
    assert place(*GATES, gap("one", "slalom", best=6.0, lost=0.40), gap("two", "slalom", best=6.3, lost=0.43)) is None


def test_the_slalom_that_costs_more_than_the_other_does():
    found = place(*GATES, gap("one", "slalom", best=6.0, lost=0.40), gap("two", "slalom", best=6.0, lost=0.75))
    assert found.feature == "two"
    assert (found.seconds, found.more) == pytest.approx((0.75, 0.35))
    assert found.chance > 0.95


def test_the_other_ones_of_its_kind_are_told():
    slaloms = [gap(f"slalom {n}", "slalom", best=6.0, lost=0.40) for n in range(2)]
    dear = gap("dear", "slalom", best=6.0, lost=0.75)
    one, two = place(*GATES, slaloms[0], dear), place(*GATES, *slaloms, dear)
    assert [(found.beside, found.n_beside) for found in (one, two)] == [("slalom", 1), ("slalom", 2)]
    assert "for its length 0.35 s more than at your other slalom." in where_sentence(one)
    assert "for its length 0.35 s more than at your other slaloms." in where_sentence(two)


@pytest.mark.parametrize(
    ("kind", "words"), [("box", "boxes"), ("offset-gate", "offset gates"), ("hairpin", "hairpins")]
)
def test_kinds_are_said_as_people_say_them(kind, words):
    found = place(*(gap(f"{n}", kind, best=1.0, lost=0.02) for n in range(3)), gap("dear", kind, best=1.0, lost=0.5))
    assert f"more than at your other {words}." in where_sentence(found)


def test_a_feature_that_is_alone_of_its_kind_is_held_against_all_others():
    found = place(*GATES, gap("box", "box", best=2.0, lost=0.44))
    assert found.feature == "box"
    assert (found.beside, found.n_beside) == ("", 4)
    assert "more than at the other places of this course." in where_sentence(found)
    assert "your other" not in where_sentence(found)
    assert found.more == pytest.approx(0.44 - 2.0 * 0.02)


def test_a_place_that_is_not_sure_is_not_told():
    gaps = (*GATES, gap("box", "box", best=2.0, lost=0.30))
    assert place(*gaps).feature == "box"
    assert place(*gaps, doubt=0.2) is None


def test_a_course_with_fewer_than_two_others_has_no_place_that_stands_out():
    dear = gap("dear", "slalom", best=6.0, lost=1.4)
    assert place(dear) is None
    assert place(dear, GATES[0]) is None
    assert place(dear, *GATES[:2]).feature == "dear"
