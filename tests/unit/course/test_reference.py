"""Laying out: sides, choices, the smooth path, features along it, relaying and cones of other passes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import fresnel

from conewise.course.choices import UnknownChoiceError
from conewise.course.layout import Cone, ConePass, Course, CourseFeature, FeatureKind, PassSide, Site, Slope, StopArea
from conewise.course.passes import NoPathError
from conewise.course.path import curve_through
from conewise.course.reference import _with_room, lay_out, permitted_choices, relaid, with_guards
from tests.courses import club_course, endless_course, long_course

SEEDS = range(24)


def gate(name, x, y, heading=0.0, width=6.0):
    """Two cones across a heading in degrees, and their passes."""
    h = np.radians(heading)
    left = Cone(id=f"{name}l", x=x - 0.5 * width * np.sin(h), y=y + 0.5 * width * np.cos(h))
    right = Cone(id=f"{name}r", x=x + 0.5 * width * np.sin(h), y=y - 0.5 * width * np.cos(h))
    passes = (
        ConePass(cone=left.id, pass_side=PassSide.RIGHT),
        ConePass(cone=right.id, pass_side=PassSide.LEFT),
    )
    return [left, right], passes


def course(*parts, **fields):
    """Parts are (kind, cones, crossings)."""
    features = [
        CourseFeature(id=f"{kind.value} {k}", kind=kind, crossings=tuple(crossings))
        for k, (kind, _, crossings) in enumerate(parts)
    ]
    cones = {cone.id: cone for _, listed, _ in parts for cone in listed}
    return Course(name="test", cones=tuple(cones.values()), features=tuple(features), **fields)


def gate_part(kind, name, *where, **size):
    cones, passes = gate(name, *where, **size)
    return kind, cones, [passes]


def cone_part(kind, *cones, sides):
    placed = [Cone(id=f"c{x}:{y}", x=x, y=y) for x, y in cones]
    return kind, placed, [(ConePass(cone=c.id, pass_side=side),) for c, side in zip(placed, sides, strict=True)]


LEFT, RIGHT, EITHER = PassSide.LEFT, PassSide.RIGHT, PassSide.EITHER


def slalom_course(sides=(EITHER,) * 4, **fields):
    return course(
        gate_part(FeatureKind.START, "s", 0, 0),
        cone_part(FeatureKind.SLALOM, *((20 + 18 * k, 0) for k in range(4)), sides=sides),
        gate_part(FeatureKind.FINISH, "f", 100, 0),
        **fields,
    )


def u_turn_course(side=RIGHT, gap=18.0):
    """Out, round one cone, and back: the cone lies on the driver's left when it is passed on its right."""
    turn = 1.0 if side is RIGHT else -1.0
    return course(
        gate_part(FeatureKind.START, "s", 0, 0),
        cone_part(FeatureKind.HAIRPIN, (60, turn * gap / 2), sides=[side]),
        gate_part(FeatureKind.FINISH, "f", 0, turn * gap, 180.0),
    )


def test_a_clothoid_is_followed():
    """Fresnel integrals, A = 20 m: at 20 m x 19.50575376, y 3.27428095, heading 0.5, curvature 0.05 (tables)."""
    s = np.arange(0.0, 31.0)
    scale = 20.0 * np.sqrt(np.pi)
    sine, cosine = fresnel(s / scale)
    path = curve_through(scale * np.column_stack([cosine, sine]), start=0, finish=30)
    point = path.at(np.array([20.0]))
    assert point.x[0] == pytest.approx(19.50575376, abs=2e-5)  # cubic through points a metre apart
    assert point.y[0] == pytest.approx(3.27428095, abs=2e-5)
    assert point.heading[0] == pytest.approx(0.5, abs=1e-4)
    assert point.curvature[0] == pytest.approx(0.05, abs=2e-4)
    assert path.length == pytest.approx(30.0, abs=1e-4)


def test_a_free_turn_settles_at_nine_metres():
    """Minimising the integral of kappa^2 + 1/R^2 on a circle gives the radius R (closed form)."""
    path = lay_out(u_turn_course(gap=18.0)).path
    assert 1.0 / np.max(np.abs(path.curvature)) == pytest.approx(9.0, rel=0.12)  # the clamped straights pull at it


@pytest.mark.parametrize("seed", SEEDS)
def test_every_cone_is_passed_on_its_side_in_order(seed):
    laid = lay_out(club_course(seed, either=seed % 3 == 0))
    order = {f.id: k for k, f in enumerate(laid.course.features)}
    last = -1.0
    for feature in laid.course.features:
        for index in range(len(feature.crossings)):
            here = [p for p in laid.passes if p.feature == feature.id and p.crossing == index and p.is_standing]
            assert len(here) == len(feature.crossings[index])
            for passed in here:
                room = passed.side * passed.offset
                assert room > 1.15, f"seed {seed}, cone {passed.id}"
                assert passed.station > last - 2.0  # the two cones of an oblique gate differ
            last = float(np.mean([p.station for p in here]))
    assert set(order) == {s.id for s in laid.spans}


@pytest.mark.parametrize("seed", SEEDS)
def test_curvature_and_its_rate_are_bounded(seed):
    path = lay_out(club_course(seed)).path
    assert np.max(np.diff(path.station)) <= 0.25 + 1e-9
    assert np.max(np.abs(path.curvature)) < 1 / 5.5, f"seed {seed}"
    assert np.max(np.abs(np.diff(path.curvature) / np.diff(path.station))) < 0.05, f"seed {seed}"


def test_the_path_is_its_own_derivative():
    path = lay_out(club_course(3)).path
    s = np.linspace(-10.0, path.length + 10.0, 4001)
    points = path.at(s)
    assert np.gradient(points.x, s) == pytest.approx(np.cos(points.heading), abs=2e-4)  # second order in 0.12 m
    inner = slice(5, -5)
    assert np.gradient(points.heading, s)[inner] == pytest.approx(points.curvature[inner], abs=3e-3)


def test_the_path_runs_straight_and_square_through_start_and_finish():
    laid = lay_out(club_course(5))
    path = laid.path
    assert path.station[0] == pytest.approx(-12.0, abs=1e-6)
    for feature, station in ((laid.course.features[0], 0.0), (laid.course.features[-1], path.length)):
        left, right = (laid.course.cone(p.cone) for p in feature.crossings[0])
        heading = path.at(np.array([station])).heading[0]
        across = np.array([left.x - right.x, left.y - right.y])
        along = np.array([np.cos(heading), np.sin(heading)])
        assert along @ across / np.hypot(*across) == pytest.approx(0.0, abs=2e-3)
        # cones are written to a millimetre
        assert along[0] * across[1] - along[1] * across[0] > 0.0
    before = (path.station < -0.5) | (path.station > path.length + 0.5)
    assert np.max(np.abs(path.curvature[before])) < 2e-3


def test_the_path_reaches_to_the_end_of_the_stop_area():
    laid = lay_out(slalom_course(stop=StopArea(length=42.0)))
    assert laid.path.station[-1] - laid.path.length == pytest.approx(42.0, abs=1e-6)
    assert lay_out(slalom_course()).path.station[-1] - laid.path.length >= 14.9


def test_projection_gives_back_what_was_set_off():
    path = lay_out(club_course(1)).path
    stations = np.linspace(5.0, path.length - 5.0, 60)
    points = path.at(stations)
    for n in (-4.0, 0.0, 3.0):
        x, y = points.x - n * np.sin(points.heading), points.y + n * np.cos(points.heading)
        for k in range(len(stations)):
            got = path.project(x[k], y[k], low=stations[k] - 4.0, high=stations[k] + 4.0)
            assert got == pytest.approx((stations[k], n), abs=1e-4)


def test_projection_stays_in_its_window_where_the_course_crosses_itself():
    laid = lay_out(crossing_course())
    station, offset = laid.path.project(40.0, 0.0, low=20.0, high=60.0)
    assert station == pytest.approx(40.0, abs=2.0)
    later, _ = laid.path.project(40.0, 0.0, low=laid.path.length - 80.0, high=laid.path.length)
    assert later > 100.0
    assert abs(offset) < 2.0


def crossing_course():
    """East, a loop to the left of 270 degrees, then south across the first straight."""
    return course(
        gate_part(FeatureKind.START, "s", 0, 0),
        gate_part(FeatureKind.GATE, "a", 41, 0.4, width=5.0),
        gate_part(FeatureKind.GATE, "b", 80, 22, 90.0),
        gate_part(FeatureKind.GATE, "c", 60, 44, 180.0),
        gate_part(FeatureKind.GATE, "d", 40, 22, 270.0),
        gate_part(FeatureKind.FINISH, "f", 40, -30, 270.0),
    )


def test_cones_of_another_pass_become_guards_on_the_side_of_the_line():
    laid = lay_out(crossing_course())
    path = laid.path
    raced = (path.station >= 0.0) & (path.station <= path.length)
    x, y = path.x[raced], path.y[raced]
    guarded = with_guards(laid, x=x, y=y, reach=3.5)
    guards = [p for p in guarded.passes if p.is_guard]
    assert {p.id for p in guards} == {"al", "ar"}  # the gate on the first straight, seen from the last one
    for guard in guards:
        assert guard.station > 150.0
        assert guard.side == np.sign(guard.offset)
        assert guard.crossing == -1
    assert with_guards(laid, x=x, y=y, reach=0.5) is laid


@pytest.mark.parametrize(("offset", "side"), [(2.0, 1), (-2.0, -1), (0.5, -1), (-0.5, -1)])
def test_a_guard_is_passed_where_there_is_room(offset, side):
    # Between cones 6 m apart; the line has the guard on its right. Room by hand: 3 m to the left cone, less bases.
    laid = lay_out(crossing_course())
    left, right = laid.passes[2:4]
    spread = (left, right) if left.offset > right.offset else (right, left)
    passes = tuple(replace(p, offset=n, side=b) for p, n, b in zip(spread, (3.0, -3.0), (1, -1), strict=True))
    gap = replace(laid, passes=passes)
    guard = replace(left, offset=offset, side=-1, is_guard=True)
    assert _with_room(gap, guard, 1.7).side == side
    assert _with_room(gap, guard, 0.5).side == -1  # what is narrow fits either way


def test_a_pointer_does_not_guard_its_own_pass():
    laid = lay_out(pointer_course(1.6))
    path = laid.path
    raced = (path.station >= 0.0) & (path.station <= path.length)
    guarded = with_guards(laid, x=path.x[raced], y=path.y[raced], reach=4.0)
    assert not [p for p in guarded.passes if p.is_guard]


def pointer_course(beyond):
    """A cone on the left with a pointer `beyond` metres further left."""
    kind, cones, crossings = cone_part(FeatureKind.CONE, (30, 0), sides=[RIGHT])
    pointer = Cone(id="p", x=30.0, y=beyond, points_to=cones[0].id)
    return course(
        gate_part(FeatureKind.START, "s", 0, 0),
        (kind, [*cones, pointer], crossings),
        gate_part(FeatureKind.FINISH, "f", 60, 0),
    )


def test_only_a_pointer_that_sticks_out_is_passed_itself():
    assert "p" not in {p.id for p in lay_out(pointer_course(0.6)).passes}
    stuck_out = [p for p in lay_out(pointer_course(-0.4)).passes if p.id == "p"]
    assert [(p.side, p.is_standing) for p in stuck_out] == [(1, False)]


def test_a_cone_may_serve_two_passes():
    shared = cone_part(FeatureKind.CONE, (40, 9), sides=[RIGHT])
    laid = lay_out(
        course(
            gate_part(FeatureKind.START, "s", 0, 0),
            shared,
            gate_part(FeatureKind.GATE, "g", 66, 9, 90.0),
            (FeatureKind.CONE, shared[1], shared[2]),
            gate_part(FeatureKind.FINISH, "f", 0, 18, 180.0),
        )
    )
    mine = [p for p in laid.passes if p.id == shared[1][0].id]
    assert [p.side for p in mine] == [1, 1]
    assert mine[1].station - mine[0].station > 40.0


def test_a_slalom_with_either_side_has_two_patterns():
    choices = permitted_choices(slalom_course())
    assert sorted(c["slalom 1"] for c in choices) == ["left", "right"]
    for choice in choices:
        sides = [p.side for p in lay_out(slalom_course(), choices=choice).passes if p.feature == "slalom 1"]
        first = -1 if choice["slalom 1"] == "left" else 1  # left of the cone: the cone is on the driver's right
        assert sides == [first, -first, first, -first]


def test_a_fixed_cone_decides_the_pattern():
    choices = permitted_choices(slalom_course(sides=(EITHER, LEFT, EITHER, EITHER)))
    assert choices == [{"slalom 1": "right"}]


def test_a_course_without_a_choice_has_one_way():
    assert permitted_choices(slalom_course(sides=(LEFT, RIGHT, LEFT, RIGHT))) == [{}]


def test_choices_are_capped_and_the_shortest_comes_first():
    parts = [cone_part(FeatureKind.CONE, (25 + 25 * k, 2.0 * (-1) ** k), sides=[EITHER]) for k in range(6)]
    many = course(gate_part(FeatureKind.START, "s", 0, 0), *parts, gate_part(FeatureKind.FINISH, "f", 180, 0))
    choices = permitted_choices(many)
    assert len(choices) == 16
    assert len({tuple(sorted(c.items())) for c in choices}) == 16
    lengths = [lay_out(many, choices=c).path.length for c in choices]
    assert lengths[0] == pytest.approx(min(lengths), abs=0.3)
    # the inside of a cone that stands to the left of the way is its right
    assert choices[0]["cone 1"] == "right"


def test_an_open_gate_is_driven_between_its_cones():
    kind, cones, _ = gate_part(FeatureKind.GATE, "g", 30, 0)
    both = (ConePass(cone="gl", pass_side=EITHER), ConePass(cone="gr", pass_side=EITHER))
    laid = lay_out(
        course(
            gate_part(FeatureKind.START, "s", 0, 0), (kind, cones, [both]), gate_part(FeatureKind.FINISH, "f", 60, 0)
        )
    )
    assert sorted(p.side for p in laid.passes if p.feature == "gate 1") == [-1, 1]
    assert laid.choices == {"gate 1": "right"}


@pytest.mark.parametrize("choice", [{"slalom 1": "up"}, {"start 0": "left"}, {"nothing": "left"}])
def test_a_choice_that_is_not_offered_is_refused(choice):
    with pytest.raises(UnknownChoiceError) as refused:
        lay_out(slalom_course(), choices=choice)
    assert next(iter(choice)) in refused.value.message
    assert "slalom 1" in refused.value.message


def test_spans_tile_the_course():
    laid = lay_out(club_course(11))
    assert laid.spans[0].start == 0.0
    assert laid.spans[-1].end == pytest.approx(laid.path.length)
    for a, b in zip(laid.spans, laid.spans[1:], strict=False):
        assert a.end == b.start
        assert a.end > a.start
    for passed in laid.passes:
        inside = laid.span_at(min(max(passed.station, 0.0), laid.path.length - 1e-6))
        assert inside.id == passed.feature


def test_ground_and_friction_come_from_the_site():
    """2% of slope is 0.2 m/s2 of gravity (common practice; g sin(atan 0.02) = 0.1961)."""
    site = Site(friction=0.9, slope=Slope(grade=0.02, direction=np.pi / 2))
    laid = lay_out(slalom_course(site=site))
    assert laid.ground_y == pytest.approx(-0.1961, abs=5e-5)  # pulls back where the ground rises to the north
    assert laid.ground_x == pytest.approx(0.0, abs=1e-12)
    assert laid.friction == pytest.approx(0.9)


def test_relaying_follows_the_line_and_keeps_the_passes():
    laid = lay_out(club_course(4))
    path = laid.path
    raced = (path.station >= 0.0) & (path.station <= path.length)
    s = path.station[raced]
    n = 1.2 * np.sin(2 * np.pi * s / 55.0) * np.minimum(1.0, np.minimum(s, path.length - s) / 20.0)
    x, y = path.x[raced] - n * np.sin(path.heading[raced]), path.y[raced] + n * np.cos(path.heading[raced])
    anew = relaid(laid, x=x, y=y)
    share = s / path.length * anew.path.length
    inner = slice(60, -60, 10)
    away = [
        anew.path.project(a, b, low=c - 8.0, high=c + 8.0)[1]
        for a, b, c in zip(x[inner], y[inner], share[inner], strict=True)
    ]
    assert np.max(np.abs(away)) < 0.1
    by_key = {(p.feature, p.crossing, p.id): p for p in anew.passes}
    assert len(by_key) == len(laid.passes)
    for old in laid.passes:
        new = by_key[old.feature, old.crossing, old.id]
        shift = np.interp(old.station, s, n)
        assert new.offset == pytest.approx(old.offset - shift, abs=0.15), new.id
    assert np.max(np.abs(np.diff(anew.path.curvature) / np.diff(anew.path.station))) < 0.1


def test_relaying_straightens_a_line_that_ends_askew():
    laid = lay_out(slalom_course(sides=(LEFT, RIGHT, LEFT, RIGHT)))
    path = laid.path
    raced = (path.station >= 0.0) & (path.station <= path.length)
    s = path.station[raced]
    n = 0.15 * np.maximum(0.0, s - (path.length - 12.0))  # 8.5 degrees off at the finish
    x, y = path.x[raced] - n * np.sin(path.heading[raced]), path.y[raced] + n * np.cos(path.heading[raced])
    anew = relaid(laid, x=x, y=y).path
    assert anew.at(np.array([anew.length])).heading[0] == pytest.approx(
        path.at(np.array([path.length])).heading[0], abs=0.02
    )
    assert np.max(np.abs(anew.curvature[anew.station > anew.length + 1.5])) < 5e-3


def test_a_gate_in_one_place_has_no_path():
    cones = [Cone(id="gl", x=30, y=0), Cone(id="gr", x=30, y=0.01)]
    _, passes = gate("g", 30, 0)
    with pytest.raises(NoPathError) as refused:
        lay_out(
            course(
                gate_part(FeatureKind.START, "s", 0, 0),
                (FeatureKind.GATE, cones, [passes]),
                gate_part(FeatureKind.FINISH, "f", 60, 0),
            )
        )
    assert refused.value.feature == "gate 1"
    assert "gate 1" in refused.value.where


def test_a_cone_on_both_sides_at_once_has_no_path():
    cone = Cone(id="c", x=30, y=0)
    both = (ConePass(cone="c", pass_side=LEFT), ConePass(cone="c", pass_side=RIGHT))
    with pytest.raises(NoPathError, match="cone 1"):
        lay_out(
            course(
                gate_part(FeatureKind.START, "s", 0, 0),
                (FeatureKind.CONE, [cone], [both]),
                gate_part(FeatureKind.FINISH, "f", 60, 0),
            )
        )


def test_a_course_of_no_length_has_no_path():
    with pytest.raises(NoPathError):
        lay_out(course(gate_part(FeatureKind.START, "s", 0, 0), gate_part(FeatureKind.FINISH, "f", 1, 0)))


def test_cones_four_metres_apart_still_give_a_path():
    """The path weaves; whether a car can do it is for the checks and the solver to say."""
    tight = course(
        gate_part(FeatureKind.START, "s", 0, 0),
        cone_part(FeatureKind.SLALOM, *((20 + 4 * k, 0) for k in range(5)), sides=(LEFT, RIGHT, LEFT, RIGHT, LEFT)),
        gate_part(FeatureKind.FINISH, "f", 70, 0),
    )
    assert all(p.side * p.offset > 0.9 for p in lay_out(tight).passes)


def test_a_long_course_is_laid_out():
    long = long_course()
    assert len(long.features) >= 40
    assert lay_out(long).path.length > 600.0


def test_five_thousand_features_do_not_blow_up():
    laid = lay_out(endless_course(5000))
    assert len(laid.spans) == 5000
    assert np.max(np.abs(laid.path.curvature)) < 1 / 5.5
