"""The fastest run on a recorded bend is that of the driver's own line, with rough limits too; no solve."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from conewise.logs.focus import Cause
from conewise.logs.laid import LaidRun
from conewise.logs.placement import Placement
from conewise.solver.speed_profile import FrictionCircle
from conewise.workflows.debrief_bend import SHARES, _bend, bend_doubt, run_on_bend, tells_bend
from tests.debriefs import driven_run
from tests.planted import best_on, drive, lot, places_for, sized

WIDER = 0.6  # of a line that weaves about the best one [m]
ROUGH = FrictionCircle(friction=0.9, specific_power=90.0)  # the driven car has 1.0 and 110 W/kg


@pytest.fixture(scope="module")
def place():
    return lot(1)


def wider(place):
    """The fastest run on another line than the best."""
    offset = place.offset + WIDER * np.sin(place.station / 9.0)
    return best_on(place.geometry, place.station, offset, "wider")


def inside(place, off):
    return off[(place.station > 20.0) & (place.station < place.station[-1] - 20.0)]


def test_a_driver_at_the_limit_of_his_own_line_has_nothing_left(place):
    driven = wider(place)
    found = run_on_bend(driven, place.best, limits=ROUGH, doubt=0.0)
    assert np.ptp(place.best.speed - driven.speed) > 1.0  # the line costs speed
    share = inside(place, found.speed / driven.speed)
    assert np.median(share) == pytest.approx(1.0, abs=0.01)
    assert np.quantile(np.abs(share - 1.0), 0.9) < 0.04  # each model has its braking points elsewhere


def test_the_place_of_the_car_is_not_used(place):
    driven = wider(place)
    shifted = replace(driven, x=driven.x + 3.0, y=driven.y - 2.0, lateral_offset=driven.lateral_offset + 2.0)
    here, there = (run_on_bend(one, place.best, limits=ROUGH, doubt=0.0) for one in (driven, shifted))
    assert np.array_equal(here.speed, there.speed)


def test_a_driver_who_is_slow_at_one_place_could_have_been_faster_there(place):
    where, _ = places_for(place, Cause.SLOW_ENTRY)[0]
    told = sized(place, Cause.SLOW_ENTRY, where, 0.4)
    driven = drive(place, told)
    found = run_on_bend(driven, place.best, limits=ROUGH, doubt=0.0)
    lost = np.sum(inside(place, 1.0 / driven.speed - 1.0 / found.speed)) * 0.5
    assert lost == pytest.approx(driven.run_time - place.best.run_time, abs=0.08)


def test_the_doubt_of_the_bend_is_that_of_its_speed(place):
    driven = wider(place)
    found = run_on_bend(driven, place.best, limits=ROUGH, doubt=0.008)
    assert found.speed_deviation == pytest.approx(np.hypot(SHARES, 0.008) * found.speed)


def test_where_the_car_stands_the_noise_of_its_heading_is_no_bend(place):
    """A car that stands for 2 s and sets off on a circle, with a heading that is noisy where it stands."""
    time = np.arange(0.0, 12.0, 0.02)
    speed = np.clip(2.0 * (time - 2.0), 0.0, 10.0)
    distance = np.concatenate([[0.0], np.cumsum((speed[1:] + speed[:-1]) / 2.0 * 0.02)])
    noise = np.where(speed < 0.5, 0.2 * np.random.default_rng(3).standard_normal(time.size), 0.0)
    trace = replace(place.best, time=time, speed=speed, heading=distance / 20.0 + noise)
    found, bend = _bend(trace)
    assert np.max(np.abs(bend)) < 0.1  # that of the circle is 0.05
    assert bend[(found > 6.0) & (found < found[-1] - 4.0)] == pytest.approx(1.0 / 20.0, abs=1e-3)
    still = replace(trace, heading=distance / 20.0)
    assert np.abs(bend - _bend(still)[1])[found > 6.0] == pytest.approx(0.0, abs=1e-3)


def laid(share):
    """A laid run whose yaw rate is known to a share of its greatest value."""
    geometry, track, run, trace = driven_run()
    rate = np.sin(np.arange(track.time.size) / 20.0)
    known = replace(track, yaw_rate=rate, yaw_rate_deviation=np.full_like(rate, share))
    return LaidRun(
        run=run, shift=Placement(), receiver_deviation=(0.1, 0.1), track=known, trace=trace, geometry=geometry
    )


def test_a_bend_is_told_where_the_yaw_rate_is_known():
    """The speed goes by the root of the bend: 2% of the rate are 1% of the speed."""
    assert bend_doubt(laid(0.02)) == pytest.approx(0.01, rel=0.15)  # rates from 0.7 to 1 count
    assert tells_bend(laid(0.02))
    assert not tells_bend(laid(0.2))
