"""The integer program against every subset, on generated choices."""

from __future__ import annotations

import ctypes
from decimal import Decimal
from itertools import chain, combinations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from conewise.advisor.choice import Candidate, Choice, best_sets


@st.composite
def choices(draw):
    n = draw(st.integers(1, 7))
    cents = st.integers(0, 5000)
    hundredths = st.integers(-30, 60)
    candidates = [
        Candidate(
            name=f"c{k}",
            gain=draw(hundredths) / 100,
            price=Decimal(draw(cents)) / 100,
            hours=draw(st.integers(0, 8)) / 2,
            is_required=draw(st.integers(0, 9)) == 0,
        )
        for k in range(n)
    ]
    pairs = list(combinations(range(n), 2))
    some = st.lists(st.sampled_from(pairs), unique=True, max_size=6) if pairs else st.just([])
    directed = [(k, j) if draw(st.booleans()) else (j, k) for k, j in draw(some)[:2]]
    return Choice(
        candidates=candidates,
        extras={pair: draw(hundredths) / 100 for pair in draw(some)},
        exclusive=frozenset(draw(some)[:3]),
        needs=frozenset(directed),
        budget=draw(st.none() | st.integers(0, 12000).map(lambda n: Decimal(n) / 100)),
        hours=draw(st.none() | st.integers(0, 20).map(lambda n: n / 2)),
    )


def all_sets(choice):
    """Every set that keeps every limit, gains something and has no idle member: all subsets are looked at."""
    indices = range(len(choice.candidates))
    subsets = chain.from_iterable(combinations(indices, size) for size in range(len(indices) + 1))
    required = any(candidate.is_required for candidate in choice.candidates)
    found = [
        s for s in subsets
        if choice.is_possible(s) and not choice.has_idle(s) and (required or choice.value(s) > 1e-9)
    ]  # fmt: skip
    return sorted((choice.value(s) for s in found), reverse=True)


@settings(max_examples=150, deadline=None)
@given(choices())
@example(Choice(candidates=[], budget=Decimal(0)))
def test_the_best_sets_are_those_that_all_subsets_hold(choice):
    found = best_sets(choice, 5)
    wanted = all_sets(choice)
    assert not found.is_given_up
    assert all(choice.is_possible(chosen) for chosen in found.sets)
    assert len(set(found.sets)) == len(found.sets)
    values = [choice.value(chosen) for chosen in found.sets]
    assert values == pytest.approx(wanted[:5], abs=2e-6)  # all prices together count 1e-6 s


def plain(*gains, **limits):
    candidates = [Candidate(name=str(k), gain=gain, price=Decimal(100)) for k, gain in enumerate(gains)]
    return Choice(candidates=candidates, **limits)


def test_the_greatest_gain_within_the_budget_is_chosen():
    assert best_sets(plain(0.1, 0.3, 0.2, budget=Decimal(200)), 1).sets == ((1, 2),)


def test_two_of_one_place_are_never_chosen_together():
    assert best_sets(plain(0.3, 0.2, exclusive=frozenset({(0, 1)})), 2).sets == ((0,), (1,))


def test_what_is_needed_comes_with_it():
    assert best_sets(plain(0.3, 0.0, needs=frozenset({(0, 1)})), 1).sets == ((0, 1),)
    assert best_sets(plain(0.3, 0.0, needs=frozenset({(0, 1)}), budget=Decimal(100)), 1).sets == ()


def test_a_pair_that_helps_each_other_beats_two_better_ones():
    choice = plain(0.2, 0.2, 0.1, 0.1, extras={(2, 3): 0.3}, budget=Decimal(200))
    assert best_sets(choice, 1).sets == ((2, 3),)


def test_of_two_equal_ones_the_cheaper_is_chosen():
    candidates = [Candidate(name="a", gain=0.2, price=Decimal(300)), Candidate(name="b", gain=0.2, price=Decimal(100))]
    choice = Choice(candidates=candidates, exclusive=frozenset({(0, 1)}))
    assert best_sets(choice, 1).sets == ((1,),)


def test_what_is_not_accepted_is_passed_over():
    found = best_sets(plain(0.3, 0.2), 5, accept=lambda chosen: len(chosen) == 1)
    assert found.sets == ((0,), (1,))


def test_a_budget_of_zero_leaves_what_is_free():
    candidates = [Candidate(name="a", gain=0.2, price=Decimal(1)), Candidate(name="b", gain=0.1)]
    assert best_sets(Choice(candidates=candidates, budget=Decimal(0)), 3).sets == ((1,),)


def test_what_inspection_asks_for_is_in_every_set_whatever_it_gains():
    candidates = [Candidate(name="a", gain=0.0, price=Decimal(80), is_required=True), Candidate(name="b", gain=0.1)]
    found = best_sets(Choice(candidates=candidates, budget=Decimal(100)), 5)
    assert found.sets == ((0, 1), (0,))
    assert best_sets(Choice(candidates=candidates, budget=Decimal(79)), 5).sets == ()


def test_what_gains_nothing_does_not_use_up_the_search():
    gains = [0.5, 0.4, 0.3, *[0.0] * 12]
    found = best_sets(Choice(candidates=[Candidate(name=f"c{k}", gain=gain) for k, gain in enumerate(gains)]), 5)
    assert found.sets == ((0, 1, 2), (0, 1), (0, 2), (1, 2), (0,))  # 1.2, 0.9, 0.8, 0.7, 0.5 s
    assert not found.is_given_up


def test_the_search_prints_nothing(capfd):
    # with its presolve HiGHS prints a line here, into the JSON of a command
    gains = (0.040972323351907494, 0.03367673847150844, 0.0, -0.05, 0.2, -0.03750169595549216, 0.21983198297722817, 0.0)
    gains = (*gains, -0.0016454375681949837, 0.2336927905395374, 0.1)
    prices = (124, 592, 109, 563, 247, 258, 569, 422, 582, 159, 166)
    hours = (0.0, 1.0, 2.0, 1.0, 0.5, 1.0, 1.5, 3.0, 3.0, 2.5, 0.0)
    extras = {
        (3, 8): 0.0716210472376809,
        (6, 9): -0.0727430429050962,
        (3, 7): 0.050410469173162914,
        (5, 10): -0.07068896057364747,
        (3, 10): 0.003123656384419665,
        (3, 5): 0.08695783798740084,
        (4, 8): 0.07029819442500532,
        (6, 8): 0.007606890728213703,
    }
    candidates = [
        Candidate(name=f"c{k}", gain=gain, price=Decimal(price), hours=worked)
        for k, (gain, price, worked) in enumerate(zip(gains, prices, hours, strict=True))
    ]
    exclusive = frozenset({(6, 7), (1, 10), (7, 8), (5, 8)})
    choice = Choice(
        candidates=candidates,
        extras=extras,
        exclusive=exclusive,
        needs=frozenset({(6, 9)}),
        budget=Decimal(1200),
        hours=8.0,
    )
    assert best_sets(choice, 5).sets
    ctypes.CDLL(None).fflush(None)
    assert capfd.readouterr().out == ""


def test_a_solution_that_the_solver_repairs_is_not_told_either(capfd):
    """With a part that has to be bought HiGHS repairs what it finds, and prints that whatever its options say."""
    candidates = [
        Candidate(name=str(k), gain=0.01 * (k + 1), price=Decimal(100), hours=1.0, is_required=k == 0) for k in range(4)
    ]
    print("before")
    assert best_sets(Choice(candidates=candidates, budget=Decimal(250)), 5).sets
    ctypes.CDLL(None).fflush(None)
    print("after")
    assert capfd.readouterr().out == "before\nafter\n"
