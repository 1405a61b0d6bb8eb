"""Units shown, against NIST Special Publication 811, 2008, appendix B: 1 mi = 1609.344 m, 1 ft = 0.3048 m, exact."""

from __future__ import annotations

import pytest

from conewise.reports.units import METRIC, US, in_g, signed, step_text
from conewise.solver.result import Gradient


def gradient(unit, step):
    return Gradient(name="a", unit=unit, value=1.0, reference_step=step, s_per_unit=1.0)


def test_speeds():
    assert METRIC.speed(10.0) == "36.0"
    assert US.speed(44.704) == "100.0"  # 100 mph = 44.704 m/s


def test_lengths():
    assert US.length(304.8) == "1000"
    assert METRIC.margin(0.15) == "15"
    assert US.margin(0.254) == "10"


def test_a_price_is_for_the_step_that_is_named():
    assert METRIC.price(1.0) == "0.100"
    assert US.price(1.0) == "0.102"  # 4 in = 0.1016 m


def test_slow_in_prices():
    assert METRIC.entry_price(3.6) == "+1.000"  # 3.6 s per m/s is 1 s per km/h
    assert US.wide_price(0.3) == "+0.305"  # 1 s per metre is 0.3048 s per foot


@pytest.mark.parametrize(
    ("value", "text"), [(0.0004, "0.000"), (-0.0004, "0.000"), (-0.012, "−0.012"), (0.5, "+0.500")]
)
def test_a_sign_only_where_there_is_a_size(value, text):
    assert signed(value, 3) == text


def test_steps_in_words():
    assert step_text(gradient("kg", 10.0), METRIC) == "+10 kg"
    assert step_text(gradient("kg", 10.0), US) == "+22.0 lb"
    assert step_text(gradient("kW", -5.0), METRIC) == "−5 kW"
    assert step_text(gradient("kW", -5.0), US) == "−6.71 hp"  # 1 hp = 745.69987 W
    assert step_text(gradient("", 0.0565), US) == "+0.0565"
    assert step_text(gradient("-", 0.01), METRIC) == "+0.01"
    assert step_text(gradient("1/s", 0.5), METRIC) == "+0.5 1/s"


def test_standard_acceleration():
    assert in_g(9.80665) == 1.0
