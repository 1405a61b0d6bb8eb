"""Measures of runs whose answers are known by construction."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from conewise.course.layout import PassSide
from conewise.course.reference import lay_out
from conewise.logs.log import Channel, Log
from conewise.logs.measures import Pedals, measures, recorded_pedals, slalom_rhythm
from conewise.logs.run_finder import find_runs
from conewise.runs import Body, Trace
from conewise.solver.quasi_steady import quasi_steady_solution
from conewise.workflows.traces import predicted_trace
from tests.cars import DEMO_NAMES
from tests.driven import FRONT, Drive, day_of
from tests.solved import model, short_course, slalom_course, straight_course

GAP = 18.0
BODY = Body(length=4.0, width=1.8, front_reach=1.9)


def trace_along(geometry, *, offset, speed, front_reach=0.0, name="made"):
    """A run along a straight course with offset and speed given by station."""
    path = geometry.path
    station = np.linspace(0.0, path.length, int(path.length / 0.1) + 1) - front_reach
    points, n, v = path.at(station), offset(station), speed(station)
    x, y = points.x - n * np.sin(points.heading), points.y + n * np.cos(points.heading)
    step = np.hypot(np.diff(x), np.diff(y))
    time = np.concatenate([[0.0], np.cumsum(step / (0.5 * (v[1:] + v[:-1])))])
    heading = np.unwrap(np.arctan2(np.gradient(y), np.gradient(x)))
    zero = np.zeros_like(station)
    return Trace(
        name=name,
        station=station,
        time=time,
        lateral_offset=n,
        x=x,
        y=y,
        speed=v,
        heading=heading,
        longitudinal_acceleration=np.gradient(v, time),
        lateral_acceleration=v * np.gradient(heading, time),
        station_deviation=zero,
        lateral_offset_deviation=zero + 0.1,
        speed_deviation=zero + 0.2,
        front_reach=front_reach,
    )


def straight_geometry():
    return lay_out(straight_course(200.0))


def vee(station):
    """20 m/s, from 60 m on slowing by 5 m/s2 down to 10 m/s at 90 m, from 110 m on gaining 3 m/s2."""
    slowed = np.sqrt(np.maximum(400.0 - 10.0 * np.clip(station - 60.0, 0.0, 30.0), 0.0))
    return np.sqrt(slowed**2 + 6.0 * np.clip(station - 110.0, 0.0, 45.0))


def test_braking_and_throttle_points_are_where_they_were_put():
    trace = trace_along(straight_geometry(), offset=np.zeros_like, speed=lambda s: vee(s) - 1e-3 * np.clip(s, 90, 100))
    seen = measures(trace, straight_geometry(), BODY, friction=1.0)
    (slow,) = seen.slow_points
    assert slow.braking == pytest.approx(60.0, abs=0.2)  # stations of 0.1 m, gradients over two of them
    assert slow.braked_until == pytest.approx(90.0, abs=0.2)
    assert slow.throttle == pytest.approx(110.0, abs=0.2)
    assert slow.speed == pytest.approx(10.0, abs=0.2)


def test_coasting_is_the_time_on_neither_pedal():
    trace = trace_along(straight_geometry(), offset=np.zeros_like, speed=vee)
    seen = measures(trace, straight_geometry(), BODY, friction=1.0)
    # constant speed until 60 m and from 90 m to 110 m, and behind 155 m: 3 s, 2 s, and the rest
    last = float(vee(np.array([200.0]))[0])
    assert seen.coasting == pytest.approx(60.0 / 20.0 + 20.0 / 10.0 + 45.0 / last, abs=0.05)
    assert sum(f.braking for f in seen.features) == pytest.approx(10.0 / 5.0, abs=0.05)


def test_cornering_at_the_limit_is_not_coasting():
    trace = trace_along(straight_geometry(), offset=np.zeros_like, speed=lambda s: np.full_like(s, 15.0))
    turning = replace(trace, lateral_acceleration=np.full_like(trace.station, 9.0))
    assert measures(turning, straight_geometry(), BODY, friction=1.0).coasting == 0.0
    assert measures(trace, straight_geometry(), BODY, friction=1.0).coasting == pytest.approx(trace.run_time)


def test_recorded_pedals_decide_where_there_are_some():
    trace = trace_along(straight_geometry(), offset=np.zeros_like, speed=vee)
    pedals = Pedals(throttle=np.ones_like(trace.station), brake=np.zeros_like(trace.station))
    seen = measures(trace, straight_geometry(), BODY, friction=1.0, pedals=pedals)
    assert seen.coasting == 0.0
    assert not seen.is_braking.any()


def test_pedals_are_read_at_the_time_of_the_run(rng):
    geometry = lay_out(short_course())
    track = day_of(geometry, [Drive()]).track(rng)
    (run,) = find_runs(track, geometry, front_reach=FRONT)
    trace = trace_along(straight_geometry(), offset=np.zeros_like, speed=vee)
    ramp = Channel(kind="throttle", time=track.time, value=track.time / 100.0, source="throttle")
    log = Log(file="made", channels={"throttle": ramp})
    assert recorded_pedals(log, run, trace) is None
    both = Log(file="made", channels={"throttle": ramp, "brake": replace(ramp, kind="brake", value=0.0 * ramp.value)})
    pedals = recorded_pedals(both, run, trace)
    assert pedals.throttle == pytest.approx((run.start.time + trace.time) / 100.0)
    assert not pedals.brake.any()


@pytest.mark.parametrize("early", [0.0, 2.0, -1.5])
def test_slalom_lead_and_amplitude_are_those_of_a_sine(early):
    """y = A cos(pi x / gap) at constant speed: the turn is hardest at the cones, v^2 A (pi / gap)^2."""
    geometry = lay_out(slalom_course(5, GAP, pass_side=PassSide.RIGHT))
    first = next(p.station for p in geometry.passes if p.feature == "slalom")
    away, speed = 1.2, 14.0
    side = next(p.side for p in geometry.passes if p.feature == "slalom")
    on_line = lay_out(straight_course(200.0))

    def offset(station):
        return -side * away * np.cos(np.pi * (station - first + early) / GAP)

    straight = trace_along(on_line, offset=offset, speed=lambda s: np.full_like(s, speed))
    beats = slalom_rhythm(straight, geometry)
    stations = np.array([p.station for p in geometry.passes if p.feature == "slalom"])
    assert np.diff(stations) == pytest.approx(GAP, abs=1.0)  # the path winds, so its cones are a little farther apart
    assert [beat.cone for beat in beats] == [f"c{k}" for k in range(5)]
    assert beats[0].lead == pytest.approx(early, abs=0.2)
    for beat in beats:
        assert beat.amplitude == pytest.approx(speed**2 * away * (np.pi / GAP) ** 2, rel=0.03)  # slope up to 0.2
        assert beat.lead_time == pytest.approx(beat.lead / speed, abs=0.05)


def test_cone_distances_agree_with_those_of_the_solver():
    course = short_course()
    geometry, p = lay_out(course), model(DEMO_NAMES[0], course)
    solution = quasi_steady_solution(geometry, p)
    body = Body(length=float(p.body_length), width=float(p.body_width), front_reach=float(p.front_reach))
    mine = measures(predicted_trace(solution, geometry), geometry, body).cones
    between = [c for c in zip(mine, solution.cones, strict=True) if 5.0 < c[0].station < geometry.path.length - 5.0]
    assert len(between) > 10
    for cone, solved in between:
        assert cone.distance == pytest.approx(solved.clearance, abs=0.02)  # 0.5 m grid against 0.25 m
        assert cone.deviation == pytest.approx(0.1)  # of the sideslip alone


def test_friction_use_names_what_it_is_measured_by():
    trace = trace_along(straight_geometry(), offset=np.zeros_like, speed=vee)
    own, given = measures(trace, straight_geometry(), BODY), measures(trace, straight_geometry(), BODY, friction=1.0)
    assert own.is_own_grip
    assert own.grip == pytest.approx(5.0, rel=0.01)
    assert not given.is_own_grip
    assert given.friction_use == pytest.approx(np.abs(trace.longitudinal_acceleration) / 9.80665)


def test_the_reach_of_the_picture_is_that_of_the_accelerations():
    trace = trace_along(straight_geometry(), offset=np.zeros_like, speed=vee)
    turn = np.linspace(0.0, 2.0 * np.pi, trace.station.size)
    round_trip = replace(trace, longitudinal_acceleration=6.0 * np.cos(turn), lateral_acceleration=6.0 * np.sin(turn))
    picture = measures(round_trip, straight_geometry(), BODY).accelerations
    assert picture.reach == pytest.approx(np.full(picture.reach.size, 6.0))
