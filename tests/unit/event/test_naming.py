"""Who is meant: id, number, name; two with one name are asked about."""

from __future__ import annotations

import pytest

from conewise.event.day import Entry
from conewise.event.naming import AmbiguousCarError, AmbiguousPersonError, People, UnknownPersonError
from tests.days import car, event, event_day, person

ENTRIES = (
    Entry(person="sam-1", car="pepper", number="12"),
    Entry(person="sam-2", car="pepper", number="7a"),
    Entry(person="sam-2", car="marigold", number="8"),
)
DAY = event_day(
    event=event(entries=ENTRIES),
    people=(person("sam-1", name="Sam Reed"), person("sam-2", name="Sam Reed"), person("kim", name="Kim Öz")),
    cars=(car(), car("marigold")),
)
PEOPLE = People(DAY)


@pytest.mark.parametrize(("text", "key"), [("sam-2", "sam-2"), ("12", "sam-1"), ("7A", "sam-2"), ("kim  öz", "kim")])
def test_ids_numbers_and_names(text, key):
    assert PEOPLE.named(text).id == key


def test_two_with_one_name_are_asked_about():
    with pytest.raises(AmbiguousPersonError, match="sam-1 or sam-2") as refused:
        PEOPLE.named("sam reed", where="runs.csv, line 2")
    assert refused.value.where == "runs.csv, line 2"


@pytest.mark.parametrize("text", ["", "nobody", "13"])
def test_nobody(text):
    with pytest.raises(UnknownPersonError):
        PEOPLE.named(text)


def test_the_car_is_named_where_there_are_two():
    first, second, third = DAY.people
    assert PEOPLE.car_of(first, "") == "pepper"
    assert PEOPLE.car_of(second, "marigold") == "marigold"
    assert PEOPLE.car_of(third, "") == ""
    with pytest.raises(AmbiguousCarError):
        PEOPLE.car_of(second, "")
