"""Labels in every spelling, editions that nobody knows, and the day on which a label goes out."""

from __future__ import annotations

from datetime import date

import pytest

from conewise.readiness.standards import Edition, Standards, judge_label, load_standards
from tests.days import CLUB

DAY = date(2026, 5, 17)


def judged(label, day=DAY, rule=CLUB.helmet, standards=None):
    return judge_label(label, day, rule=rule, standards=standards or load_standards())


@pytest.mark.parametrize(
    "label", ["SA2020", "sa 2020", "Snell SA-2020", "SNELL SA2020", "ECE 22.06", "UN ECE R22.06", "R22-06"]
)
def test_spellings(label):
    assert judged(label).verdict == "accepted"


@pytest.mark.parametrize(
    ("label", "verdict"),
    [
        ("SA2018", "unknown edition"),
        ("SA2030", "unknown edition"),
        ("K2025", "unknown edition"),
        ("X2020", "not accepted"),
        ("CMR2016", "not accepted"),
        ("FIA 8878-2024", "not accepted"),
        ("", "not accepted"),
        ("SA2010", "too old"),
    ],
)
def test_what_is_not_accepted_and_how_it_is_said(label, verdict):
    assert judged(label).verdict == verdict


def test_the_next_change_over_is_expected_by_the_rhythm_of_editions():
    """SA2025 is in force from 2025-10-01, an edition every five years: SA2015 goes out when the next one comes."""
    found = judged("SA2015")
    assert (found.last_day, found.is_expected) == (date(2030, 9, 30), True)
    assert judged("SA2020").last_day == date(2035, 9, 30)


def test_a_change_over_that_is_known_is_not_only_expected():
    found = judged("SA2005", date(2020, 6, 1))
    assert (found.last_day, found.is_expected) == (date(2020, 12, 31), False)


def test_an_edition_in_force_from_a_leap_day():
    standards = Standards(families={"SA": (Edition(label="SA2024", in_force=date(2024, 2, 29)),)}, rhythm=5)
    rule = CLUB.helmet.changed(preceding=0)
    assert judged("SA2024", rule=rule, standards=standards).last_day == date(2029, 2, 28)


def test_before_the_first_edition_nothing_is_listed():
    assert judged("SA2020", date(1950, 1, 1)).accepted == ()
