"""A wrong value of an event file is refused with file, line and field."""

from __future__ import annotations

import pytest

from conewise.errors import InputError
from conewise.event.event_file import event_day

TEXT = """[event]
name = "Spring day"
day = 2026-05-17
fee = { amount = 45, currency = "EUR" }
[event.schedule]
first_car = "09:30"
course_length = "800 m"
[[person]]
name = "Sam Reed"
born = 1999-02-03
licence = { valid_until = 2027-01-01, seen = 2026-05-17 }
[[car]]
id = "pepper"
name = "Pepper"
wheel_torque = { written = "98 N m", source = "manual" }
tyres = [{ axle = "front", date_code = "2322", tread = "4 mm" }]
[[helmet]]
id = "h1"
owner = "sam-reed"
labels = ["SA2020"]
made = "2021-03"
[[entry]]
person = "sam-reed"
car = "pepper"
number = 12
[[check]]
car = "pepper"
item = "brake-pads"
result = "passed"
looked_by = "Ana"
looked_at = 2026-05-17T08:00:00
"""


def test_the_text_is_read():
    day = event_day(TEXT, file="day.toml")
    assert day.event.entries[0].number == "12"
    assert day.helmets[0].made.isoformat() == "2021-03-01"
    assert day.cars[0].tyres[0].tread == pytest.approx(0.004)
    assert day.event.schedule.course_length == 800.0


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ('name = "Spring day"', 'nam = "Spring day"', 2, "Did you mean 'name'"),
        ("day = 2026-05-17", "day = 20260517", 3, "2026-05-17"),
        ("day = 2026-05-17", "day = 2027-02-29", 3, "TOML"),
        ("day = 2026-05-17", 'day = "2027-02-29"', 3, "a day such as"),
        ("amount = 45", "amount = -45", 4, "zero or more"),
        ('"09:30"', '"9.30"', 6, "clock time"),
        ('"800 m"', '"800 kg"', 7, "unit of mass"),
        ('"800 m"', '"-800 m"', 7, "more than 0"),
        ("born = 1999-02-03", 'born = "03.02.1999"', 10, "a day such as"),
        ("licence = {", "licence = 3 #", 11, "a table is wanted"),
        ('id = "pepper"', 'id = "Pepper 1"', 13, "small letters"),
        ('written = "98 N m"', 'written = "98"', 15, "unit is missing"),
        ('"4 mm"', '"400 mm"', 16, "0.03"),
        ('axle = "front"', 'side = "front"', 12, "'tyres.1.axle' is missing"),
        ('owner = "sam-reed"', 'owner = "sam"', 19, "no person of that id"),
        ('person = "sam-reed"', 'person = "sam"', 23, "sam-reed"),
        ('result = "passed"', 'result = "ok"', 29, "passed, failed or does not apply"),
        ('looked_by = "Ana"\n', "", 26, "'looked_by' is missing"),
        ("2026-05-17T08:00:00", "2026-05-17T08:00:00Z", 31, "offset"),
    ],
)
def test_a_wrong_value_is_refused_with_its_line(old, new, line, words):
    assert old in TEXT
    with pytest.raises(InputError) as refused:
        event_day(TEXT.replace(old, new, 1), file="day.toml")
    said = f"{refused.value.message} {refused.value.hint}"
    assert words in said
    assert f"day.toml, line {line}" in refused.value.where
