"""Knowing a course by heart: order, sides, growing stretches."""

from dataclasses import replace
from functools import lru_cache
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from conewise.course.drill import cards, score, shuffled, stages
from conewise.course.reference import lay_out
from tests.solved import demo_course


@lru_cache(maxsize=1)
def deck():
    return cards(lay_out(demo_course("harbour-yard")))


def truth(stretch):
    return {card.feature: card.side for card in stretch}


def test_cards_know_the_side_as_the_driver_sees_it():
    """As the course file says it; the three hairpins turn left, right and left on the drawing of the plan."""
    course = demo_course("harbour-yard")
    by_id = {card.feature: card for card in deck()}
    for feature in course.features:
        side = feature.crossings[0][0].pass_side
        if feature.kind == "slalom" and side != "either":
            assert by_id[feature.id].side == {"left": "right", "right": "left"}[side]
    assert [card.side for card in deck() if card.kind == "hairpin"] == ["left", "right", "left"]
    assert all(not card.side for card in deck() if card.kind in {"offset-gate", "box"})


def test_what_may_be_passed_on_either_side_is_not_asked():
    course = demo_course("harbour-yard")
    either = {f.id for f in course.features if f.crossings[0][0].pass_side == "either"}
    assert either
    assert all(not card.side for card in deck() if card.feature in either)


@given(st.permutations(range(12)))
def test_only_the_right_order_is_known(order):
    told = [deck()[i] for i in order]
    found = score(deck(), told, truth(deck()))
    right = [card.looks for card in told] == [card.looks for card in deck()]
    assert found.is_known == right
    assert found.n_in_order + len(found.missing) == found.n_cards == len(deck())


def test_one_card_left_out_is_named():
    found = score(deck(), [*deck()[:4], *deck()[5:]], truth(deck()))
    assert found.n_in_order == len(deck()) - 1
    alike = [card.number for card in deck() if card.looks == deck()[4].looks]
    assert set(found.missing) <= set(alike)


def test_features_that_look_alike_may_change_places():
    alike = [i for i, card in enumerate(deck()) if card.looks == "offset gate"]
    told = list(deck())
    told[alike[0]], told[alike[1]] = told[alike[1]], told[alike[0]]
    assert score(deck(), told, truth(deck())).is_known


def test_a_wrong_and_a_missing_side_are_named():
    asked = [card for card in deck() if card.side]
    sides = truth(deck()) | {asked[0].feature: "left" if asked[0].side == "right" else "right"}
    del sides[asked[1].feature]
    found = score(deck(), deck(), sides)
    assert found.wrong_sides == (asked[0].number, asked[1].number)
    assert not found.is_known


@pytest.mark.parametrize("stretch", [2, 3, 4, 5, 11, 12])
def test_stretches_grow_from_the_start_to_all(stretch):
    grown = stages(deck(), stretch=stretch)
    assert grown[-1] == deck()
    for shorter, longer in pairwise(grown):
        assert longer[: len(shorter)] == shorter
        assert len(longer) > len(shorter) + 1


def test_cards_are_laid_out_of_order():
    for seed in range(50):
        table = shuffled(deck()[:4], np.random.default_rng(seed))
        assert sorted(card.number for card in table) == [card.number for card in deck()[:4]]
        assert [card.looks for card in table] != [card.looks for card in deck()[:4]]


def test_cards_that_all_look_alike_can_only_lie_in_order():
    same = [replace(deck()[0], feature=f"g{i}", number=i) for i in range(3)]
    assert len(shuffled(same, np.random.default_rng(1))) == 3
