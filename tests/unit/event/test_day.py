"""A day: two drivers with one name are told apart; money has a currency."""

from __future__ import annotations

from datetime import date

import pytest
from pydantic import ValidationError

from conewise.event.day import Entry, Event, EventDay, Money
from conewise.event.people import Person


def test_two_drivers_with_one_name_are_told_apart():
    event = Event(
        id="e1", name="E", day=date(2028, 2, 29), entries=(Entry(person="sam-1", car="c", number="12"),)
    )  # fmt: skip
    people = (Person(id="sam-1", name="Sam Reed"), Person(id="sam-2", name="Sam reed"), Person(id="ana", name="Ana"))
    day = EventDay(event=event, people=people)
    assert [day.called(person.id) for person in people] == ["Sam Reed (12)", "Sam reed (sam-2)", "Ana"]


@pytest.mark.parametrize("facts", [("1.005", "EUR"), ("-1", "EUR"), ("3", "euro"), ("nan", "EUR")])
def test_what_is_no_money_is_refused(facts):
    with pytest.raises(ValidationError):
        Money(amount=facts[0], currency=facts[1])
