"""The helmet rule against what clubs published; see CITATION.md."""

from __future__ import annotations

from datetime import date

import pytest

from conewise.event.rules import load_event_rules
from conewise.readiness.standards import accepted_editions, judge_label, load_standards

RULE = load_event_rules("club").helmet
SHIPPED = [load_event_rules(name).helmet for name in ("club", "student")]  # the latter leaves helmets to club practice
STANDARDS = load_standards()


def verdict(label, day):
    return judge_label(label, day, rule=RULE, standards=STANDARDS).verdict


@pytest.mark.parametrize(
    ("day", "family", "accepted"),
    [
        (date(2018, 6, 1), "SA", ("SA2015", "SA2010", "SA2005")),
        (date(2020, 12, 31), "SA", ("SA2015", "SA2010", "SA2005")),
        (date(2021, 1, 1), "SA", ("SA2020", "SA2015", "SA2010")),
        (date(2021, 1, 1), "M", ("M2020", "M2015", "M2010")),
        (date(2021, 1, 1), "K", ("K2020", "K2015", "K2010")),
        (date(2025, 9, 30), "SA", ("SA2020", "SA2015", "SA2010")),
        (date(2025, 10, 1), "SA", ("SA2025", "SA2020", "SA2015")),
        (date(2028, 2, 29), "SA", ("SA2025", "SA2020", "SA2015")),
    ],
)
def test_the_newest_in_force_and_the_two_before_it(day, family, accepted):
    assert accepted_editions(family, day, rule=RULE, standards=STANDARDS) == accepted


@pytest.mark.parametrize("label", ["SA2005", "M2005", "K2005", "BS6658-85 A", "SFI 31.1/2005", "Snell SA 2005"])
def test_what_went_out_at_the_end_of_2020(label):
    assert verdict(label, date(2020, 12, 31)) == "accepted"
    assert verdict(label, date(2021, 1, 1)) == "too old"


@pytest.mark.parametrize(
    "label",
    [
        "EA2016", "SA2020", "SA2015", "SA2010", "SAH2010", "M2020D", "M2020R", "M2015", "M2010", "K2020", "K2015",
        "K2010", "SFI 31.1/2015", "SFI 41.1/2010", "ECE R22.05", "FIA 8860-2018", "FIA 8860-2018-ABP", "FIA 8859-2015",
        "FIA 8860-2010", "FIA 8860-2004",
    ],
)  # fmt: skip
def test_the_list_of_2021(label):
    assert verdict(label, date(2021, 6, 1)) == "accepted"


def test_an_edition_newer_than_the_newest_in_force_is_accepted():
    """Labels of SA2025 shipped from 1 April 2025; the standard is in force from 1 October 2025."""
    assert verdict("SA2025", date(2025, 5, 1)) == "accepted"
    assert verdict("SA2020", date(2020, 11, 1)) == "accepted"


@pytest.mark.parametrize("label", ["DOT", "dot", "FMVSS 218", "DOT FMVSS-218"])
def test_a_road_approval_mark_alone_is_not_accepted(label):
    assert verdict(label, date(2026, 5, 17)) == "road mark only"
    allowing = RULE.changed(road_mark_alone=True)
    assert judge_label(label, date(2026, 5, 17), rule=allowing, standards=STANDARDS).verdict == "accepted"


@pytest.mark.parametrize("rule", SHIPPED, ids=["club", "student"])
def test_the_check_values_hold_in_every_rule_set_that_is_shipped(rule):
    """On 1 June 2018 SA2015, SA2010 and SA2005; SA2005 until 31 December 2020 and no longer: CITATION.md."""
    of_2018 = accepted_editions("SA", date(2018, 6, 1), rule=rule, standards=STANDARDS)
    assert of_2018 == ("SA2015", "SA2010", "SA2005")
    verdicts = [
        judge_label("SA2005", day, rule=rule, standards=STANDARDS).verdict
        for day in (date(2020, 12, 31), date(2021, 1, 1))
    ]
    assert verdicts == ["accepted", "too old"]
