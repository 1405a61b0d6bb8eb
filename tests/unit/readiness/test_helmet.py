"""What blocks a helmet and what is only said in time."""

from __future__ import annotations

from datetime import date

import pytest

from conewise.event.helmets import Look
from conewise.readiness.helmet import judge_helmet
from conewise.readiness.standards import load_standards
from tests.days import CLUB, DAY, helmet


def open_items(of, day=DAY, rule=CLUB.helmet, **more):
    return judge_helmet(of, day, rule=rule, standards=load_standards(), **more)


def blocking(of, **more):
    return [item.code for item in open_items(of, **more) if item.blocks]


def test_nothing_is_open_on_a_good_helmet():
    assert open_items(helmet()) == ()


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"labels": ()}, "helmet-label"),
        ({"labels": ("SA2010",)}, "helmet-label"),
        ({"labels": ("DOT",)}, "helmet-label"),
        ({"made": date(2027, 1, 1)}, "helmet-from-the-future"),
        ({"liner": Look()}, "helmet-liner"),
        ({"impact": Look(result="failed", looked_by="Bo", note="crack")}, "helmet-impact"),
        ({"fit": Look(result="passed", looked_by="Bo", looked_at=date(2026, 6, 1))}, "helmet-fit"),
    ],
)
def test_what_blocks(facts, code):
    assert blocking(helmet(**facts)) == [code]


def test_the_label_decides_and_not_the_date_of_manufacture():
    assert open_items(helmet(labels=("SA2020",), made=date(2005, 1, 1))) == ()


def test_one_accepted_label_is_enough():
    assert open_items(helmet(labels=("DOT", "M2020D"))) == ()


def test_a_made_day_is_no_reason_on_the_day_itself():
    assert open_items(helmet(made=DAY)) == ()


def test_the_change_over_is_said_in_time():
    (item,) = open_items(helmet(labels=("SA2015",)), day=date(2030, 3, 1))
    assert (item.code, item.blocks) == ("helmet-change-over", False)
    assert "2030-09-30" in item.reason
    assert "expected" in item.reason
    assert open_items(helmet(labels=("SA2015",)), day=date(2029, 3, 1)) == ()


def test_an_edition_that_nobody_listed_yet_is_expected_to_have_come():
    (item,) = open_items(helmet(labels=("SA2015",)), day=date(2031, 5, 1))
    assert not item.blocks
    assert "not listed" in item.reason
    assert "2030-09-30" in item.reason


def test_an_open_car_asks_for_eye_protection():
    assert blocking(helmet(), in_open_car=True) == ["helmet-eyes"]
    assert blocking(helmet(goggles=True), in_open_car=True) == []
    assert blocking(helmet(face_shield=True), in_open_car=True) == []
    lenient = CLUB.helmet.changed(eye_protection_in_open_cars=False)
    assert blocking(helmet(), in_open_car=True, rule=lenient) == []


def test_a_refusal_says_what_would_be_accepted():
    (item,) = open_items(helmet(labels=("SA2010",)))
    assert "SA2025, SA2020, SA2015" in item.reason
