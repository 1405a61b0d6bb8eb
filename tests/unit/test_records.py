"""A record does not change; a change makes a new one and is checked again."""

from __future__ import annotations

import pytest
from pydantic import Field, TypeAdapter, ValidationError

from conewise.records import Clock, Day, Moment, Record, id_of


class Heavy(Record):
    """Something with a mass."""

    mass: float = Field(gt=0.0)


def test_a_change_makes_a_new_record():
    first = Heavy(mass=2.0)
    assert first.changed(mass=3.0) == Heavy(mass=3.0)
    assert first.mass == 2.0


def test_a_change_is_checked():
    with pytest.raises(ValidationError):
        Heavy(mass=2.0).changed(mass=-1.0)


def test_what_a_record_does_not_know_is_refused():
    with pytest.raises(ValidationError):
        Heavy.model_validate({"mass": 1.0, "colour": "grey"})


@pytest.mark.parametrize(
    ("name", "taken", "key"),
    [
        ("Åsa Öberg", (), "asa-oberg"),
        ("Sam Reed", {"sam-reed", "sam-reed-2"}, "sam-reed-3"),
        ("  ", (), "x"),
        ("李", {"x"}, "x-2"),
        ("a" * 500, (), "a" * 54),
    ],
)
def test_a_name_gives_a_plain_id(name, taken, key):
    assert id_of(name, taken) == key


@pytest.mark.parametrize(
    ("kind", "value"),
    [
        (Day, 20260517),
        (Day, "1899-12-31"),
        (Day, "2027-02-29"),
        (Moment, 0),
        (Moment, "2026-05-17T09:30:00Z"),
        (Moment, "0001-01-01T00:00:00"),
        (Clock, 930),
        (Clock, "09:30:00+02:00"),
        (Clock, "24:30"),
    ],
)
def test_what_is_no_day_and_no_clock_time_is_refused(kind, value):
    with pytest.raises(ValidationError):
        TypeAdapter(kind).validate_python(value)


@pytest.mark.parametrize(("kind", "text"), [(Day, "2028-02-29"), (Moment, "2026-05-17T09:30:00"), (Clock, "09:30:00")])
def test_days_and_clock_times_are_read_from_text(kind, text):
    assert TypeAdapter(kind).validate_python(text).isoformat() == text
