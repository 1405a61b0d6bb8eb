"""The effect of a change: what is told, what is not, and by which runs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from conewise.proof.comparison import SameSetupError, UnknownNameError, WhichSetupsError, question_of
from conewise.proof.effect import Effect, effect_of
from conewise.proof.untold import Untold
from tests.seasons import AFTER, BEFORE, Season, drawn, times_of


def season(*orders, seed=3, **facts):
    return times_of(drawn(Season(orders=orders, **facts), np.random.default_rng(seed)))


def judged(times, **names):
    return effect_of(times, question_of(times, **names))


def test_there_and_back_within_a_day_is_told():
    found = judged(season("AABBBBAA", effect=-0.03))
    assert isinstance(found, Effect)
    assert found.basis == "same-day"
    assert found.interval[0] < found.effect < found.interval[1] < 0.0
    assert found.probability > 0.95
    assert [term.name for term in found.terms] == ["run-order"]


UNTOLD = {
    "one-setup": season("AAAA"),
    "run-order": season("AAABBB"),
    "event": season("AAAA", "BBBB"),
    "few-runs": season("ABBA"),
    "one-run": season("AABAA"),
    "few-drivers": season("AAAA", "BBBB", others=1),
}


@pytest.mark.parametrize("code", UNTOLD)
def test_what_cannot_be_told_apart_gets_no_number(code):
    found = judged(UNTOLD[code])
    assert isinstance(found, Untold)
    assert found.code == code
    assert found.why.endswith(".")
    assert found.remedy.endswith(".")


def test_a_passenger_with_one_setup_only_is_not_told_apart():
    times = season("AABBBBAA")
    found = judged(replace(times, passenger=times.setup == AFTER))
    assert isinstance(found, Untold)
    assert found.code == "passenger"


def test_a_passenger_on_both_is_a_term():
    found = judged(season("ABBAABBA", "BAABBAAB", passenger=0.02, seed=4))
    assert [term.name for term in found.terms] == ["run-order", "passenger"]
    passenger = found.terms[1]
    assert passenger.low < 0.02 * found.reference_time < passenger.high


def test_two_drivers_with_one_setup_each_are_not_told_apart():
    times = season("AAAA", others=1)
    other = times.driver == "driver 2"
    found = judged(replace(times, setup=np.where(other, AFTER, BEFORE)))
    assert isinstance(found, Untold)
    assert found.code == "other-driver"


def test_opposite_orders_on_two_days_are_told():
    assert isinstance(judged(season("AAABBB", "BBBAAA")), Effect)


def test_others_of_the_day_show_what_the_order_did():
    found = judged(season("AAABBB", others=3))
    assert isinstance(found, Effect)
    assert found.compared.is_tester.sum() == 6
    assert (~found.compared.is_tester).sum() == 18


def test_others_show_how_the_days_differ():
    found = judged(season("AAAA", "AAAA", "BBBB", "BBBB", others=4, effect=-0.04))
    assert isinstance(found, Effect)
    assert found.basis == "other-drivers"
    assert found.interval[1] < 0.0


def test_the_judged_drivers_own_runs_suffice_where_they_can():
    alone = season("ABBAAB", seed=5)
    beside = season("ABBAAB", others=4, seed=5)
    found = judged(beside)
    assert not (~found.compared.is_tester).any()
    assert judged(alone).compared.row.size == found.compared.row.size


def test_runs_without_a_time_count_in_the_order_only():
    times = season("AABBBBAA")
    outcome = times.outcome.copy()
    outcome[2] = "dnf"
    found = judged(replace(times, outcome=outcome))
    assert found.compared.row.size == 7
    assert found.compared.position.tolist() == [0, 1, 3, 4, 5, 6, 7]


def test_a_temperature_noted_now_and_then_is_left_out_and_said():
    times = season("AABBBBAA", warming=1.0)
    found = judged(replace(times, surface=np.where(times.run == 3, np.nan, times.surface)))
    assert [term.name for term in found.terms] == ["run-order"]
    assert [finding.code for finding in found.findings] == ["surface-unused"]


def test_three_setups_need_two_names():
    times = season("AABBBBAA")
    three = replace(times, setup=np.where(times.run == 1, "third", times.setup))
    with pytest.raises(WhichSetupsError, match="3 set-ups"):
        question_of(three)
    found = judged(three, before=BEFORE, after=AFTER)
    assert isinstance(found, Effect)
    assert found.compared.row.size == 7


def test_names_that_are_not_there():
    times = season("AABB")
    with pytest.raises(UnknownNameError, match="no set-up 'befor'") as caught:
        question_of(times, before="befor")
    assert "'before'" in caught.value.hint
    with pytest.raises(UnknownNameError, match="no driver"):
        question_of(times, drivers=["nobody"])
    with pytest.raises(SameSetupError):
        question_of(times, before=BEFORE, after=BEFORE)


def test_the_driver_named_is_judged():
    times = season("AABBBBAA", testers=2)
    found = judged(times, drivers=["driver 2"])
    assert set(times.driver[found.compared.row[found.compared.is_tester]]) == {"driver 2"}


def test_equal_times_do_not_break_it():
    times = season("AABBBBAA")
    found = judged(replace(times, raw_time=np.full(8, 50.0)))
    assert isinstance(found, Effect)
    assert found.effect == pytest.approx(0.0, abs=1e-9)


def test_one_run_more_or_less_hardly_moves_the_run_that_seconds_are_for():
    times = season("AABBBBAA", "BBAAAABB")
    longer = replace(times, raw_time=np.where(times.event == times.event[-1], 1.3, 1.0) * times.raw_time)
    whole = judged(longer).reference_time
    days = judged(longer).days
    assert whole == pytest.approx(np.sqrt(days[0] * days[1]))
    assert days[1] > 1.2 * days[0]
    for left_out in range(16):
        kept = np.arange(16) != left_out
        assert judged(longer.where(kept)).reference_time == pytest.approx(whole, rel=0.005)


@pytest.mark.parametrize(
    ("orders", "testers", "n_days", "n_drivers"),
    [(("AABBBBAA",), 1, 1, 1), (("ABBAABBA", "BAABBAAB"), 1, 2, 1), (("AABBBBAA",), 2, 1, 2)],
)
def test_days_and_drivers_are_counted_apart(orders, testers, n_days, n_drivers):
    found = judged(season(*orders, testers=testers))
    assert (found.n_days, found.n_drivers) == (n_days, n_drivers)
