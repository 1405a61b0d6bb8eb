"""Friction from what recordings show: slides, a circle, and the least that a run demonstrates."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from conewise.logs.breakdown import FrictionFound
from conewise.logs.friction import NoLimitShownError, TyreSlip, at_limit, demonstrated, from_slides, raised, sliding
from conewise.logs.log import Channel, Log
from tests.debriefs import TYPICAL, driven_run

SLIP = TyreSlip(cg_to_rear=1.3, cg_to_front=1.2, peak=np.radians(8.0), front_peak=np.radians(8.0), steering_ratio=15.0)


def scaled(trace, share):
    """The same line with every acceleration times a share."""
    return replace(
        trace,
        time=trace.time / np.sqrt(share),
        longitudinal_acceleration=trace.longitudinal_acceleration * share,
        lateral_acceleration=trace.lateral_acceleration * share,
    )


def circle(speed, radius, seconds=20.0):
    """The track of the drive, on a circle."""
    track = driven_run()[1]
    time = np.arange(0.0, seconds, 0.02)
    still = np.zeros_like(time)
    return replace(
        track,
        has_rate=True,
        time=time,
        x=radius * np.cos(speed / radius * time),
        y=radius * np.sin(speed / radius * time),
        speed=still + speed,
        heading=speed / radius * time,
        yaw_rate=still + speed / radius,
        longitudinal_acceleration=still,
        lateral_acceleration=still + speed**2 / radius,
        heading_deviation=still + 0.01,
        speed_deviation=still + 0.05,
    )


def log_of(**channels):
    return Log(file="day", channels={kind: Channel(kind, t, v, kind) for kind, (t, v) in channels.items()})


def test_a_run_demonstrates_the_share_of_the_limit_that_it_used():
    trace = driven_run()[3]
    assert demonstrated(scaled(trace, 0.8), trace) == pytest.approx(0.98 * 0.8, rel=0.02)  # means over 0.5 s differ


def test_a_circle_at_the_limit_tells_the_friction():
    """Centripetal acceleration v2/R, any textbook of mechanics."""
    found = at_limit(circle(10.0, 12.5), file="circle", lateral=lambda v: 0 * v + 10.0, brake=lambda v: 0 * v + 9.0)
    assert found.origin == "skidpad"
    assert found.value == pytest.approx(0.8, rel=1e-3)  # ends of the moving mean
    assert found.low < found.value < found.high


def test_a_stroll_is_no_limit():
    with pytest.raises(NoLimitShownError, match=r"0\.4 m/s2"):
        at_limit(circle(5.5, 75.0), file="stroll", lateral=lambda v: 0 * v + 10.0, brake=lambda v: 0 * v + 9.0)


def test_a_steady_circle_slides_nowhere():
    track = circle(8.0, 20.0)
    assert not sliding(track, log_of(yaw_rate=(track.time, track.yaw_rate)), SLIP).any()


def test_a_body_that_turns_faster_than_its_course_slides():
    track = circle(10.0, 20.0)
    swing = np.where(np.abs(track.time - 10.0) < 0.5, np.pi * 0.35 * np.cos(np.pi * (track.time - 10.0)), 0.0)
    spun = replace(track, yaw_rate=track.yaw_rate + swing)  # 0.7 rad of sideslip, built up in a second
    mask = sliding(spun, log_of(yaw_rate=(track.time, spun.yaw_rate)), SLIP)
    assert mask.any()
    assert np.abs(track.time[mask] - 10.0).max() < 3.0
    guessed = replace(spun, has_rate=False)
    assert not sliding(guessed, log_of(yaw_rate=(track.time, spun.yaw_rate)), SLIP).any()  # nobody can tell


def steered(more, *, zero=0.0, gentle=True, share=1.0):
    """A straight, a gentle bend, then a circle at 8 m/s2, its front wheels by `more` further in for a second. [rad]

    The handwheel is told by a `share` of what it is.
    """
    track = circle(10.0, 12.5)
    turn = np.select([track.time < 4.0, track.time < 7.0], [0.0, 0.3 if gentle else 0.0], track.yaw_rate)
    track = replace(track, yaw_rate=turn, heading=np.concatenate([[0.0], np.cumsum(turn[1:] * np.diff(track.time))]))
    wheels = 2.5 * turn / 10.0 + np.where(np.abs(track.time - 12.0) < 0.5, more, 0.0)
    angle = share * SLIP.steering_ratio * (wheels + zero)
    return track, log_of(yaw_rate=(track.time, turn), handwheel_angle=(track.time, angle))


@pytest.mark.parametrize("zero", [0.0, 0.1])
def test_front_wheels_that_are_turned_far_beyond_the_course_slide(zero):
    """Slip angle of a front axle by kinematics: steer less sideslip less yaw rate times its distance over the speed."""
    track, told = steered(np.radians(16.0), zero=zero)
    mask = sliding(track, told, SLIP)
    assert mask.any()
    assert np.abs(track.time[mask] - 12.0).max() < 0.6


@pytest.mark.parametrize("more", [0.0, np.radians(4.0)])  # 6 degrees of slip on the circle itself
def test_front_wheels_up_to_the_peak_do_not_slide(more):
    assert not sliding(*steered(more), SLIP).any()


@pytest.mark.parametrize("more", [0.0, np.radians(16.0)])
@pytest.mark.parametrize("wrong", [{"share": -1.0}, {"share": 1.0 / 15.0}, {"share": 2.0}, {"gentle": False}])
def test_a_handwheel_that_does_not_go_with_gentle_bends_tells_nothing(more, wrong):
    """A car without slip steers wheelbase times yaw rate over speed; the other sign or the wheels' own angle do not."""
    assert not sliding(*steered(more, **wrong), SLIP).any()


def test_without_a_handwheel_nobody_tells_that_the_front_slides():
    track, told = steered(np.radians(16.0))
    without = replace(told, channels={k: c for k, c in told.channels.items() if k != "handwheel_angle"})
    assert not sliding(track, without, SLIP).any()


def test_locked_wheels_slide():
    track = circle(10.0, 20.0)
    wheel = np.where(np.abs(track.time - 5.0) < 0.4, 2.0, 10.0)
    mask = sliding(track, log_of(wheel_speed=(track.time, wheel)), SLIP)
    assert track.time[mask] == pytest.approx(track.time[np.abs(track.time - 5.0) < 0.4])


def test_slides_tell_the_friction_of_their_places():
    _, track, run, trace = driven_run()
    everywhere = np.ones(track.time.size, dtype=bool)
    found = from_slides([(track, run.start.time, trace, everywhere)], scaled(trace, 1.25))
    assert found is not None
    assert found.origin == "saturated"
    assert found.value <= 0.8  # of the limit where it is greatest, less elsewhere
    assert not found.is_lower_bound
    assert from_slides([(track, run.start.time, trace, ~everywhere)], trace) is None


def slid(shares, lengths):
    """Slides of so many samples each, that show these shares of a limit of 10 m/s2 everywhere."""
    mask = np.concatenate([np.r_[np.zeros(5), np.ones(n)] for n in lengths]).astype(bool)
    felt = 10.0 * np.concatenate(
        [np.r_[np.zeros(5), np.full(n, share)] for share, n in zip(shares, lengths, strict=True)]
    )
    time = 0.02 * np.arange(1, mask.size + 1)
    still = np.zeros_like(time)
    track = SimpleNamespace(time=time, longitudinal_acceleration=still, lateral_acceleration=felt)
    trace = SimpleNamespace(time=np.array([0.0, 1e3]), station=np.array([0.0, 1e3]), run_time=1e3)
    station = np.linspace(0.0, 100.0, 201)
    limit = SimpleNamespace(
        station=station, longitudinal_acceleration=0.0 * station, lateral_acceleration=10.0 + 0.0 * station
    )
    return from_slides([(track, 0.0, trace, mask)], limit)


@pytest.mark.parametrize("n", [1, 2, 3, 5, 8])
@pytest.mark.parametrize("scatter", [0.05, 0.08, 0.1])
def test_the_limits_of_slides_hold_however_few_there_are(n, scatter, rng):
    """Slides of 0.3 to 1 s about a friction of 0.9; by the normal law and a tenth in all 46% held of one slide."""
    held = []
    for _ in range(600):
        found = slid(0.9 * (1.0 + scatter * rng.standard_normal(n)), rng.integers(16, 50, n))
        held.append(found.low <= 0.9 <= found.high)
    assert np.mean(held) > 0.86
    assert n > 1 or found.high - found.value == pytest.approx(2.132 * 0.08 * found.value, rel=1e-3)  # table: t, 4, 95%


def test_friction_is_never_below_what_was_shown():
    assert raised(TYPICAL, 0.9) == replace(TYPICAL, low=0.9)
    higher = raised(TYPICAL, 1.1)
    assert (higher.value, higher.low, higher.high) == (1.1, 1.1, np.inf)
    known = FrictionFound(value=1.0, low=0.95, high=1.05, origin="skidpad")
    assert raised(known, 0.9) == known
    shown = raised(known, 1.06)
    assert (shown.value, shown.low, shown.high) == pytest.approx((1.06, 1.06, 1.11))  # no surer of more than of it
