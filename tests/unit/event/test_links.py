"""Every id that is named must be there."""

from __future__ import annotations

import pytest

from conewise.errors import InputError
from conewise.event.event_file import event_day, event_text
from tests import days

TEXT = event_text(days.event_day())


@pytest.mark.parametrize(
    ("heading", "line", "field"),
    [
        ("loan", 'helmet = "ghost"\nperson = "ana"', "helmet"),
        ("change", 'car = "ghost"\nkind = "leak"\nhappened_at = 2026-05-17T09:00:00', "car"),
        ("ride_along", 'driver = "ana"\npassenger = "ghost"', "passenger"),
        ("person", 'name = "Bo"\nmentor = "ghost"', "mentor"),
        ("packed", 'item = "Tape"\nperson = "ghost"', "person"),
    ],
)
def test_a_name_that_is_nobody_s_is_refused_with_its_line(heading, line, field):
    text = f"{TEXT}\n[[{heading}]]\n{line}\n"
    with pytest.raises(InputError, match="ghost") as refused:
        event_day(text, file="day.toml")
    number = text.split("\n").index(next(part for part in line.split("\n") if part.startswith(field))) + 1
    assert f"line {number}," in refused.value.where
