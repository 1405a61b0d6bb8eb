"""Courses from maps of left and right cones; recorded maps of another project stand in for surveys."""

from __future__ import annotations

import csv
import math
from collections import Counter

import numpy as np
import pytest

from conewise.course.cone_map import ConeMapError, course_of_map
from conewise.course.layout import FeatureKind
from conewise.course.reference import lay_out
from tests.recorded import recorded


def ring(radius, count, begin=0.0):
    angle = begin + 2 * np.pi * np.arange(count) / count
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


def test_a_straight_map_is_a_course_of_gates():
    x = np.arange(0.0, 50.0, 5.0)
    course = course_of_map(
        np.column_stack([[0.0, 50.0], [0.0, 0.0]]), left=np.column_stack([x, x * 0 + 2]),
        right=np.column_stack([x, x * 0 - 2]), name="straight", is_closed=False,
    )  # fmt: skip
    assert Counter(f.kind for f in course.features) == {"start": 1, "gate": 8, "finish": 1}
    assert all(len(f.crossings[0]) == 2 for f in course.features)


def test_a_closed_map_is_opened_at_its_start_gate():
    course = course_of_map(ring(20.0, 90), left=ring(18.0, 12), right=ring(22.0, 12), name="ring", is_closed=True)
    start, finish = course.features[0], course.features[-1]
    assert start.cone_ids == finish.cone_ids
    assert len(course.features) == 13
    assert lay_out(course).path.length == pytest.approx(2 * math.pi * 20.0, rel=0.12)  # a path may cut 2 m of 20


def test_a_place_listed_twice_is_one_cone():
    left, right = ring(18.0, 12), ring(22.0, 12)
    doubled = course_of_map(ring(20.0, 90), left=np.vstack([left, left]), right=right, name="ring", is_closed=True)
    assert len(doubled.cones) == 24


def test_cones_without_a_partner_stand_alone():
    course = course_of_map(ring(20.0, 90), left=ring(18.0, 6), right=ring(22.0, 12), name="ring", is_closed=True)
    assert Counter(f.kind for f in course.features)[FeatureKind.CONE] == 6


def test_a_line_that_passes_no_gates():
    with pytest.raises(ConeMapError, match="0 pairs"):
        course_of_map(ring(20.0, 90), left=ring(300.0, 3), right=ring(2.0, 1), name="far", is_closed=False)


# Recorded maps (origin and licence stand beside the data). Lengths are those of the maps' own centre lines.


def table(name):
    with recorded("cones_fs_b", f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line.removeprefix("# ") for line in file))


def recorded_map(name, *, is_closed):
    cones = table(f"{name}_cones")
    centre = np.array([[float(r["x"]), float(r["y"])] for r in table(f"{name}_center_line")])
    left, right = (
        np.array([[float(r["X"]), float(r["Y"])] for r in cones if float(r[side]) > 0.5]) for side in ("left", "right")
    )
    course = course_of_map(centre, left=left, right=right, name=name, is_closed=is_closed)
    line = np.vstack([centre, centre[:1]]) if is_closed else centre
    return course, float(np.hypot(*np.diff(line, axis=0).T).sum()), len(np.unique(np.vstack([left, right]), axis=0))


@pytest.mark.parametrize(
    ("name", "is_closed"),
    [
        ("acceleration", False),
        ("competition_2", True),
        ("track_1", True),
        ("autocross_small", True),
        ("skidpad", False),
    ],
)
def test_a_recorded_map_becomes_a_course_with_a_path_as_long_as_its_centre_line(name, is_closed):
    course, length, n_cones = recorded_map(name, is_closed=is_closed)
    assert len(course.cones) == n_cones
    passed = {cone for feature in course.features for cone in feature.cone_ids}
    assert len(passed) >= 0.97 * n_cones  # cones before the first and behind the last gate are not passed
    # The shortest path cuts corners: up to half the width, 1.75 m, in turns of 3 to 9 m radius.
    assert lay_out(course).path.length == pytest.approx(length, rel=0.04)


def test_a_path_that_crosses_itself_passes_some_cones_in_several_features():
    course, _, _ = recorded_map("skidpad", is_closed=False)
    passes = Counter(cone for feature in course.features for cone in feature.cone_ids)
    assert max(passes.values()) >= 2


def cone_lists(text):
    """The lists of points of a plain YAML file: `name:` and then `- - x` and `  - y` for each point."""
    lists, points = {}, []
    for line in text.splitlines():
        if line and not line.startswith(("-", " ")):
            points = lists.setdefault(line.rstrip(":"), [])
        elif line.startswith("- - "):
            points.append([float(line[4:])])
        elif line.startswith("  - ") and points:
            points[-1].append(float(line[4:]))
    return {name: np.array(points) for name, points in lists.items()}


def test_the_other_recorded_map_is_read_along_a_line_between_its_edges():
    """Its own centre line is not recorded: the middles between left cones and their nearest right cones serve."""
    lists = cone_lists(recorded("cones_fs_a", "course_a.yaml").read_text(encoding="utf-8"))
    left, right = lists["cones_left"], lists["cones_right"]
    nearest = right[np.argmin(np.hypot(*(left[:, None] - right[None]).transpose(2, 0, 1)), axis=1)]
    middles = (left + nearest) / 2
    course = course_of_map(middles, left=left, right=right, name="course a", is_closed=True)
    length = np.hypot(*np.diff(np.vstack([middles, middles[:1]]), axis=0).T).sum()
    assert 296 * 0.95 < length < 322 * 1.05  # between the recorded lengths of its edges
    passed = {cone for feature in course.features for cone in feature.cone_ids}
    assert len(passed) >= 0.95 * (len(left) + len(right))
    assert lay_out(course).path.length == pytest.approx(length, rel=0.06)
