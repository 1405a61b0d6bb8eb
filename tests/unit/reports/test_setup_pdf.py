"""The set-up sheet has the values of the car's sheet on the screen."""

from __future__ import annotations

import pytest

from conewise.cars.adjustable import Setting
from conewise.cars.car_file import read_car
from conewise.reports.setup_pdf import SetupSheet, setup_data, setup_pdf
from conewise.workflows.cars import value_row
from tests.cars import DEMO

CAR = read_car(DEMO / "marigold.toml")
RANGE = Setting(name="front camber", fields=("front.camber",), low=-0.05, high=-0.02, step=0.005)


def sheet(**facts):
    return SetupSheet(**{"car": CAR, "label": "version 1", "when": "2026-05-02 10:15"} | facts)


@pytest.mark.parametrize("system", ["metric", "us"])
def test_values_are_those_of_the_screen(system):
    rows = {row[0]: row for row in setup_data(sheet(), system=system)["rows"]}
    for label, name in (
        ("Camber", "camber"),
        ("Tyre pressure, cold", "tyre.pressure"),
        ("Spring, each", "spring_rate"),
    ):
        for column, axle in ((1, "front"), (2, "rear")):
            full = f"{axle}.{name}"
            assert rows[label][column] == value_row(full, CAR.values[full], system)[1]
    assert rows["Spacer, each side"][2].endswith(" *")  # typical
    assert rows["Caster"][2] == ""


def test_what_can_be_set_is_beside_it():
    rows = {row[0]: row for row in setup_data(sheet(settings=(RANGE,)))["rows"]}
    assert rows["Camber"][3] == "-2.86 deg to -1.15 deg"  # 0.05 and 0.02 rad
    assert rows["Toe-in of each wheel"][3] == ""


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_it_is_printed(paper):
    made = setup_pdf(sheet(torque="108 N m", changes=(("2026-05-01", "softer #bar"),)), paper=paper)
    assert made.startswith(b"%PDF-")
    assert setup_pdf(sheet(settings=(RANGE,)), system="us", paper=paper).startswith(b"%PDF-")


def test_no_torque_comes_from_us():
    assert setup_data(sheet())["torque"] == ""
