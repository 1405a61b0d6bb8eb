"""The room beside the path: search, fold, edge, obstacle; friction under the path."""

from __future__ import annotations

import numpy as np
import pytest

from conewise.course.corridor import EDGE_MARGIN, HALF_WIDTH, bounds, friction_along
from conewise.course.geometry import BoundKind
from conewise.course.layout import Obstacle, Patch, Site
from conewise.course.path import curve_through
from conewise.course.reference import lay_out
from tests.courses import club_course

GROWN = HALF_WIDTH + EDGE_MARGIN


def straight_path(length=60.0):
    return curve_through(
        np.column_stack([np.arange(length + 1.0), np.zeros(int(length) + 1)]), start=0, finish=int(length)
    )


def circle_path(radius, turn=1.0):
    angle = np.arange(0.0, 1.5 * np.pi, 1.0 / radius)
    points = radius * np.column_stack([np.sin(angle), turn * (1.0 - np.cos(angle))])
    return curve_through(points, start=0, finish=len(points) - 1)


def lot(west, south, east, north):
    return ((west, south), (east, south), (east, north), (west, north))


def test_with_nothing_about_the_search_ends_it():
    n_min, n_max, low, high = bounds(straight_path(), Site())
    assert np.all(n_min == -10.0)
    assert np.all(n_max == 10.0)
    assert set(low) | set(high) == {BoundKind.SEARCH}


@pytest.mark.parametrize("turn", [1.0, -1.0])
def test_the_fold_limit_is_one_sided(turn):
    """Curvature 1/8 times the offset towards the centre of curvature stays at or below 0.7: 5.6 m."""
    n_min, n_max, low, high = bounds(circle_path(8.0, turn), Site())
    middle = len(n_min) // 2
    inner, outer = (n_max, n_min) if turn > 0 else (-n_min, -n_max)
    kinds = high if turn > 0 else low
    assert inner[middle] == pytest.approx(5.6, abs=0.02)  # cubic through points a metre apart
    assert kinds[middle] == BoundKind.FOLD
    assert abs(outer[middle]) == 10.0


def test_no_line_folds_on_any_course():
    for seed in range(12):
        laid = lay_out(club_course(seed))
        for bound in (laid.n_min, laid.n_max):
            assert np.max(laid.path.curvature * bound) <= 0.7 + 1e-9, f"seed {seed}"
        assert np.all(laid.n_max > laid.n_min), f"seed {seed}"


def test_the_edge_of_the_site_ends_the_room():
    n_min, n_max, low, high = bounds(straight_path(), Site(outline=lot(-50, -7, 110, 30)))
    assert n_min == pytest.approx(-(7.0 - GROWN), abs=1e-6)
    assert set(low) == {BoundKind.EDGE}
    assert np.all(n_max == 10.0)
    assert set(high) == {BoundKind.SEARCH}


def test_an_obstacle_ends_the_room_beside_it_only():
    pole = Obstacle(id="pole", kind="pole", centre=(30.0, 4.0), radius=0.5)
    path = straight_path()
    n_min, n_max, _, high = bounds(path, Site(obstacles=(pole,)))
    at = int(np.argmin(np.abs(path.station - 30.0)))
    assert n_max[at] == pytest.approx(4.0 - 0.5 - GROWN, abs=0.01)  # the circle is a polygon
    assert high[at] == BoundKind.OBSTACLE
    far = np.abs(path.station - 30.0) > 0.5 + GROWN
    assert np.all(n_max[far] == 10.0)
    assert np.all(n_min == -10.0)


def test_where_the_path_itself_is_blocked_the_room_lies_on_the_nearer_free_side():
    pole = Obstacle(id="pole", kind="pole", centre=(30.0, 0.6), radius=0.5)
    path = straight_path()
    n_min, n_max, _, high = bounds(path, Site(obstacles=(pole,)))
    at = int(np.argmin(np.abs(path.station - 30.0)))
    assert n_max[at] == pytest.approx(0.6 - 0.5 - GROWN, abs=0.01)
    assert high[at] == BoundKind.OBSTACLE
    assert n_min[at] == -10.0
    assert np.all(n_min < n_max)


def test_a_path_outside_the_site_is_sent_back_onto_it():
    n_min, n_max, low, _ = bounds(straight_path(), Site(outline=lot(-50, 1, 110, 30)))
    assert n_min == pytest.approx(1.0 + GROWN, abs=1e-6)
    assert np.all(n_max == 10.0)
    assert set(low) == {BoundKind.EDGE}


def test_patches_multiply_the_friction_of_the_site():
    damp = Patch(outline=((10, -1), (20, -1), (20, 1), (10, 1)), friction=0.5)
    paint = Patch(outline=((15, -1), (25, -1), (25, 1), (15, 1)), friction=0.8)
    path = straight_path()
    friction = friction_along(path, Site(friction=0.9, patches=(damp, paint)))
    at = [float(friction[np.argmin(np.abs(path.station - s))]) for s in (5.0, 12.0, 17.0, 22.0)]
    assert at == pytest.approx([0.9, 0.45, 0.36, 0.72])
