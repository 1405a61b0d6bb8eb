"""Laws of the geometry: it does not depend on where east is, which way is left, or how many points are taken."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from conewise.course.layout import Course, PassSide
from conewise.course.reference import lay_out, relaid
from tests.courses import club_course

COURSES = {seed: club_course(seed) for seed in range(8)}
FLIPPED = {PassSide.LEFT: PassSide.RIGHT, PassSide.RIGHT: PassSide.LEFT, PassSide.EITHER: PassSide.EITHER}


def moved(course: Course, *, turn=0.0, east=0.0, north=0.0) -> Course:
    cos, sin = np.cos(turn), np.sin(turn)
    cones = tuple(c.changed(x=cos * c.x - sin * c.y + east, y=sin * c.x + cos * c.y + north) for c in course.cones)
    return course.changed(cones=[c.model_dump() for c in cones], site={})


def mirrored(course: Course) -> Course:
    cones = [c.changed(y=-c.y).model_dump() for c in course.cones]
    features = [
        f.changed(
            crossings=[[{"cone": p.cone, "pass_side": FLIPPED[p.pass_side]} for p in row] for row in f.crossings]
        ).model_dump()
        for f in course.features
    ]
    return course.changed(cones=cones, features=features, site={})


@given(turn=st.floats(-np.pi, np.pi), east=st.floats(-500, 500), north=st.floats(-500, 500))
def test_turning_and_shifting_the_plan_changes_nothing(turn, east, north):
    course = COURSES[2].changed(site={})
    here, there = lay_out(course), lay_out(moved(course, turn=turn, east=east, north=north))
    assert there.path.length == pytest.approx(here.path.length, abs=2e-3)  # the strip comes to rest within 2 cm
    assert there.path.curvature == pytest.approx(here.path.curvature, abs=1e-3)
    for a, b in zip(here.passes, there.passes, strict=True):
        assert (a.id, a.side) == (b.id, b.side)
        assert b.station == pytest.approx(a.station, abs=5e-3)
        assert b.offset == pytest.approx(a.offset, abs=5e-3)


@pytest.mark.parametrize("seed", range(8))
def test_the_mirrored_course_is_the_mirrored_path(seed):
    course = COURSES[seed].changed(site={})
    here, there = lay_out(course), lay_out(mirrored(course))
    assert there.path.length == pytest.approx(here.path.length, abs=2e-3)
    assert there.path.curvature == pytest.approx(-here.path.curvature, abs=1e-3)
    assert there.n_max == pytest.approx(-here.n_min, abs=0.1)
    assert [p.side for p in sorted(there.passes, key=lambda p: p.id)] == [
        -p.side for p in sorted(here.passes, key=lambda p: p.id)
    ]


@pytest.mark.parametrize("seed", range(8))
def test_curvature_adds_up_to_the_change_of_heading(seed):
    """The integral of curvature along a curve is the change of its heading (definition of curvature)."""
    path = lay_out(COURSES[seed]).path
    turned = np.concatenate(
        [[0.0], np.cumsum(0.5 * np.diff(path.station) * (path.curvature[1:] + path.curvature[:-1]))]
    )
    assert path.heading - path.heading[0] == pytest.approx(turned, abs=1e-3)


@pytest.mark.parametrize("seed", range(8))
def test_station_is_arc_length(seed):
    path = lay_out(COURSES[seed]).path
    s = np.linspace(0.0, path.length, 20001)
    points = path.at(s)
    measured = float(np.sum(np.hypot(np.diff(points.x), np.diff(points.y))))
    assert measured == pytest.approx(path.length, rel=2e-6)  # chords of 3 cm at 6 m radius lose 1e-6


@pytest.mark.parametrize("seed", range(8))
def test_the_offset_of_a_cone_is_its_distance_from_the_path(seed):
    laid = lay_out(COURSES[seed])
    for passed in laid.passes:
        near = np.linspace(passed.station - 3.0, passed.station + 3.0, 2401)
        points = laid.path.at(near)
        away = float(np.min(np.hypot(points.x - passed.x, points.y - passed.y)))
        assert abs(passed.offset) == pytest.approx(away, abs=1e-5), f"seed {seed}, cone {passed.id}"


@pytest.mark.parametrize("seed", range(8))
def test_a_line_relaid_along_the_path_gives_the_path_again(seed):
    laid = lay_out(COURSES[seed])
    raced = (laid.path.station >= 0.0) & (laid.path.station <= laid.path.length)
    anew = relaid(laid, x=laid.path.x[raced], y=laid.path.y[raced])
    assert anew.path.length == pytest.approx(laid.path.length, abs=0.02)
    s = np.linspace(0.0, 1.0, 400)
    old, new = laid.path.at(s * laid.path.length), anew.path.at(s * anew.path.length)
    assert np.max(np.hypot(old.x - new.x, old.y - new.y)) < 0.05
    assert np.max(np.abs(old.curvature - new.curvature)) < 0.02
