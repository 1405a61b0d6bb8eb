"""Where a car stands before the start, and on what ground."""

from __future__ import annotations

import math

import numpy as np
import pytest

from conewise.course.layout import Patch, Site, Slope
from conewise.course.reference import lay_out
from conewise.quantities import GRAVITY
from conewise.vehicle.drivetrain import launch_acceleration
from conewise.vehicle.staging import staged, staged_like
from tests.courses import straight_course
from tests.model_cars import rear_drive


def on(site, **edits):
    return staged(rear_drive(**edits), lay_out(straight_course(site=site, staging=2.0)))


def test_a_plain_lot_changes_the_staging_distance_alone():
    p = rear_drive()
    assert on(Site()) == staged_like(p, on(Site()))
    assert (on(Site()).staging, on(Site()).start_friction, on(Site()).start_pull) == (2.0, 1.0, 0.0)


def test_the_site_s_own_friction_counts():
    assert on(Site(friction=0.8)).start_friction == pytest.approx(0.8)
    assert launch_acceleration(on(Site(friction=0.8))) < launch_acceleration(on(Site()))


@pytest.mark.parametrize(("west", "east", "share"), [(-9.0, 0.0, 1.0), (0.0, 9.0, 0.0), (-2.9, 0.0, 0.5)])
def test_a_patch_counts_for_the_way_that_the_car_rolls_on_it(west, east, share):
    """The centre of gravity rolls from 2 m and its distance to the nose before the beam, to the latter."""
    patch = Patch(outline=((west, -9.0), (east, -9.0), (east, 9.0), (west, 9.0)), friction=0.5)
    p = on(Site(patches=(patch,)))
    rolled = np.linspace(-2.0 - p.front_reach, -p.front_reach, 1001)
    inside = float(np.mean((rolled > west) & (rolled < east)))
    assert inside == pytest.approx(share, abs=0.12)
    assert p.start_friction == pytest.approx(1.0 - 0.5 * inside, abs=0.06)  # nine points


@pytest.mark.parametrize(("direction", "sign"), [(0.0, -1.0), (math.pi, 1.0), (math.pi / 2, 0.0)])
def test_a_slope_pulls_along_the_way(direction, sign):
    p = on(Site(slope=Slope(grade=0.03, direction=direction)))
    assert p.start_pull == pytest.approx(sign * GRAVITY * math.sin(math.atan(0.03)), abs=1e-9)
