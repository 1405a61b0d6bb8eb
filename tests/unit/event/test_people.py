"""People: age in leap years, private fields, and who cannot mentor whom."""

from __future__ import annotations

from datetime import date

import pytest
from pydantic import ValidationError

from conewise.event.people import Person, age


@pytest.mark.parametrize(
    ("born", "day", "years"),
    [
        (date(2008, 5, 17), date(2026, 5, 16), 17),
        (date(2008, 5, 17), date(2026, 5, 17), 18),
        (date(2008, 2, 29), date(2026, 2, 28), 17),
        (date(2008, 2, 29), date(2026, 3, 1), 18),
        (date(2008, 2, 29), date(2028, 2, 29), 20),
    ],
)
def test_age(born, day, years):
    assert age(born, day) == years


def test_private_fields_have_something_to_stand_for_them():
    assert {"emergency", "medical"} == Person.PRIVATE
    assert Person(id="a", name="A").medical == ""


def test_nobody_mentors_themselves():
    with pytest.raises(ValidationError, match="their own mentor"):
        Person(id="a", name="A", mentor="a")


@pytest.mark.parametrize("key", ["", "Ana", "a b", "-a", "a" * 61])
def test_an_id_is_short_and_plain(key):
    with pytest.raises(ValidationError):
        Person(id=key, name="A")
