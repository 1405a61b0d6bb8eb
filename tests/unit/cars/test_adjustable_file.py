"""Files of ranges: what is read, and what is refused with its line and field."""

from __future__ import annotations

from pathlib import Path

import pytest

import conewise.demo
from conewise.cars.adjustable_file import read_settings
from conewise.cars.car_file import read_car, settings_of_car
from conewise.errors import InputError

DEMO = Path(conewise.demo.__file__).parent
STEPS = '[[setting]]\nname = "camber"\nfield = "front.camber"\nlow = "-3 deg"\nhigh = "-1 deg"\nstep = "0.25 deg"\n'


def written(tmp_path, text):
    file = tmp_path / "ranges.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_the_demo_ranges_are_read():
    found = read_settings(DEMO / "settings" / "marigold.toml")
    kinds = {setting.name: setting.kind for setting in found}
    assert kinds["front bar"] == "bar"
    assert kinds["front tyre pressure"] == "tyre"
    assert kinds["brake balance"] == "brake"
    assert {"damper", "camber"} <= set(kinds.values())


def test_a_car_file_may_list_its_settings(tmp_path):
    text = (DEMO / "cars" / "marigold.toml").read_text(encoding="utf-8")
    file = written(tmp_path, f"{text}\n{STEPS}")
    assert [setting.name for setting in settings_of_car(file)] == ["camber"]
    assert read_car(file).name == read_car(DEMO / "cars" / "marigold.toml").name
    assert settings_of_car(DEMO / "cars" / "marigold.toml") == ()


def test_a_mistake_in_a_car_files_settings_is_said_when_the_car_is_read(tmp_path):
    text = (DEMO / "cars" / "marigold.toml").read_text(encoding="utf-8")
    with pytest.raises(InputError, match="step"):
        read_car(written(tmp_path, f"{text}\n{STEPS.replace('0.25 deg', '0 deg')}"))


def test_a_click_may_move_what_hangs_on_it(tmp_path):
    also = '[[setting.also]]\nfield = "front.roll_centre"\nper_step = "-6 mm"\n'
    file = written(
        tmp_path,
        '[[setting]]\nname = "height"\nfield = "body.cg_height"\nlow = "0.43 m"\nhigh = "0.46 m"\nstep = "5 mm"\n'
        + also,
    )
    (setting,) = read_settings(file)
    assert setting.kind == "ride-height"
    assert setting.also[0].per_step == pytest.approx(-0.006)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("front.camber", "front.cambre", "no field that a setting moves"),
        ("front.camber", "front.spring_rate", "no field that a setting moves"),
        ("front.camber", "mass.front_share", "no field that a setting moves"),
        ('"front.camber"', '["front.camber", "rear.toe"]', "same on both axles"),
        ('step = "0.25 deg"', 'step = "-0.25 deg"', "more than zero"),
        ('step = "0.25 deg"', 'step = "0.001 deg"', "more than 200 steps"),
        ('step = "0.25 deg"', 'step = "5 deg"', "narrower than one step"),
        ('step = "0.25 deg"', "step = 0.25", "step"),
        ('step = "0.25 deg"', "", "no step"),
        ('high = "-1 deg"', 'high = "-4 deg"', "ends where it begins"),
        ('high = "-1 deg"', 'high = "60 deg"', "front|high"),
        ('step = "0.25 deg"', 'values = ["-2 deg", "-1 deg"]', "either values"),
        ('step = "0.25 deg"', 'step = "0.25 deg"\nclick = 3', "click"),
        ('name = "camber"', 'name = ""', "line of text"),
    ],
)
def test_what_cannot_be_used_is_refused_with_its_place(tmp_path, old, new, words):
    with pytest.raises(InputError, match=words) as caught:
        read_settings(written(tmp_path, STEPS.replace(old, new)))
    assert "ranges.toml, line" in caught.value.where
    assert caught.value.hint


@pytest.mark.parametrize(
    ("values", "words"),
    [('["0.23 m"]', "two positions"), ('["0.25 m", "0.23 m"]', "do not rise"), ('"0.23 m"', "two positions")],
)
def test_positions_rise(tmp_path, values, words):
    with pytest.raises(InputError, match=words):
        read_settings(written(tmp_path, f'[[setting]]\nname = "bar"\nfield = "front.bar_arm"\nvalues = {values}\n'))


def test_two_settings_of_one_name_or_one_field_are_refused(tmp_path):
    with pytest.raises(InputError, match="Two settings are called"):
        read_settings(written(tmp_path, STEPS + STEPS))
    with pytest.raises(InputError, match="Two settings move"):
        read_settings(written(tmp_path, STEPS + STEPS.replace('name = "camber"', 'name = "other"')))


def test_an_empty_file_says_what_to_write(tmp_path):
    with pytest.raises(InputError, match="no setting"):
        read_settings(written(tmp_path, "# nothing\n"))
