"""A place stands out among the driver's others of its kind, by the noise of the recording, or not at all."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from conewise.logs.breakdown import Breakdown, FeatureGap, FrictionFound, Interval
from conewise.logs.where import standing_out

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


def test_a_feature_that_is_alone_of_its_kind_is_held_against_all_others():
    found = place(*GATES, gap("box", "box", best=2.0, lost=0.44))
    assert found.feature == "box"
    assert found.more == pytest.approx(0.44 - 2.0 * 0.02)


def test_a_place_that_is_not_sure_is_not_told():
    gaps = (*GATES, gap("box", "box", best=2.0, lost=0.30))
    assert place(*gaps).feature == "box"
    assert place(*gaps, doubt=0.2) is None


def test_a_course_of_one_feature_has_no_others():
    assert place(gap("only", "slalom", best=6.0, lost=0.4)).more == pytest.approx(0.4)
