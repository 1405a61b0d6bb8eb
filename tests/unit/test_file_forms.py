"""A file of another form is told as what it is; one of the wanted form is left to its reader."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from conewise import demo
from conewise.cars.car_file import read_car
from conewise.cars.changes_file import read_changes, read_parts
from conewise.cars.driver import read_driver
from conewise.course.files import read_course
from conewise.course.rules import load
from conewise.event.event_file import read_event
from conewise.event.rules import load_event_rules
from conewise.file_forms import FORMS, OtherFormError, refuse_other_form

DEMO = Path(demo.__file__).parent
FILES = {
    "course": DEMO / "courses" / "harbour-yard.toml",
    "car": DEMO / "cars" / "juniper.toml",
    "changes": DEMO / "changes" / "winter.toml",
    "parts": DEMO / "parts" / "short-list.toml",
    "settings": DEMO / "settings" / "marigold.toml",
    "rules": DEMO / "rules" / "three-valleys.toml",
}
READERS = {
    "course": [read_course],
    "car": [read_car],
    "driver": [read_driver],
    "changes": [read_changes],
    "parts": [read_parts],
    "event": [read_event],
    "rules": [lambda path: load(str(path)), lambda path: load_event_rules(str(path))],
}
PAIRS = [(wanted, form) for wanted in READERS for form in FILES if wanted != form]


@pytest.mark.parametrize(("wanted", "form"), PAIRS)
def test_a_file_of_another_form_is_told_as_what_it_is(wanted, form):
    for read in READERS[wanted]:
        with pytest.raises(OtherFormError) as told:
            read(FILES[form])
        assert told.value.message.startswith(f"This is {FORMS[form].name}, not {FORMS[wanted].name}: it has ")
        assert f"Give {FORMS[wanted].name} here." in told.value.hint
        assert str(FILES[form]) == told.value.where


@pytest.mark.parametrize("form", FILES)
def test_every_shipped_file_is_of_its_own_form(form):
    for path in FILES[form].parent.glob("*.toml"):
        refuse_other_form(tomllib.loads(path.read_text(encoding="utf-8")), form, where="here")


def test_what_tells_it_is_named_as_it_is_written():
    with pytest.raises(OtherFormError) as told:
        read_course(FILES["car"])
    assert told.value.message == "This is a car file, not a course file: it has kind, [mass]."
    assert told.value.hint == "Give a course file here. A car file is for conewise car and conewise line."
    with pytest.raises(OtherFormError, match=r"it has \[\[change\]\]\."):
        read_car(FILES["changes"])


@pytest.mark.parametrize(
    ("text", "form"),
    [
        ("", "course"), ('name = "x"', "car"), ('name = "x"\nkindd = "coupe"', "car"),
        ('kind = "coupe"\n[[setting]]\n[mass]', "car"), ("unknown = 1", "rules"), ("[mass]\n[columns]", "car"),
    ],
)  # fmt: skip
def test_where_it_is_not_plain_the_reader_says_what_is_wrong(text, form):
    refuse_other_form(tomllib.loads(text), form, where="here")


def test_a_driver_is_no_car_and_a_car_no_driver(tmp_path):
    path = tmp_path / "x.toml"
    path.write_text('name = "x"\nlevel = "novice"\nmass = "70 kg"\n', encoding="utf-8")
    assert read_driver(path).level == "novice"
    with pytest.raises(OtherFormError, match="This is a driver file"):
        read_car(path)
