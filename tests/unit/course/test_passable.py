"""Gates and slaloms through which nobody gets stop a course, with a car named or without."""

from __future__ import annotations

import numpy as np
import pytest

from conewise.course.checks import check
from conewise.course.passable import SMALLEST_RADIUS, SMALLEST_WIDTH, impassable
from conewise.course.toml_file import read_toml

BASE = 0.28  # of a cone that is given without one [m]


def course(notes):
    return read_toml(f'name = "Lane"\n[walk]\nnotes = """\nstart\n{notes}\nfinish after 30 m\n"""\n', file="lane.toml")


def slalom(gap, words="first to your left"):
    return course(f"slalom 5 cones every {gap} m {words} after 20 m")


def stops(found):
    return {f.code for f in found if f.severity == "stop"}


def gate(width):
    """A gate as wide between the bases as told."""
    return course(f"gate {width:g} m wide after 30 m")


def test_a_gate_that_no_car_fits_stops_without_a_car():
    found = impassable(gate(1.0))
    assert stops(found) == {"gate-below-car"}
    assert "1.00 m wide" in found[0].message
    assert "no car was named" in found[0].message
    assert "gate 1" in found[0].where
    assert stops(check(gate(1.0))) == {"gate-below-car"}
    assert impassable(gate(SMALLEST_WIDTH + 0.01)) == []
    assert stops(impassable(gate(1.6), car_width=1.7)) == {"gate-below-car"}


@pytest.mark.parametrize("words", ["first to your left", "either side"])
def test_a_slalom_that_asks_for_more_lock_than_any_car_has_stops(words):
    """Arcs of radius r, chord d and sagitta A: r = (d2 / 4 + A2) / 2A (circle); A is half the car and half a base."""
    half = 0.5 * (SMALLEST_WIDTH + BASE)
    least = 2 * np.sqrt(2 * SMALLEST_RADIUS * half - half**2)
    assert 4.0 < least < 4.5
    (found,) = impassable(slalom(4.0, words))
    assert (found.severity, found.code) == ("stop", "slalom-below-car")
    assert "radius of 2.8 m" in found.message
    assert found.where == "feature 'slalom 1', cones 1 and 2"
    assert stops(check(slalom(4.0, words))) == {"slalom-below-car"}
    assert impassable(slalom(round(least - 0.05, 2), words)) != []
    assert impassable(slalom(round(least + 0.05, 2), words)) == []


def test_a_wide_car_with_little_lock_needs_more_room():
    half, lock = 0.5 * (1.9 + BASE), 5.5
    least = 2 * np.sqrt(2 * lock * half - half**2)
    assert impassable(slalom(round(least + 0.05, 2)), car_width=1.9, turning_radius=lock) == []
    (found,) = impassable(slalom(round(least - 0.05, 2)), car_width=1.9, turning_radius=lock)
    assert "the car turns on 5.5 m" in found.message
