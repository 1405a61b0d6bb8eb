"""Positions that are lost within a run: told as that, not as the driver's mistake."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from conewise.course.reference import lay_out
from conewise.logs.fusion import fuse
from conewise.logs.laid import lay_day
from conewise.logs.log import Channel
from conewise.logs.lost import Lost, lost_stretches
from conewise.logs.rough import rough_track
from conewise.logs.run_finder import find_runs
from conewise.logs.simulated import SensorNoise, simulated_log
from tests.driven import FRONT, Drive, day_of
from tests.known_motions import weaving
from tests.solved import short_course


@lru_cache(maxsize=1)
def geometry():
    return lay_out(short_course())


def lost_from(begin, end, *, drive=None, beside=12.0):
    """A day with one run whose places from one to another second after its start are beside a straight line."""
    day = day_of(geometry(), [drive or Drive(friction=0.8)])
    track, (start, _) = day.track(np.random.default_rng(3), noise=0.05), day.truth[0]
    ends = (start + begin, start + end)
    inside = (track.time > ends[0]) & (track.time < ends[1])
    told = {axis: np.interp(track.time, track.time[~inside], getattr(track, axis)[~inside]) for axis in "xy"}
    away = np.where(inside, beside, 0.0)
    track = replace(
        track,
        x=told["x"] + away,
        y=told["y"] - away,
        lost=(Lost(begin=ends[0], end=ends[1], deviation=7.0),),
    )
    return track, day.truth[0]


def only_run(track):
    (run,) = find_runs(track, geometry(), front_reach=FRONT)
    return run


def codes(run):
    return [finding.code for finding in run.findings]


def test_a_dropout_within_a_run_is_no_mistake_of_the_driver():
    track, (start, finish) = lost_from(4.0, 9.0)
    assert only_run(replace(track, lost=())).kind == "wrong-course"
    run = only_run(track)
    assert run.kind == "positions-lost"
    assert run.time == pytest.approx(finish - start, abs=0.3)
    (finding,) = [finding for finding in run.findings if finding.code == "positions-lost"]
    assert "No positions for 5.0 s, from 4." in finding.message
    assert "The time stands" in finding.message
    assert finding.where in run.guessed
    assert "feature-missed" not in codes(run)


@pytest.mark.parametrize(("begin", "end"), [(-0.3, 2.5), (8.0, 13.0)], ids=["start", "finish"])
def test_a_run_whose_start_or_finish_was_not_seen_has_no_time(begin, end):
    run = only_run(lost_from(begin, end, beside=0.0)[0])
    assert run.kind == "positions-lost"
    assert run.time is None
    assert "The time of this run is not known" in " ".join(finding.message for finding in run.findings)


def test_a_dropout_that_is_bridged_changes_nothing():
    day = day_of(geometry(), [Drive(friction=0.8)])
    track, (start, finish) = day.track(np.random.default_rng(3), noise=0.05), day.truth[0]
    track = replace(track, lost=(Lost(begin=start + 4.0, end=start + 9.0, deviation=0.2),))
    run = only_run(track)
    assert run.kind == "complete"
    assert run.time == pytest.approx(finish - start, abs=0.2)
    assert run.guessed == frozenset()
    assert "positions-bridged" in codes(run)


def test_a_cone_passed_wrong_elsewhere_still_counts():
    wide = Drive(friction=0.8, offset=lambda s: 6.0 * np.exp(-(((s - 80.0) / 8.0) ** 2)))
    track, (start, _) = lost_from(-9.0, -8.0, drive=wide)
    assert only_run(track).kind == "wrong-course"
    late = replace(track, lost=(Lost(begin=start + 15.0, end=start + 17.0, deviation=7.0),))
    assert only_run(late).kind == "wrong-course"


def test_the_shift_of_a_run_is_not_taken_from_guesses():
    track, _ = lost_from(4.0, 9.0)
    (laid,) = lay_day(track, geometry(), is_placed=True, front_reach=FRONT).runs
    assert laid.run.kind == "positions-lost"
    assert np.hypot(laid.shift.east, laid.shift.north) < 0.2


def without(log, begin, end):
    """The log with no position from one time to another."""
    kinds = {"x", "y", "speed", "course", "horizontal_accuracy"}
    return replace(
        log,
        channels={
            k: Channel(k, c.time[keep], c.value[keep], c.source)
            for k, c in log.channels.items()
            for keep in [(c.time < begin) | (c.time > end) | (k not in kinds)]
        },
    )


@pytest.mark.parametrize(("inertial_rate", "is_bridged"), [(100.0, True), (0.0, False)])
def test_an_inertial_sensor_bridges_what_a_receiver_alone_cannot(inertial_rate, is_bridged):
    noise = replace(SensorNoise(), inertial_rate=inertial_rate)
    log = without(simulated_log(weaving(), rng=np.random.default_rng(5), noise=noise), 12.0, 20.0)
    (lost,) = fuse(log).lost
    assert lost.is_bridged is is_bridged
    assert lost.begin == pytest.approx(11.9, abs=0.25)  # the delay of the receiver is undone
    assert lost.end - lost.begin == pytest.approx(8.05, abs=0.1)
    assert [one.is_bridged for one in rough_track(log).lost] == [False]


def test_a_car_that_stands_loses_nothing():
    time = np.arange(0.0, 20.0, 0.02)
    told = np.concatenate([np.arange(0.0, 5.0, 0.1), np.arange(15.0, 20.0, 0.1)])
    speed = np.where(time < 5.0, 10.0, 0.0)
    assert lost_stretches(told, time=time, speed=speed) == ()
    assert len(lost_stretches(told, time=time, speed=speed + 2.0)) == 1
