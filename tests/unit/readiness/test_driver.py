"""Drivers: age on the day, signatures, licence, mentor, helmet, number."""

from __future__ import annotations

from datetime import date

import pytest

from conewise.event.day import Entry
from conewise.event.helmets import Loan
from conewise.event.people import Guardian, Licence
from conewise.readiness.driver import helmet_of, is_novice, judge_driver
from tests.days import CLUB, event, event_day, minor, person


def codes(of, day=None, rule=CLUB.people, *, blocking=True):
    day = day or event_day(people=(of, *(person(key) for key in ("bo",))))
    return [item.code for item in judge_driver(of, day, rule=rule) if item.blocks == blocking]


def test_nothing_is_open_on_a_driver_with_everything():
    assert judge_driver(person(), event_day(), rule=CLUB.people) == ()


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"born": None}, "driver-age"),
        ({"born": date(2027, 1, 1)}, "driver-age"),
        ({"born": date(2009, 1, 1)}, "driver-guardian"),
        ({"waiver_signed": None}, "driver-waiver"),
        ({"waiver_signed": date(2026, 5, 18)}, "driver-waiver"),
        ({"licence": None}, "driver-licence"),
        ({"licence": Licence(seen=date(2026, 5, 18))}, "driver-licence"),
        ({"licence": Licence(seen=date(2026, 5, 1), valid_until=date(2026, 5, 16))}, "driver-licence-ended"),
    ],
)
def test_what_blocks(facts, code):
    assert codes(person(**facts)) == [code]


def test_a_licence_is_valid_on_its_last_day():
    assert codes(person(licence=Licence(seen=date(2026, 5, 1), valid_until=date(2026, 5, 17)))) == []


def test_a_minor_with_a_guardian_s_waiver_may_run():
    day = event_day(event=event(entries=(Entry(person="kid", car="pepper", helmet="red", number="1", class_code="S"),)))
    assert codes(minor(), day) == []
    late = minor().changed(guardian=Guardian(waiver_signed=date(2026, 6, 1)))
    assert codes(late, day) == ["driver-guardian"]


def test_eighteen_on_the_day_of_the_event_is_grown_up():
    assert codes(person(born=date(2008, 5, 17))) == []
    assert codes(person(born=date(2008, 5, 18))) == ["driver-guardian"]


def test_a_beginner_without_a_mentor_is_told_or_kept():
    beginner = person(level="novice", events_driven=2)
    assert codes(beginner) == []
    assert codes(beginner, blocking=False) == ["driver-mentor"]
    assert codes(beginner, rule=CLUB.people.changed(novice_mentor=True)) == ["driver-mentor"]
    led = beginner.changed(mentor="bo")
    assert codes(led, event_day(people=(led, person("bo", can_mentor=True))), blocking=False) == []
    assert codes(led, event_day(people=(led, person("bo"))), blocking=False) == ["driver-mentor"]


@pytest.mark.parametrize(
    ("level", "events", "novice"), [("novice", 30, True), ("regular", 5, True), ("regular", 6, False)]
)
def test_who_is_a_beginner(level, events, novice):
    """One club's rule: six events or fewer, this one among them."""
    assert is_novice(person(level=level, events_driven=events), CLUB.people) is novice


def test_two_drivers_with_one_number_in_a_class():
    entries = (
        Entry(person="ana", car="pepper", helmet="red", number="12", class_code="S"),
        Entry(person="bo", car="pepper", helmet="red", number="12", class_code="S"),
    )
    day = event_day(event=event(entries=entries), people=(person(), person("bo", name="Ana")))
    (item,) = [item for item in judge_driver(person(), day, rule=CLUB.people) if item.blocks]
    assert item.code == "driver-number-twice"
    other = entries[1].changed(class_code="R")
    apart = event_day(event=event(entries=(entries[0], other), classes=("S", "R")), people=day.people)
    assert codes(person(), apart) == []


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"helmet": ""}, "driver-helmet"),
        ({"class_code": "Z"}, "driver-class"),
        ({"work_heat": "A"}, "driver-heat"),
        ({"heat": "C"}, "driver-heat-unknown"),
    ],
)
def test_what_is_open_on_an_entry(facts, code):
    entry = event().entries[0].changed(**facts)
    assert codes(person(), event_day(event=event(entries=(entry,)))) == [code]


def test_a_loan_helmet_is_the_helmet_of_the_day():
    entry = event().entries[0].changed(helmet="")
    loan = Loan(id="l1", event="spring", helmet="blue", person="ana")
    day = event_day(event=event(entries=(entry,)), loans=(loan,))
    assert helmet_of(entry, day) == "blue"
    assert helmet_of(entry, day.changed(loans=(loan.changed(event="autumn"),))) == ""
