"""How far a car rolls on: closed forms of uniform deceleration, v2 / 2a, on plain, sloping and patched ground."""

from __future__ import annotations

import math

import numpy as np
import pytest

from conewise.course.layout import Patch, Site, Slope, StopArea
from conewise.course.reference import lay_out
from conewise.course.stopping import WET, Arrival, stop_findings, stopping_distance
from conewise.findings import in_system
from conewise.quantities import GRAVITY
from tests.courses import straight_course

SPEED = 20.0  # [m/s]


def straight(site):
    return lay_out(straight_course(site=site))


def patch(west, east, friction):
    return Patch(outline=((west, -9.0), (east, -9.0), (east, 9.0), (west, 9.0)), friction=friction)


@pytest.mark.parametrize(
    ("site", "told", "deceleration"),
    [
        (Site(), {}, 0.5 * GRAVITY),
        (Site(friction=0.8), {"friction": 1.1}, 0.5 * 0.88 * GRAVITY),
        (Site(), {"most": 4.0}, 2.0),
        (Site(slope=Slope(grade=0.05, direction=0.0)), {}, 0.5 * GRAVITY * (1.0 + math.sin(math.atan(0.05)))),
        (Site(slope=Slope(grade=0.05, direction=math.pi)), {}, 0.5 * GRAVITY * (1.0 - math.sin(math.atan(0.05)))),
        (Site(slope=Slope(grade=0.05, direction=math.pi / 2)), {}, 0.5 * GRAVITY),
    ],
)
def test_uniform_deceleration(site, told, deceleration):
    found = stopping_distance(straight(site), SPEED, share=0.5, **told)
    assert found == pytest.approx(SPEED**2 / (2.0 * deceleration), rel=1e-6)  # steps are exact where a is uniform
    to_walking = stopping_distance(straight(site), SPEED, share=0.5, least=1.5, **told)
    assert to_walking == pytest.approx((SPEED**2 - 1.5**2) / (2.0 * deceleration), rel=1e-6)


def test_a_patch_behind_the_finish_counts_for_its_length():
    """On 20 m of half the friction the car loses what 10 m of plain ground would have taken."""
    plain = SPEED**2 / GRAVITY
    found = stopping_distance(straight(Site(patches=(patch(90.0, 110.0, 0.5),))), SPEED, share=0.5)
    assert found == pytest.approx(plain + 10.0, abs=0.3)  # half a step at either border
    before = stopping_distance(straight(Site(patches=(patch(60.0, 79.0, 0.5),))), SPEED, share=0.5)
    assert before == pytest.approx(plain, rel=1e-6)


def test_far_behind_the_finish_the_ground_goes_on_as_it_is():
    assert stopping_distance(straight(Site()), 90.0, share=0.5) == pytest.approx(90.0**2 / GRAVITY, rel=1e-6)


def test_a_slope_that_the_tyres_do_not_hold_has_no_end():
    icy = straight(Site(friction=0.1, slope=Slope(grade=0.15, direction=math.pi)))
    assert np.isinf(stopping_distance(icy, SPEED, share=0.5))
    assert stopping_distance(icy, 0.0, share=0.5) == 0.0


def arriving(speed, **told):
    return Arrival(speed=speed, speed_wet=told.pop("speed_wet", speed), **told)


def judged(length, *arrivals, kind="box", **told):
    stop = None if length is None else StopArea(kind=kind, length=length)
    geometry = lay_out(straight_course(site=Site(), stop=stop))
    return [(f.severity, f.code) for f in stop_findings(geometry, arrivals, words="predicted", **told)]


def test_one_rule_says_stop_for_the_dry_and_look_for_the_wet():
    """v2 / 2a with half of 1 g, and of 0.6 g in the wet (closed form)."""
    dry = SPEED**2 / GRAVITY
    slower = arriving(SPEED, speed_wet=0.9 * SPEED)
    wet = dry * 0.9**2 / WET
    assert judged(0.99 * dry, slower) == [("stop", "stop-short")]
    assert judged(1.01 * dry, slower) == [("warning", "stop-short-wet")]
    assert judged(1.01 * wet, slower) == []
    assert judged(None, slower) == [("warning", "stop-missing")]
    assert judged((1.01 * SPEED**2 - 1.5**2) / GRAVITY, slower, kind="lane") == [("warning", "stop-short-wet")]
    assert judged(1.01 * dry, slower, share=0.4) == [("stop", "stop-short")]


def test_the_car_that_needs_the_longest_way_decides():
    slow, fast, weak = arriving(15.0), arriving(SPEED), arriving(18.0, brakes=0.5 * GRAVITY)
    needed = 18.0**2 / (0.5 * GRAVITY)
    assert needed > SPEED**2 / GRAVITY
    assert judged(0.99 * needed, slow, fast, weak) == [("stop", "stop-short")]


def test_the_sentence_has_the_units_that_are_shown():
    """20 m/s are 72 km/h and 45 mph; 30 m are 98 ft (NIST SP 811)."""
    geometry = lay_out(straight_course(site=Site(), stop=StopArea(length=30.0)))
    found = stop_findings(geometry, [arriving(SPEED)], words="predicted")
    assert "ends 30 m behind the finish; at 72 km/h (predicted) it takes 41 m" in found[0].message
    (us,) = in_system(found, "us")
    assert "ends 98 ft behind the finish; at 45 mph (predicted) it takes 135 ft" in us.message
