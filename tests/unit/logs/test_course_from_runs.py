"""Courses made from driven lines: the path, the room, the features, and that they can be solved."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest

from conewise.course.files import read_course, write_course
from conewise.course.layout import FeatureKind, PassSide
from conewise.course.reference import lay_out
from conewise.logs.course_from_runs import NothingDrivenError, course_from_runs
from conewise.logs.stretches import stretches
from conewise.solver.point_mass_course import point_mass_solution
from tests.driven import FRONT, Day, Drive, day_of
from tests.solved import crossing_course, short_course, slalom_course

LEFT, RIGHT = 0.6, -0.4


def at_side(offset):
    return lambda station: np.full_like(station, offset)


@lru_cache(maxsize=4)
def driven(make, noise=0.0):
    geometry = lay_out(make())
    generator = np.random.default_rng(3)
    tracks = [
        day_of(geometry, [Drive(friction=0.7, offset=at_side(offset))]).track(generator, noise=noise)
        for offset in (LEFT, 0.1, RIGHT)
    ]
    return geometry, course_from_runs(tracks, name="driven", front_reach=FRONT)


def rows():
    return slalom_course(5, pass_side=PassSide.RIGHT)


def test_the_path_is_the_middle_line_and_the_room_what_was_driven():
    geometry, made = driven(short_course)
    settled = (made.station > 20.0) & (made.station < made.path.length - 20.0)
    middle = made.path.at(made.station[settled])
    _, offset = geometry.path.project_all(
        np.column_stack([middle.x, middle.y]), np.tile([0.0, geometry.path.length], (settled.sum(), 1))
    )
    assert offset == pytest.approx(0.1, abs=0.1)  # the path is smoothed over 10 m
    assert made.n_max[settled] == pytest.approx(LEFT - 0.1, abs=0.15)
    assert made.n_min[settled] == pytest.approx(RIGHT - 0.1, abs=0.15)


@pytest.mark.parametrize("make", [short_course, crossing_course, rows])
def test_the_course_can_be_laid_out_and_solved(make):
    geometry, made = driven(make, noise=0.1)
    again = lay_out(made.course)
    assert again.path.length == pytest.approx(geometry.path.length, rel=0.12)  # it ends where the first driver braked
    fast = point_mass_solution(again, friction=0.9)
    slow = [trace.run_time for trace in made.traces]
    assert fast.time < min(slow)  # the drivers used 0.7
    assert fast.time > 0.6 * min(slow)


@pytest.mark.parametrize("make", [short_course, crossing_course, rows])
def test_no_cone_stands_where_a_car_was(make):
    _, made = driven(make)
    for cone in made.course.cones:
        for trace in made.traces:
            assert np.hypot(trace.x - cone.x, trace.y - cone.y).min() > 0.9


def test_a_row_of_cones_becomes_a_slalom_with_a_cone_at_each():
    geometry, made = driven(rows)
    (slalom,) = [f for f in made.course.features if f.kind is FeatureKind.SLALOM]
    true = np.array([(p.x, p.y) for p in geometry.passes if p.feature == "slalom"])
    cones = np.array([(made.course.cone(i).x, made.course.cone(i).y) for i in slalom.cone_ids])
    assert len(cones) == len(true)
    assert np.hypot(*(cones - true).T).max() < 2.0  # a cone may stand anywhere along the turn round it


def test_the_stretches_of_a_loop_are_one_hairpin():
    kinds = [stretch.kind for stretch in stretches(lay_out(crossing_course()).path)]
    assert kinds == [FeatureKind.HAIRPIN]


def test_the_course_goes_to_a_file_and_back(tmp_path):
    _, made = driven(short_course)
    write_course(made.course, tmp_path / "driven.toml")
    assert read_course(tmp_path / "driven.toml").cones == made.course.cones


def test_one_run_makes_a_course_and_says_what_it_cannot_tell(rng):
    track = day_of(lay_out(short_course()), [Drive(friction=0.7)]).track(rng, noise=0.8)
    made = course_from_runs([track], name="driven", front_reach=FRONT)
    assert {finding.code for finding in made.findings} == {"corridor-from-one-run", "corridor-unsure"}
    assert made.summary.startswith(f"{made.path.length:.0f} m from 1 run:")


def test_without_a_run_there_is_no_course(rng):
    day = Day(lay_out(short_course()))
    day.stand(10.0)
    day.go_back()
    with pytest.raises(NothingDrivenError, match="1 recording"):
        course_from_runs([day.track(rng)], name="nothing")
