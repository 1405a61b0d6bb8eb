"""Corridors given directly and read off a course."""

import numpy as np
import pytest

from conewise.course.reference import lay_out
from conewise.errors import InfeasibleError, InputError
from conewise.solver.corridor_problem import (
    CorridorError,
    CorridorPath,
    CorridorSegment,
    NoRoomError,
    cone_bounds,
    course_corridor,
)
from tests.courses import club_course


def test_nodes_lie_at_the_breaks():
    mesh = CorridorPath.of_width(((10.0, 0.0), (np.pi * 5.0, 0.2), (7.0, 0.0)), 2.0).mesh(0.9)
    for place in (0.0, 10.0, 10.0 + np.pi * 5.0, 17.0 + np.pi * 5.0):
        assert np.abs(mesh.station - place).min() < 1e-9
    assert np.diff(mesh.station).max() <= 0.9
    assert set(mesh.curvature) == {0.0, 0.2}


def test_the_plan_is_exact_on_arcs():
    # a half circle of 5 m radius ends 10 m to the left, heading back
    mesh = CorridorPath.of_width(((10.0, 0.0), (np.pi * 5.0, 0.2), (7.0, 0.0)), 2.0).mesh(3.0)
    assert (mesh.x[-1], mesh.y[-1], mesh.heading[-1]) == pytest.approx((3.0, 10.0, np.pi))
    x, y = mesh.plan(np.full(mesh.station.size, 1.0))
    assert (x[0], y[0]) == pytest.approx((0.0, 1.0))
    assert (x[-1], y[-1]) == pytest.approx((3.0, 9.0))


def test_the_tighter_limit_holds_at_a_break():
    wide, narrow = CorridorSegment(length=2.0), CorridorSegment(length=2.0, n_min=-0.5, n_max=1.0)
    mesh = CorridorPath(segments=(wide, narrow)).mesh(1.0)
    assert list(mesh.n_max[1:4]) == [30.0, 1.0, 1.0]
    assert list(mesh.n_min[1:4]) == [-30.0, -0.5, -0.5]


@pytest.mark.parametrize(
    ("segments", "says", "where"),
    [
        ((), "no segment", "segment 1"),
        ((CorridorSegment(length=0.0),), "length of 0 m", "segment 1"),
        ((CorridorSegment(length=np.nan),), "not a number", "segment 1"),
        ((CorridorSegment(length=1.0), CorridorSegment(length=1.0, n_min=1.0, n_max=1.0)), "no room", "segment 2"),
        (
            (
                CorridorSegment(length=1.0, n_min=0.0, n_max=1.0),
                CorridorSegment(length=1.0, n_min=1.5, n_max=2.0),
            ),
            "no room",
            "segment 2",
        ),
        ((CorridorSegment(length=1.0, curvature=0.2, n_min=-4.0, n_max=4.0),), "arc of 5 m radius", "segment 1"),
    ],
)
def test_refuses_corridors_that_are_none(segments, says, where):
    with pytest.raises(CorridorError, match=says) as caught:
        CorridorPath(segments=segments).mesh(0.5)
    assert caught.value.where == where
    assert isinstance(caught.value, InputError)


@pytest.fixture(scope="module")
def geometry():
    return lay_out(club_course(3))


def test_a_course_starts_and_ends_at_its_lines(geometry):
    mesh = course_corridor(geometry, clearance=0.9)
    assert mesh.station[0] == 0.0
    assert mesh.station[-1] == geometry.path.length
    assert np.diff(mesh.station).max() <= 1.0 + 1e-9
    assert np.diff(mesh.station).min() > 0.1
    nearest = [np.abs(mesh.station - cone.station).min() for cone in geometry.passes]
    assert max(nearest) < 0.25


def test_every_cone_holds_the_centre_off(geometry):
    mesh = course_corridor(geometry, clearance=1.0)
    for cone in geometry.passes:
        i = int(np.argmin(np.abs(mesh.station - cone.station)))
        x, y = mesh.plan(mesh.n_max if cone.side > 0 else mesh.n_min)
        assert np.hypot(x[i] - cone.x, y[i] - cone.y) >= 1.0 + cone.radius - 0.01


def test_bounds_lie_on_the_side_of_the_car(geometry):
    for _, k, side, bound in cone_bounds(geometry, np.arange(0.0, geometry.path.length, 0.2), 0.9):
        assert side == geometry.passes[k].side
        assert side * (geometry.passes[k].offset - bound) > 0.0


def test_a_car_as_wide_as_a_gate_does_not_fit(geometry):
    with pytest.raises(NoRoomError, match="does not fit") as caught:
        course_corridor(geometry, clearance=3.6)
    assert caught.value.where in {span.id for span in geometry.spans}
    assert isinstance(caught.value, InfeasibleError)
