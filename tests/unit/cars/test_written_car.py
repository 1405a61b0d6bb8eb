"""Numbers put into a car file: read again as they were put, and said to come from the car's page where it set them."""

from __future__ import annotations

import tomllib

import pytest

from conewise.cars.car import field
from conewise.cars.car_file import car_of
from conewise.cars.toml_file import Table
from conewise.cars.written_car import with_written
from conewise.quantities import Origin
from tests.cars import DEMO

TEXT = (DEMO / "marigold.toml").read_text(encoding="utf-8")
CAR = car_of(Table.of_text(TEXT, file="marigold"))
WRITTEN = tomllib.loads(TEXT)


def _is_there(name):
    """Whether the file has a number under its own name, and not from scales or a code."""
    table, key = name.rsplit(".", 1)
    at = WRITTEN
    for part in table.split("."):
        at = at.get(part, {})
    return key in at


GIVEN = [
    name for name, value in CAR.values.items()
    if value.origin in {Origin.MEASURED, Origin.SPEC_SHEET} and _is_there(name)
]  # fmt: skip


def test_every_number_that_the_file_gives_can_come_from_the_page():
    assert len(GIVEN) > 25
    for name in GIVEN:
        wanted = CAR.values[name].value
        text = with_written(TEXT, {name: wanted}, where="marigold", by_page={name})
        found = car_of(Table.of_text(text, file="marigold")).values[name]
        facts = field(name)
        spread = 0.0 if facts.is_count else 0.5 * facts.reference_step(wanted)
        assert (found.value, found.origin) == (pytest.approx(wanted, rel=1e-12), Origin.PAGE), name
        assert found.uncertainty == pytest.approx(spread), name


@pytest.mark.parametrize(
    "written",
    [
        'camber = "-2 deg"  # by the gauge',
        'camber = ["-2 deg", "0.1 deg"]  # by the gauge',
        'camber = { value = "-2 deg", uncertainty = "0.1 deg", origin = "measured" }  # by the gauge',
    ],
)
def test_in_whatever_form_the_number_before_stood(written):
    text = with_written(f"[front]\n{written}\ntoe = 1\n", {"front.camber": -0.05}, where="a", by_page={"front.camber"})
    assert text == '[front]\ncamber = {value = "-0.05 rad", origin = "car\'s page"}  # by the gauge\ntoe = 1\n'
