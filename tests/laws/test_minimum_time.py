"""What must hold for any fastest run: less is never faster, a straight is a straight, a mirror changes nothing."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from conewise.course.layout import PassSide
from conewise.course.reference import lay_out, permitted_choices
from conewise.solver.min_time import rerun, solve_run
from conewise.solver.sensitivity import cone_prices
from conewise.vehicle.drivetrain import launch_acceleration
from conewise.vehicle.motion import CarState, motion
from conewise.vehicle.parameters import N_GEARS
from tests.cars import DEMO_NAMES
from tests.solved import (
    crossing_course,
    model,
    settings_of,
    short_course,
    short_run,
    slalom_course,
    slalom_run,
    solved,
    straight_course,
    tight,
)

NOTHING = 2e-4  # the smoothing moves the time by this much between two solves [s]
STRAIGHT = 80.0  # [m]

LESS = {
    "friction": {"surface": 0.97},
    "lateral friction of the front tyres": {"friction_lateral_front": 0.97},
    "power": {"driveline_efficiency": 0.95},
    "brakes": {"brake_force_limit": 0.9},
    "hands": {"road_wheel_rate": 0.85},
    "feet": {"pedal_rate": 0.8},
    "lock": {"road_wheel_limit": 0.9},
    "slip": {"slip_limit": 0.8},
    "launch": {"launch_share": 0.95},
}


def changed(p, factors):
    return replace(p, **{name: getattr(p, name) * factor for name, factor in factors.items()})


@pytest.fixture(scope="module", params=[short_run, slalom_run], ids=["gates", "slalom"])
def pair(request):
    run = request.param()
    return run, tight(run)


@pytest.mark.parametrize("what", LESS)
def test_less_is_never_faster(pair, what):
    run, base = pair
    less = tight(run, p=changed(run.problem.p, LESS[what]))
    best = base.time
    if less.time < best:  # then the free run starts again from the one that beat it
        best = run.problem.warm(less, barrier=1e-4, tol=1e-8).time
    assert less.time >= best - NOTHING


def test_less_friction_and_less_power_cost_time(pair):
    run, base = pair
    for factors in ({"surface": 0.97}, {"driveline_efficiency": 0.95}):
        assert tight(run, p=changed(run.problem.p, factors)).time > base.time + 0.005


def test_less_room_is_never_faster(pair):
    run, base = pair
    times = [tight(run, margins=run.problem.margins + m).time for m in (-0.05, 0.05, 0.1, 0.2)]
    assert times[0] <= base.time + NOTHING
    assert base.time <= times[1] + NOTHING
    assert np.all(np.diff(times[1:]) >= -NOTHING)


def test_a_wider_car_is_never_faster(pair):
    run, base = pair
    assert tight(run, p=changed(run.problem.p, {"body_width": 1.03})).time >= base.time - NOTHING


def test_there_and_back_is_the_same(pair):
    run, base = pair
    p = changed(run.problem.p, {"surface": 0.98})
    away = tight(run, p=p)
    back = run.problem.warm(away, barrier=1e-4, tol=1e-8)
    assert back.time == pytest.approx(base.time, abs=1e-3)


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_a_straight_is_an_integration_of_the_longitudinal_model(name):
    # From rest to the beam at the launch's constant acceleration, then full throttle in the run's own gears. The
    # pedal's travel is the run's: a foot takes time to come down.
    run = solved(straight_course(STRAIGHT), name)
    p, mesh, v = run.problem.p, run.problem.mesh, run.point.variables
    gears = run.problem.gears

    def acceleration(station, speed):
        k = int(np.argmin(np.abs(mesh.station - station)))
        gear = [float(i + 1 == gears.gear[k]) for i in range(N_GEARS)] + [gears.drive[k]]
        command = float(np.interp(station, mesh.station, v["command"]))
        state = CarState(
            v_x=speed, v_y=0.0, yaw_rate=0.0, roll=0.0, roll_rate=0.0, road_wheel_angle=0.0, command=command
        )
        a = 0.0
        for _ in range(30):
            more = float(motion(state, a, 0.0, gear=gear, p=p).residual_x)
            a += more
            if abs(more) < 1e-6:
                break
        return a

    launch = float(launch_acceleration(p))
    begin = np.sqrt(2.0 * launch * (p.staging + mesh.extra))
    finish = mesh.station[mesh.finish]
    answer = solve_ivp(
        lambda s, y: [acceleration(s, y[0]) / y[0], 1.0 / y[0]],
        (mesh.station[0], finish),
        [begin, np.sqrt(2.0 * (p.staging + mesh.extra) / launch) - np.sqrt(2.0 * p.staging / launch)],
        max_step=1.0,
        rtol=1e-5,
    )
    speed, time = answer.y[:, -1]
    assert run.point.time == pytest.approx(time, rel=3e-3)
    assert v["v_x"][mesh.finish] == pytest.approx(speed, rel=5e-3)
    pulled = v["command"][(mesh.station > 15.0) & (mesh.station < finish - 1.0) & (gears.drive > 0.0)]
    assert np.median(pulled) > 0.99  # nothing but full throttle is fastest


def test_an_either_side_slalom_is_solved_both_ways_and_symmetric():
    course = slalom_course(3)
    options = permitted_choices(course)
    assert len(options) == 2
    times = [
        solve_run(
            lay_out(course, choices=o), model(DEMO_NAMES[2], course), settings=settings_of(DEMO_NAMES[2])
        ).point.time
        for o in options
    ]
    assert times[0] == pytest.approx(times[1], abs=1e-3)  # the course is its own mirror image


def test_a_course_that_crosses_itself_keeps_off_the_cones_of_its_other_pass():
    run = solved(crossing_course(), DEMO_NAMES[0])
    geometry = run.problem.geometry
    guards = [cone for cone in geometry.passes if cone.crossing < 0]
    assert guards  # the gate that the car crosses behind
    assert {c.id for c in guards} <= {"g1l", "g1r"}
    assert [check.name for check in run.checks if not check.ok] == []
    later = [cone for cone in guards if cone.station > 50.0]
    assert later  # seen from the second pass


def test_half_the_mesh_changes_time_and_prices_little():
    coarse = slalom_run()
    fine = solved(
        slalom_course(pass_side=PassSide.RIGHT), DEMO_NAMES[2], settings=settings_of(DEMO_NAMES[2], refine=0.5)
    )
    assert fine.point.time == pytest.approx(coarse.point.time, rel=1e-3)
    prices = [cone_prices(r.problem, tight(r)) for r in (coarse, fine)]
    dear = prices[1] > 0.05
    assert dear.sum() >= 3
    assert prices[0][dear] == pytest.approx(prices[1][dear], rel=0.05)


def test_a_rerun_agrees_with_a_cold_solve():
    run = short_run()
    p = changed(run.problem.p, {"surface": 0.95})
    warm = rerun(run, p)
    cold = solve_run(lay_out(short_course()), p, settings=run.settings)
    assert warm.point.time == pytest.approx(cold.point.time, rel=1e-3)
    assert [check.name for check in warm.checks if not check.ok] == []
