"""A first look by the receiver alone: the same runs as after fusing, with times to a tenth."""

from __future__ import annotations

from importlib.resources import files

import numpy as np
import pytest

from conewise.course.files import read_course
from conewise.course.reference import lay_out
from conewise.logs.log import Channel, Log
from conewise.logs.problem import NothingToFuseError
from conewise.logs.readers import read_log
from conewise.logs.rough import rough_track
from conewise.runs import Body
from conewise.workflows.recorded import recorded, seen_at_once

DEMO = files("conewise.demo")
BODY = Body(length=4.0, width=1.7, front_reach=1.9)


@pytest.fixture(scope="module")
def course():
    return lay_out(read_course(DEMO / "courses" / "harbour-yard.toml"))


@pytest.fixture(scope="module")
def recording():
    return DEMO / "logs" / "harbour-yard-evening.csv"


def test_the_runs_are_those_of_the_fused_recording(course, recording):
    exact = recorded(recording, course, BODY).day.runs
    seen = seen_at_once(recording, course, BODY)
    assert [(run.number, run.kind) for run in seen] == [(one.run.number, one.run.kind) for one in exact]
    for run, one in zip(seen, exact, strict=True):
        assert run.time == pytest.approx(one.run.time, abs=0.1)
        assert run.start.time == pytest.approx(one.run.start.time, abs=0.4)  # the receiver's delay is not undone


def test_a_course_that_does_not_know_its_place_gets_the_recording_laid_on_it(course, recording):
    site = course.course.site.changed(anchor=None)
    elsewhere = lay_out(course.course.changed(site=site))
    [run] = seen_at_once(recording, elsewhere, BODY)
    assert run.time == pytest.approx(seen_at_once(recording, course, BODY)[0].time, abs=0.1)


def test_a_straight_way_at_an_even_speed():
    time = np.arange(0.0, 10.0, 0.2)
    channels = [Channel(kind, time, value, kind) for kind, value in (("x", 3.0 * time), ("y", 4.0 * time))]
    track = rough_track(Log(file="straight", channels={one.kind: one for one in channels}))
    assert track.speed == pytest.approx(5.0)
    assert track.heading == pytest.approx(np.arctan2(4.0, 3.0))
    assert track.longitudinal_acceleration == pytest.approx(0.0, abs=1e-6)
    assert track.x[-1] == pytest.approx(3.0 * track.time[-1])


def test_without_places_only_fusing_can_tell(course):
    time = np.arange(0.0, 10.0, 0.2)
    with pytest.raises(NothingToFuseError):
        rough_track(Log(file="speeds", channels={"speed": Channel("speed", time, time, "v")}))


def test_the_file_itself_is_read(recording):
    assert rough_track(read_log(recording)).position_rate == pytest.approx(20.0, rel=0.01)
