"""Drivers: typical values by level (common practice, no source), and their files."""

import itertools

import numpy as np
import pytest

from conewise.cars.driver import LEVELS, read_driver, typical_driver
from conewise.cars.toml_file import CarFieldError
from conewise.errors import InputError
from conewise.quantities import Origin


@pytest.mark.parametrize(
    ("level", "share", "hands", "pedal", "scatter"),
    [("novice", 0.80, 250, 0.6, 0.50), ("regular", 0.90, 400, 0.4, 0.30), ("expert", 0.97, 600, 0.25, 0.15)],
)
def test_typical_drivers(level, share, hands, pedal, scatter):
    driver = typical_driver(level)
    assert driver.friction_share.value == share
    assert np.rad2deg(driver.handwheel_rate.value) == pytest.approx(hands)
    assert driver.pedal_time.value == pedal
    assert driver.scatter.value == scatter
    assert driver.friction_share.origin is Origin.TYPICAL


def test_a_better_driver_is_better_at_everything():
    by_level = [typical_driver(level) for level in LEVELS]
    for lesser, better in itertools.pairwise(by_level):
        assert lesser.friction_share.value < better.friction_share.value
        assert lesser.handwheel_rate.value < better.handwheel_rate.value
        assert lesser.pedal_time.value > better.pedal_time.value
        assert lesser.scatter.value > better.scatter.value
        assert lesser.launch_share.value < better.launch_share.value


@pytest.fixture
def file(tmp_path):
    def read(text):
        path = tmp_path / "driver.toml"
        path.write_text(text, encoding="utf-8")
        return read_driver(path)

    return read


def test_what_is_told_takes_the_place_of_the_typical(file):
    driver = file('name = "Müller"\nlevel = "novice"\nhandwheel_rate = "300 deg/s"\nmass = "82 kg"\n')
    assert driver.name == "Müller"
    assert np.rad2deg(driver.handwheel_rate.value) == pytest.approx(300)
    assert driver.handwheel_rate.origin is Origin.MEASURED
    assert driver.friction_share.value == 0.80
    assert driver.mass.value == 82.0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('level = "pro"\n', '"pro"'),
        ("friction_share = 1.1\n", "between 0.2 and 1"),
        ("friction_share = 0\n", "more than zero"),
        ("scater = 0.3\n", "scater"),
        ('pedal_time = "0.3 m"\n', "unit of length"),
        ("pedal_time = 0.3\n", "unit is missing"),
        ("name = 5\n", "line of text"),
        ("", "empty"),
    ],
)
def test_bad_drivers_are_said_with_their_place(file, text, words):
    with pytest.raises(InputError, match=words) as caught:
        file(text)
    assert "driver.toml" in caught.value.where


def test_the_nearest_key_is_named(file):
    with pytest.raises(CarFieldError) as caught:
        file("scater = 0.3\n")
    assert "scatter" in caught.value.hint
