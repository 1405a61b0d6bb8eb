"""Minimum-time problems with answers converged elsewhere to four digits; see CITATION.md."""

import numpy as np
import pytest

from conewise.solver.corridor_problem import CorridorPath, CorridorSegment
from conewise.solver.point_mass import PointMassProblem, solve_point_mass

GRIP = {"friction": 1.0, "gravity": 9.81}
CORNER = CorridorPath.of_width(((30.0, 0.0), (12.0 * np.pi / 2, 1 / 12.0), (30.0, 0.0)), 3.0)
HAIRPIN = CorridorPath.of_width(((30.0, 0.0), (9.0 * np.pi, 1 / 9.0), (30.0, 0.0)), 3.0)


def lane_change(last_right: float, last_left: float) -> CorridorPath:
    """ISO 3888-2 for a vehicle of 1.8 m: lanes less half the width on each side, gaps without limits."""
    return CorridorPath(
        segments=(
            CorridorSegment(length=12.0, n_min=0.90, n_max=1.33),
            CorridorSegment(length=13.5),
            CorridorSegment(length=11.0, n_min=4.13, n_max=5.13),
            CorridorSegment(length=12.5),
            CorridorSegment(length=12.0, n_min=last_right, n_max=last_left),
        )
    )


def test_a_right_angle_from_rest():
    run = solve_point_mass(PointMassProblem(corridor=CORNER, start_offset=0.0, **GRIP), step=0.1)
    assert run.time == pytest.approx(5.16793, abs=5e-5)  # four digits
    assert run.speed[-1] == pytest.approx(26.83, abs=0.01)  # as printed
    assert run.speed[0] == 0.0


@pytest.fixture(scope="module")
def hairpin_run():
    return solve_point_mass(PointMassProblem(corridor=HAIRPIN, start_speed=None, **GRIP), step=0.2)


def test_a_flying_hairpin(hairpin_run):
    run = hairpin_run
    assert run.time == pytest.approx(5.49288, abs=5e-5)  # four digits
    assert run.speed[0] == pytest.approx(26.309, rel=1e-3)  # flat in T: 3e-4 s for 1%
    assert run.speed.min() == pytest.approx(6.900, rel=5e-3)  # the same
    assert (run.x[0], run.y[0]) == pytest.approx((0.0, -3.0), abs=1e-3)
    assert (run.x[-1], run.y[-1]) == pytest.approx((0.0, 21.0), abs=1e-3)


def test_the_flying_hairpin_is_its_own_reversal(hairpin_run):
    assert hairpin_run.speed == pytest.approx(hairpin_run.speed[::-1], rel=1e-4)
    assert hairpin_run.ax == pytest.approx(-hairpin_run.ax[::-1], abs=2e-2)  # the solver's tolerance on controls


@pytest.mark.parametrize(
    ("last_lane", "radius", "speed"),
    [((0.90, 2.10), 50.6034, 22.2805), ((0.13, 1.33), 46.6020, 21.3814)],
    ids=["right edges in line", "left edges in line"],
)
def test_the_fastest_coasting_entry_to_a_severe_lane_change(last_lane, radius, speed):
    assert np.sqrt(9.81 * radius) == pytest.approx(speed, abs=5e-5)  # the closed form agrees with itself
    run = solve_point_mass(
        PointMassProblem(
            corridor=lane_change(*last_lane),
            start_speed=None,
            is_coasting=True,
            objective="entry-speed",
            **GRIP,
        ),
        step=0.08,
    )
    assert run.speed[0] == pytest.approx(speed, abs=5e-4)
    assert run.speed == pytest.approx(run.speed[0], rel=1e-9)  # nothing drives or brakes
    assert np.abs(run.path_curvature).max() == pytest.approx(1.0 / radius, rel=2e-4)
