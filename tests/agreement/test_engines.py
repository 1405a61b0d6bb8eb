"""Two roads, one answer: point mass, quasi-steady and transient runs where they must agree."""

import numpy as np
import pytest

from conewise.course.layout import Cone, ConePass, Course, CourseFeature, FeatureKind, PassSide
from conewise.course.reference import lay_out
from conewise.solver.checks import fine_line
from conewise.solver.corridor_problem import CorridorPath, CorridorSegment
from conewise.solver.min_time import Settings, solve_run
from conewise.solver.point_mass import PointMassProblem, solve_point_mass
from conewise.solver.point_mass_course import point_mass_solution
from conewise.solver.quasi_steady import quasi_steady_solution
from conewise.solver.speed_profile import FrictionCircle, speed_profile
from conewise.vehicle.motion import tyres
from conewise.vehicle.steady_state import SLIP_BOUND
from conewise.vehicle.tyre_force import load_factor
from tests.courses import club_course
from tests.model_cars import rear_drive
from tests.solved import short_run, slalom_run

OPEN = {f"differential_{name}_rear": 0.0 for name in ("preload", "drive", "coast")}
LEAD, OUT = 25.0, 15.0  # straights before and after a circle [m]


@pytest.mark.parametrize("specific_power", [np.inf, 80.0])
def test_the_point_mass_on_a_rail_is_the_speed_profile(specific_power):
    # a corridor of 0.2 mm leaves hardly a line to choose
    pieces = ((20.0, 0.0), (15.0, 0.07), (12.0, 0.0), (20.0, -0.05), (18.0, 0.0))
    rail = CorridorPath(
        segments=tuple(CorridorSegment(length=s, curvature=k, n_min=-1e-4, n_max=1e-4) for s, k in pieces)
    )
    mass, power = (None, None) if np.isinf(specific_power) else (1000.0, 1000.0 * specific_power)
    run = solve_point_mass(PointMassProblem(corridor=rail, friction=1.0, mass=mass, power=power), step=0.1)
    station = np.linspace(0.0, run.station[-1], 2001)
    ends = np.cumsum([s for s, _ in pieces])
    curvature = np.array([k for _, k in pieces])[np.searchsorted(ends, station).clip(max=len(pieces) - 1)]
    circle = FrictionCircle(friction=1.0, specific_power=specific_power)
    profile = speed_profile(station, curvature, circle, start_speed=0.0)
    assert run.time == pytest.approx(profile.time, rel=3e-3)  # even 0.1 mm rounds off a jump of curvature
    assert run.time < profile.time


def test_the_point_mass_is_never_slower_than_on_the_line_of_another():
    geometry = lay_out(club_course(2))
    best = point_mass_solution(geometry, friction=1.0)
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(best.x), np.diff(best.y)))])
    bend = best.ay / best.speed**2
    own = speed_profile(arc, bend, FrictionCircle(friction=1.0), start_speed=float(best.speed[0]))
    assert own.time == pytest.approx(best.time, rel=5e-3)  # same line, two integrators
    path = geometry.path.at(np.linspace(0.0, geometry.path.length, 2000))
    middle = speed_profile(
        np.linspace(0.0, geometry.path.length, 2000),
        path.curvature,
        FrictionCircle(friction=1.0),
        start_speed=float(best.speed[0]),
    )
    assert best.time < middle.time


def circle_course(radius: float, *, turn: float = 1.5 * np.pi, width: float = 2.6) -> Course:
    """A straight, three quarters of a circle between gates that leave no choice of line, a straight."""
    cones: list[Cone] = []

    def gate(name, place, heading):
        for end, sign in (("l", 1.0), ("r", -1.0)):
            x = place[0] - sign * width / 2.0 * np.sin(heading)
            y = place[1] + sign * width / 2.0 * np.cos(heading)
            cones.append(Cone(id=f"{name}{end}", x=x, y=y))
        return (
            ConePass(cone=f"{name}l", pass_side=PassSide.RIGHT),
            ConePass(cone=f"{name}r", pass_side=PassSide.LEFT),
        )

    def on_circle(angle):
        return LEAD + radius * np.sin(angle), radius * (1.0 - np.cos(angle))

    angles = np.linspace(0.0, turn, int(np.ceil(turn * radius / 6.0)) + 1)[1:]
    end = on_circle(turn)
    features = (
        ("start", FeatureKind.START, (gate("s", (0.0, 0.0), 0.0),)),
        ("lead", FeatureKind.GATE, (gate("g", (LEAD / 2.0, 0.0), 0.0),)),
        ("circle", FeatureKind.SWEEPER, tuple(gate(f"c{i}-", on_circle(a), a) for i, a in enumerate(angles))),
        (
            "finish",
            FeatureKind.FINISH,
            (gate("f", (end[0] + OUT * np.cos(turn), end[1] + OUT * np.sin(turn)), turn),),
        ),
    )
    return Course(
        name="circle",
        cones=tuple(cones),
        features=tuple(CourseFeature(id=i, kind=kind, crossings=crossings) for i, kind, crossings in features),
    )


@pytest.mark.slow
@pytest.mark.parametrize(("radius", "front"), [(25.0, 0.0), (40.0, 1.0)], ids=["rear drive", "front drive"])
def test_quasi_steady_and_transient_agree_on_a_circle(radius, front):
    # A steady turn is all that the quasi-steady engine knows; what is left is the way into and out of it. Both keep to
    # the same slip angles. The differential is open: with a locking one the car turns better off the throttle than on
    # it, and the transient optimum, which pulses the throttle, goes round 2.5% faster than any steady turn.
    car = rear_drive(front_drive_share=front, slip_limit=SLIP_BOUND, **OPEN)
    geometry = lay_out(circle_course(radius))
    run = solve_run(geometry, car, settings=Settings(hold=2))
    mesh, v = run.problem.mesh, run.point.variables
    x = mesh.x - v["lateral_offset"] * np.sin(mesh.heading)
    y = mesh.y + v["lateral_offset"] * np.cos(mesh.heading)
    steady = quasi_steady_solution(geometry, car, line=np.column_stack([x, y]))
    assert steady.time == pytest.approx(run.point.time, rel=0.02)
    inside = (mesh.station > LEAD + 15.0) & (mesh.station < LEAD + 1.3 * np.pi * radius)
    speed = np.hypot(v["v_x"], v["v_y"])[inside]
    assert np.mean(np.interp(mesh.station[inside], steady.station, steady.speed)) == pytest.approx(
        np.mean(speed), rel=0.02
    )


def most_friction(p, speed):
    """More than all four tyres together can pull in any direction, over the weight. [-]

    Force over load falls with load, so that four alike tyres pull most with the load spread evenly (Jensen).
    """
    weight = p.mass * p.gravity
    load = (weight + 0.5 * p.air_density * speed**2 * max(0.0, p.lift_area_front + p.lift_area_rear)) / 4.0
    best = max(max(t.friction_lateral, t.friction_longitudinal) * load_factor(load, t) * t.grip for t in tyres(p))
    return 4.0 * load * best / weight


@pytest.mark.parametrize("solve", [short_run, slalom_run], ids=["gates", "slalom"])
def test_no_run_beats_the_friction_circle_of_its_untrimmed_tyres_on_its_own_line(solve):
    run = solve()
    line, v = fine_line(run.problem, run.point), run.point.variables
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(line.x), np.diff(line.y)))])
    heading = np.unwrap(np.arctan2(np.gradient(line.y, arc), np.gradient(line.x, arc)))
    circle = FrictionCircle(friction=most_friction(run.problem.p, float(v["v_x"].max())), drag=0.0)
    profile = speed_profile(arc, np.gradient(heading, arc), circle, start_speed=float(np.hypot(v["v_x"], v["v_y"])[0]))
    assert profile.time <= run.point.time
    assert profile.time > 0.6 * run.point.time  # the bound says something: the car is not far from its tyres
