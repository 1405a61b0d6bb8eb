"""Recordings laid on a course: the turn and shift that were put in come out again."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from conewise.course.reference import lay_out
from conewise.logs.placement import NoPlacesError, NotPlacedError, place_on_course, run_shift
from conewise.logs.run_finder import find_runs
from tests.driven import FRONT, Day, Drive, day_of, moved
from tests.solved import COURSE_NAMES, crossing_course, demo_course, short_course

DRIVES = [
    Drive(friction=0.7),
    Drive(until=60.0, leave=8.0),
    Drive(friction=0.8, offset=lambda s: 0.3 * np.sin(s / 10.0)),
]


@pytest.mark.parametrize("turn", [0.0, 2.0, -3.0])
@pytest.mark.parametrize("course", [short_course(), crossing_course()], ids=["short", "crossing"])
def test_turn_and_shift_are_found_again(rng, course, turn):
    geometry = lay_out(course)
    track = day_of(geometry, DRIVES).track(rng, noise=0.1)
    placement = place_on_course(moved(track, turn=turn, east=300.0, north=-120.0), geometry, front_reach=FRONT)
    back = placement.moved(moved(track, turn=turn, east=300.0, north=-120.0))
    assert np.hypot(back.x - track.x, back.y - track.y).max() < 0.6  # noise of 0.1 m; the lines are not the path
    assert (placement.turn + turn + np.pi) % (2.0 * np.pi) - np.pi == pytest.approx(0.0, abs=0.01)
    assert [run.kind for run in find_runs(back, geometry, front_reach=FRONT)] == ["complete", "aborted", "complete"]
    assert placement.findings == ()


def test_everything_that_has_a_direction_turns(rng):
    track = day_of(lay_out(short_course()), DRIVES[:1]).track(rng, noise=0.1)
    stretched = replace(track, position_covariance=track.position_covariance * np.diag([4.0, 1.0]))
    turned = moved(stretched, turn=np.pi / 2.0)
    placement = place_on_course(turned, lay_out(short_course()), front_reach=FRONT)
    back = placement.moved(turned)
    assert back.position_covariance == pytest.approx(stretched.position_covariance, abs=1e-3)
    assert back.heading == pytest.approx(track.heading, abs=0.01)
    drawn = back.sample_positions(np.random.default_rng(1), 3)
    assert drawn.shape == (3, len(track.time), 2)
    assert np.hypot(drawn[..., 0] - back.x, drawn[..., 1] - back.y).max() < 1.0


def test_the_bias_of_a_receiver_is_found_as_far_as_it_says():
    """Twenty shifts of 1.5 m: the errors are as large as the deviations say."""
    geometry = lay_out(demo_course(COURSE_NAMES[1]))
    day = day_of(geometry, DRIVES[2:])
    generator = np.random.default_rng(5)
    in_units, left = [], []
    for _ in range(20):
        shift = generator.normal(size=2) * 1.5
        track = moved(day.track(generator, noise=0.1), east=shift[0], north=shift[1])
        track = replace(track, position_covariance=np.tile(np.eye(2) * 1.5**2, (len(track.time), 1, 1)))
        (run,) = find_runs(track, geometry, front_reach=FRONT)
        found = run_shift(track, run, geometry)
        error = np.array([found.east, found.north]) + shift
        in_units += list(error / np.sqrt(np.diag(found.shift_covariance)))
        left.append(np.hypot(*error))
    assert np.sqrt(np.mean(np.square(in_units))) < 1.5
    assert np.mean(left) < 0.5 * 1.5


def test_cones_that_stood_push_the_car_off_them(rng):
    """A metre to one side takes the line through cones; a receiver that claims 0.2 m is not believed against them."""
    geometry = lay_out(demo_course(COURSE_NAMES[1]))
    weaving = Drive(friction=0.8, offset=lambda s: 0.5 * np.sin(s / 15.0))
    track = moved(day_of(geometry, [weaving]).track(rng, noise=0.02), north=1.0)
    track = replace(track, position_covariance=np.tile(np.eye(2) * 0.2**2, (len(track.time), 1, 1)))
    (run,) = find_runs(track, geometry, front_reach=FRONT)
    everything = frozenset(cone.id for cone in geometry.course.cones)
    with_cones, without = run_shift(track, run, geometry), run_shift(track, run, geometry, hit=everything)
    assert with_cones.n_cones > 5
    assert without.n_cones == 0
    assert abs(with_cones.north + 1.0) < 0.6 * abs(without.north + 1.0)
    assert np.trace(with_cones.shift_covariance) < np.trace(without.shift_covariance)


def test_a_precise_recording_is_left_where_it_is(rng):
    geometry = lay_out(short_course())
    track = day_of(geometry, [Drive(offset=lambda s: 0.3 * np.ones_like(s))]).track(rng, noise=0.02)
    (run,) = find_runs(track, geometry, front_reach=FRONT)
    shift = run_shift(track, run, geometry)
    assert np.hypot(shift.east, shift.north) < 0.02


def test_a_recording_without_a_launch_cannot_be_laid(rng):
    day = Day(lay_out(short_course()))
    day.stand(10.0)
    day.go_back()
    with pytest.raises(NotPlacedError, match="no drive from a launch"):
        place_on_course(day.track(rng), lay_out(short_course()))


def test_a_recording_without_positions_says_so(rng):
    track = day_of(lay_out(short_course()), [Drive()]).track(rng)
    with pytest.raises(NoPlacesError, match="no positions"):
        place_on_course(replace(track, position_rate=0.0), lay_out(short_course()))


def test_a_recording_of_another_course_cannot_be_laid(rng):
    track = day_of(lay_out(crossing_course()), [Drive(friction=0.7)]).track(rng)
    with pytest.raises(NotPlacedError, match="best fit leaves"):
        place_on_course(track, lay_out(short_course()), front_reach=FRONT)
