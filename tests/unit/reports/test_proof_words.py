"""The sentences of a proof: which run the seconds are for, and whose days they rest on."""

from __future__ import annotations

from importlib.resources import files

import pytest

from conewise.proof.times_file import read_times
from conewise.reports import proof_words
from conewise.reports.proof_record import proof_record
from conewise.workflows.prove import prove


@pytest.fixture(scope="module")
def two_evenings():
    return prove(files("conewise.demo") / "times" / "harbour-yard-bar-test.csv")


def test_seconds_are_for_a_run_between_those_of_the_days(two_evenings):
    record = proof_record(two_evenings)
    short, long = record["typical_times_s"]
    assert short < 41.0
    assert long > 53.0
    assert record["reference_time_s"] ** 2 == pytest.approx(short * long)
    assert f"in a run of {record['reference_time_s']:.1f} s" in record["sentence"]
    words = proof_words.basis_sentence(two_evenings)
    assert f"−{-short * record['effect_share']:.2f} s on the shortest day's course ({short:.1f} s)" in words
    assert f"−{-long * record['effect_share']:.2f} s on the longest ({long:.1f} s)" in words


def test_one_driver_on_two_days_is_not_two_drivers(two_evenings):
    assert proof_words.basis_sentence(two_evenings).startswith("Within 2 days of one driver, both set-ups each day: ")


def test_one_day_has_one_typical_run(two_evenings):
    times = read_times(files("conewise.demo") / "times" / "harbour-yard-bar-test.csv")
    answer = prove(times.where(times.event == times.event[0]))
    words = proof_words.basis_sentence(answer)
    assert words.startswith("Within one day of one driver, both set-ups: ")
    assert words.endswith(f"that day's typical run on the old set-up, {answer.effect.days[0]:.1f} s.")
