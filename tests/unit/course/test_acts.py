"""Acts of drawing: what moves, what stays, what is refused; against geometry worked out by hand."""

from __future__ import annotations

import math

import pytest

from conewise.course import acts, cone_acts
from conewise.course.act_parts import ENDS, ActRefusedError, EntryUnknownError
from conewise.course.as_notes import course_notes
from conewise.course.layout import Cone, ConePass, Course, CourseFeature, FeatureKind, PassSide
from conewise.course.poses import walk_poses
from conewise.course.toml_file import read_toml
from conewise.course.walk_notes import WalkNoteError, read_note, split_notes

NOTES = """
start 6 m wide
gate 6 m wide after 20 m
slalom 4 cones every 18 m first to your left after 24 m
gate 6 m wide after 20 m
finish 6 m wide after 30 m
"""
SWAPPED = {"left": "right", "right": "left", "either": "either"}


def walked(notes, **fields):
    more = "".join(f"{name} = {value}\n" for name, value in fields.items())
    return read_toml(f'name = "Lot"\n\n[walk]\n{more}notes = """\n{notes}\n"""\n', file="lot.toml")


@pytest.fixture
def course():
    return walked(NOTES)


def ids(course):
    return [feature.id for feature in course.features]


def places(course, entry):
    feature = next(f for f in course.features if f.id == entry)
    return [(course.cone(name).x, course.cone(name).y) for name in feature.cone_ids]


def sides(course, entry):
    feature = next(f for f in course.features if f.id == entry)
    return [passed.pass_side.value for crossing in feature.crossings for passed in crossing]


def near(found, expected, digits=3):
    assert [tuple(round(v, digits) for v in point) for point in found] == pytest.approx(
        [pytest.approx(point, abs=10**-digits) for point in expected]
    )


HALF = (6.0 + 0.28) / 2  # an opening of 6 m between bases of 0.28 m


def test_an_added_slalom_stands_ahead_and_the_rest_follows(course):
    grown = acts.add(course, "gate 1", "slalom 3 cones every 15 m first to your right after 10 m", follow=True)
    assert ids(grown) == ["start", "gate 1", "slalom 2", "slalom 1", "gate 2", "finish"]
    near(places(grown, "slalom 2"), [(30, 0), (45, 0), (60, 0)])
    assert sides(grown, "slalom 2") == ["left", "right", "left"]  # the first to the right is passed on its left
    near(places(grown, "slalom 1"), [(84 + 18 * k, 0) for k in range(4)])  # 24 m behind the new end at 60 m
    near(places(grown, "gate 1"), places(course, "gate 1"))


def test_without_following_the_rest_stays(course):
    grown = acts.add(course, "gate 1", "cone to your left 2 m away after 10 m with a pointer", follow=False)
    for entry in ids(course):
        near(places(grown, entry), places(course, entry))
    near(places(grown, "cone 1"), [(30, 2)])
    pointers = [cone for cone in grown.cones if cone.points_to is not None]
    near([(cone.x, cone.y) for cone in pointers], [(30, 2.6)])


def test_a_bend_turns_what_follows(course):
    grown = acts.add(course, "gate 2", "left 90 degrees radius 20 m", follow=True)
    # gate 2 stands at 118 m; a quarter of a circle ends 20 m on and 20 m to the left, heading north
    near(places(grown, "finish"), [(138 - HALF, 50), (138 + HALF, 50)])
    bend = next(f for f in grown.features if f.kind is FeatureKind.SWEEPER)
    assert len(bend.crossings) == 2  # its entry is the gate that stands there


def test_adding_and_removing_is_nothing(course):
    grown = acts.add(
        course, "gate 1", "offset gate 4 m left after 20 m; slalom 3 cones every 15 m either side", follow=True
    )
    back = acts.remove(acts.remove(grown, "slalom 2", follow=True), "offset gate 1", follow=True)
    assert ids(back) == ids(course)
    for entry in ids(course):
        near(places(back, entry), places(course, entry))


def test_pointers_go_with_their_cone(course):
    grown = acts.add(course, "gate 1", "cone to your left after 10 m with a pointer", follow=False)
    assert len(acts.remove(grown, "cone 1", follow=False).cones) == len(course.cones)


def test_repeating_keeps_the_distance(course):
    grown = acts.repeat(course, "slalom 1", follow=True)
    assert ids(grown) == ["start", "gate 1", "slalom 1", "slalom 2", "gate 2", "finish"]
    near(places(grown, "slalom 2"), [(98 + 24 + 18 * k, 0) for k in range(4)])
    gap = places(course, "gate 2")[0][0] - places(course, "slalom 1")[-1][0]
    assert places(grown, "gate 2")[0][0] - places(grown, "slalom 2")[-1][0] == pytest.approx(gap, abs=1e-3)


def test_mirroring_twice_is_nothing_and_once_changes_sides(course):
    bent = acts.add(course, "gate 1", "offset gate 4 m left after 20 m", follow=True)
    once = acts.mirror(bent, "offset gate 1", follow=True)
    near(places(once, "offset gate 1"), [(40, -4 + HALF), (40, -4 - HALF)])  # the left cone first
    assert sides(once, "offset gate 1") == ["right", "left"]
    twice = acts.mirror(once, "offset gate 1", follow=True)
    for entry in ids(bent):
        near(places(twice, entry), places(bent, entry))
    flipped = acts.mirror(course, "slalom 1", follow=False)
    near(places(flipped, "slalom 1"), places(course, "slalom 1"))
    assert sides(flipped, "slalom 1") == [SWAPPED[side] for side in sides(course, "slalom 1")]


def test_moving_in_the_order_leaves_cones_where_they_are(course):
    moved = acts.move(course, "slalom 1", 1)
    assert ids(moved) == ["start", "slalom 1", "gate 1", "gate 2", "finish"]
    assert moved.cones == course.cones


def test_placing_moves_and_turns_about_the_entry(course):
    placed = acts.place(course, "slalom 1", (2.0, 1.0, math.pi / 2), follow=True)
    near(places(placed, "slalom 1"), [(46, 1 + 18 * k) for k in range(4)])
    near(places(placed, "gate 2"), [(46 - HALF, 75), (46 + HALF, 75)])


def test_words_make_an_entry_anew_under_its_name(course):
    made = acts.remake(course, "slalom 1", "slalom 6 cones every 16 m first to your right after 24 m", follow=True)
    assert ids(made) == ids(course)
    near(places(made, "slalom 1"), [(44 + 16 * k, 0) for k in range(6)])
    assert places(made, "gate 2")[0][0] == pytest.approx(44 + 5 * 16 + 20)
    assert len(made.cones) == len(course.cones) + 2


def test_sides_follow_from_the_first(course):
    free = cone_acts.sides(course, "slalom 1", "either")
    assert set(sides(free, "slalom 1")) == {"either"}
    right = cone_acts.sides(free, "slalom 1", "right")
    assert sides(right, "slalom 1") == ["left", "right", "left", "right"]
    with pytest.raises(ActRefusedError, match="between its cones"):
        cone_acts.sides(course, "gate 1", "left")


def test_one_cone_more_and_one_less(course):
    more = cone_acts.add_cone(course, "slalom 1")
    near(places(more, "slalom 1"), [(44 + 18 * k, 0) for k in range(5)])
    assert sides(more, "slalom 1")[-2:] == ["left", "right"]
    last = more.features[2].cone_ids[-1]
    assert cone_acts.remove_cone(more, last).features == course.features
    gate = course.features[1].cone_ids[0]
    with pytest.raises(ActRefusedError, match="both its cones"):
        cone_acts.remove_cone(course, gate)


def test_a_pointer_lies_where_the_car_does_not_go(course):
    first = course.features[2].cone_ids[0]  # to the driver's left, passed on its right
    pointed = cone_acts.pointer(course, first)
    (lying,) = (cone for cone in pointed.cones if cone.points_to == first)
    assert (lying.x, lying.y) == pytest.approx((44, cone_acts.POINTER_GAP))
    assert cone_acts.pointer(pointed, first).cones == course.cones


@pytest.mark.parametrize(
    ("act", "words"),
    [
        (lambda c: acts.add(c, "finish", "gate after 20 m", follow=True), "after the finish"),
        (lambda c: acts.add(c, "gate 1", "straight 20 m", follow=True), "set no cones"),
        (lambda c: acts.add(c, "gate 1", "finish after 20 m", follow=True), "their own places"),
        (lambda c: acts.remove(c, "start", follow=True), "needs its start"),
        (lambda c: acts.move(c, "gate 1", 0), "start stays first"),
        (lambda c: acts.move(c, "gate 1", 4), "start stays first"),
        (lambda c: acts.repeat(c, "finish", follow=True), "one finish"),
        (lambda c: acts.remake(c, "start", "gate", follow=True), "not laid out"),
        (lambda c: cone_acts.add_cone(c, "gate 1"), "has its cones"),
    ],
)
def test_what_makes_no_sense_is_refused(course, act, words):
    with pytest.raises(ActRefusedError, match=words):
        act(course)


def test_what_is_not_there_or_not_understood_is_said(course):
    with pytest.raises(EntryUnknownError):
        acts.remove(course, "slalom 9", follow=True)
    with pytest.raises(EntryUnknownError):
        cone_acts.pointer(course, "nowhere")
    with pytest.raises(WalkNoteError):
        acts.add(course, "gate 1", "slalom of cones", follow=True)


@pytest.mark.parametrize(
    "note",
    [
        "gate 6 m wide after 20 m",
        "slalom 5 cones every 18 m first to your left after 24 m",
        "slalom 4 cones every 15.5 m either side after 20 m",
        "offset gate 4 m left 6 m wide after 24 m",
        "box 12 m long 6 m wide after 20 m",
        "wall 4 cones every 3 m to your right after 10 m",
        "cone to your left 3 m away with a pointer after 15 m",
        "cone either side after 20 m",
        "sweeper right 120 degrees radius 20 m 6 m wide",
        "hairpin left 180 degrees radius 12 m 6 m wide",
        "bear left 20 degrees; gate 6 m wide after 25 m",
    ],
)
def test_notes_of_a_walked_course_are_the_notes_of_the_walk(note):
    notes = ["start 6 m wide", "gate 6 m wide after 20 m", note, "finish 6 m wide after 20 m"]
    assert list(course_notes(walked("\n".join(notes)))) == notes


def test_every_feature_is_told_whatever_its_crossings_are():
    """A file may give any crossings to any kind; what no note says exactly is told by what stands there."""
    cones = {f"k{n}": Cone(id=f"k{n}", x=20.0 * n, y=float(n % 3)) for n in range(40)}
    names = iter(cones)
    features = []
    for kind in FeatureKind:
        for shape in ((1,), (2,), (1, 1), (2, 2), (1, 2), (3,), (1, 1, 1)):
            if (kind in ENDS) != (shape == (1,) and kind in ENDS):
                continue
            passes = (tuple(ConePass(cone=next(names, "k1"), pass_side=PassSide.LEFT) for _ in range(n)) for n in shape)
            features.append(CourseFeature(id=f"{kind} {shape}", kind=kind, crossings=tuple(passes)))
    ordered = sorted(features, key=lambda f: (f.kind is not FeatureKind.START, f.kind is FeatureKind.FINISH))
    odd = Course(name="Odd", cones=tuple(cones.values()), features=tuple(ordered))
    notes = course_notes(odd)
    assert len(notes) == len(ordered) > 60
    assert all(read_note(piece, where="x") for note in notes[1:] for _, piece in split_notes(note))


def test_poses_are_those_of_the_walk(course):
    poses = walk_poses(course)
    assert [(round(a.x, 6), round(a.y, 6), round(b.x, 6)) for a, b in poses] == [
        (0, 0, 0), (20, 0, 20), (44, 0, 98), (118, 0, 118), (148, 0, 148),
    ]  # fmt: skip
    assert all(pose.heading == pytest.approx(0.0) for pair in poses for pose in pair)
    assert course.features[2].crossings[0][0].pass_side is PassSide.RIGHT
