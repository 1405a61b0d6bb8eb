"""The quasi-steady run on a given line: what it says, its laws, and what it leaves out."""

from dataclasses import replace

import numpy as np
import pytest

from conewise.course.layout import Patch, Slope, StopArea
from conewise.course.reference import lay_out
from conewise.solver.point_mass_course import point_mass_solution
from conewise.solver.quasi_steady import car_line, quasi_steady_solution
from conewise.solver.result import Fallback
from conewise.vehicle.steady_state import trim
from tests.courses import club_course
from tests.model_cars import rear_drive

CAR = rear_drive()


@pytest.fixture(scope="module")
def geometry():
    return lay_out(club_course(0))


@pytest.fixture(scope="module")
def solution(geometry):
    return quasi_steady_solution(geometry, CAR, car="invented")


def line_of(solution):
    return np.column_stack([solution.x, solution.y])


def test_it_says_what_it_is(solution):
    assert (solution.level, solution.car, solution.fallback) == ("quasi-steady", "invented", None)
    assert solution.is_checked
    assert [f.code for f in solution.findings] == ["stop-short"]  # 23 m/s take 54 m at half of 1 g, the box has 50 m


def test_a_stop_area_that_is_too_short_is_said(geometry, solution):
    course = geometry.course.model_copy(update={"stop": StopArea(kind="box", length=5.0)})
    run = quasi_steady_solution(replace(geometry, course=course), CAR, line=line_of(solution))
    assert [f.code for f in run.findings] == ["stop-short"]


def test_the_front_starts_and_stops_the_clock(solution, geometry):
    assert solution.station[0] == pytest.approx(-CAR.front_reach, abs=0.02)
    assert solution.station[-1] == pytest.approx(geometry.path.length - CAR.front_reach, abs=0.02)
    assert solution.elapsed[0] == 0.0
    assert solution.time == solution.elapsed[-1]


def test_the_features_share_out_the_time(solution):
    assert sum(f.time for f in solution.features) == pytest.approx(solution.time, abs=1e-3)


def test_the_car_is_slower_than_a_point_mass_with_its_best_grip(solution, geometry):
    free = point_mass_solution(geometry, friction=1.15, half_width=CAR.body_width / 2.0)
    assert solution.time > free.time


def test_accelerations_can_be_held(solution):
    fast = np.flatnonzero(solution.speed > 8.0)[::60]
    inside = 0.93  # the tables are coarse, the line's curvature is a mean
    trim(CAR, solution.speed[fast], along=inside * solution.ax[fast], across=inside * solution.ay[fast])


def test_the_wheels_carry_the_weight(solution):
    assert solution.wheel_loads.shape == (solution.station.size, 4)
    assert solution.wheel_loads.sum(axis=1) == pytest.approx(CAR.mass * CAR.gravity)


def test_the_body_clears_the_cones_of_its_own_line(solution):
    assert min(cone.clearance for cone in solution.cones) > -0.03
    assert len(solution.cones) == len({(c.id, c.feature) for c in solution.cones})


def test_its_own_line_gives_the_same_run(solution, geometry):
    again = quasi_steady_solution(geometry, CAR, line=line_of(solution))
    assert again.time == pytest.approx(solution.time, rel=5e-4)  # the curvature is taken anew
    assert again.distance == pytest.approx(solution.distance, rel=2e-4)


@pytest.mark.parametrize(
    "better", [{"surface": 1.05}, {"torque": tuple(1.1 * c for c in CAR.torque)}, {"staging": 1.0}]
)
def test_more_is_never_slower_on_the_same_line(solution, geometry, better):
    other = quasi_steady_solution(geometry, replace(CAR, **better), line=line_of(solution))
    assert other.time < quasi_steady_solution(geometry, CAR, line=line_of(solution)).time


def test_a_damp_patch_costs_time(solution, geometry):
    x, y = float(solution.x[300]), float(solution.y[300])
    patch = Patch(outline=((x - 8, y - 8), (x + 8, y - 8), (x + 8, y + 8), (x - 8, y + 8)), friction=0.6)
    course = geometry.course
    damp = lay_out(course.changed(site=course.site.changed(patches=(patch,))))
    assert quasi_steady_solution(damp, CAR, line=line_of(solution)).time > solution.time + 0.02


def test_a_slope_is_named_as_left_out(solution, geometry):
    course = geometry.course
    tilted = lay_out(course.changed(site=course.site.changed(slope=Slope(grade=0.02))))
    run = quasi_steady_solution(tilted, CAR, line=line_of(solution))
    assert run.findings[-1].code == "slope-left-out"
    assert "2.0%" in run.findings[-1].message


def test_a_fallback_carries_its_reason(solution, geometry):
    reason = Fallback(feature="hairpin-1", reason="the solver stopped")
    assert quasi_steady_solution(geometry, CAR, line=line_of(solution), fallback=reason).fallback == reason


def test_a_line_that_begins_late_is_lengthened(solution, geometry):
    short = line_of(solution)[10:]
    path = car_line(geometry, short, front_reach=CAR.front_reach)
    assert path.station[0] == pytest.approx(solution.station[0], abs=0.05)
    assert np.hypot(path.x[0] - solution.x[0], path.y[0] - solution.y[0]) < 0.3


def test_the_line_has_the_curvature_of_its_heading():
    turn = np.linspace(0.0, np.pi, 200)
    circle = np.column_stack([30.0 * np.sin(turn), 30.0 * (1.0 - np.cos(turn))])

    class Straight:
        length = 30.0 * np.pi

        def project_all(self, places, _window):
            station = 30.0 * np.arctan2(places[:, 0], 30.0 - places[:, 1])
            return np.where(places[:, 0] < 0.0, places[:, 0], station), np.zeros(len(places))

    class Geometry:
        path = Straight()

    path = car_line(Geometry(), circle, front_reach=1.0)
    assert path.curvature[20:-20] == pytest.approx(1.0 / 30.0, rel=1e-3)
    assert path.distance[-1] == pytest.approx(30.0 * np.pi, rel=1e-3)
