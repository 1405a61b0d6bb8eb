"""Why a recording has no try at a course: each cause in its own words."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from conewise.course.reference import lay_out
from conewise.findings import Finding, said_in
from conewise.logs.laid import LaidDay
from conewise.logs.log import Log
from conewise.logs.lost import Lost
from conewise.logs.no_try import why_no_try
from conewise.logs.run_finder import find_runs
from conewise.workflows.recorded import NoRunError, Recorded
from tests.driven import FRONT, Day, Drive, day_of
from tests.solved import short_course

GEOMETRY = lay_out(short_course())


def driven(**drive):
    return day_of(GEOMETRY, [Drive(friction=0.8, **drive)]).track(np.random.default_rng(3), noise=0.02)


def why(track):
    assert find_runs(track, GEOMETRY, front_reach=FRONT) == ()
    return why_no_try(track, GEOMETRY, front_reach=FRONT)


def test_a_recording_from_elsewhere_says_how_far():
    track = driven()
    found = why(replace(track, x=track.x + 12_300.0))
    assert found.cause == "elsewhere"
    assert "made elsewhere" in found.words
    assert "12.2 km" in found.words or "12.1 km" in found.words  # from the far end of the course
    assert " mi " in said_in(found.words, "us")
    assert "latitude" not in found.hint
    assert "latitude and longitude" in why(replace(track, x=track.x + 4.9e6)).hint


def test_a_start_that_was_never_crossed_says_how_near():
    track = driven()
    late = slice(int(np.searchsorted(track.time, 22.0)), None)
    arrays = {name: getattr(track, name)[late] for name in ("time", "x", "y", "speed", "heading")}
    arrays["position_covariance"] = track.position_covariance[late]
    found = why(replace(track, **arrays))
    assert found.cause == "start-missed"
    assert "never crossed" in found.words
    lost = why(replace(track, **arrays, lost=(Lost(begin=12.0, end=20.0, deviation=7.0),)))
    assert lost.cause == "positions-lost"
    assert "8.0 s, first 12 s into it" in lost.words


def test_positions_that_were_never_told():
    assert why_no_try(replace(driven(), position_rate=0.0), GEOMETRY).cause == "no-positions"


@pytest.mark.parametrize(("share", "words"), [(0.2, "too slow"), (0.05, "too short")])
def test_a_drive_that_is_no_run_says_what_it_lacks(share, words):
    day = Day(GEOMETRY)
    day.stand(5.0)
    day.drive(Drive(friction=0.8, until=60.0, leave=8.0))
    day.stand(8.0)
    track = day.track(np.random.default_rng(3), noise=0.02)
    if words == "too slow":  # the same way in five times the time
        track = replace(track, time=track.time / share, speed=track.speed * share)
    else:
        stop = int(np.flatnonzero(np.hypot(track.x - track.x[0], track.y - track.y[0]) > 8.0)[0])
        rest = np.arange(track.time.size) > stop
        track = replace(
            track,
            x=np.where(rest, track.x[stop], track.x),
            y=np.where(rest, track.y[stop], track.y),
            speed=np.where(rest, 0.0, track.speed),
        )
    found = why(track)
    assert found.cause == "no-run"
    assert words in found.words


def test_the_error_tells_the_cause_and_what_was_found():
    track = driven()
    finding = Finding("warning", "zero-fix", "3 places lie at 0, 0.", "day.csv")
    day = Recorded(
        log=Log(file="day.csv", channels={}, findings=(finding,)),
        track=replace(track, findings=()),
        day=LaidDay(placement=None, runs=()),
        why_none=why(replace(track, x=track.x + 12_300.0)),
    )
    with pytest.raises(NoRunError, match="no try at the course: it was made elsewhere") as caught:
        day.run(None)
    assert caught.value.findings == (finding,)
    assert caught.value.as_dict()["findings"] == [
        {"severity": "warning", "code": "zero-fix", "message": "3 places lie at 0, 0.", "where": "day.csv"}
    ]


def test_a_day_of_lost_positions_is_told_as_that():
    """A run that was timed is to the finish; what it lacks is where the car was."""
    track = driven()
    (run,) = find_runs(track, GEOMETRY, front_reach=FRONT)
    error = NoRunError("day.csv", [replace(run, kind="positions-lost")])
    assert (
        error.message
        == "The recording has 1 try at the course, none of them complete; positions were lost in 1 of them."
    )
    assert "receiver sees the sky" in error.hint
    gone = NoRunError("day.csv", [replace(run, kind="aborted", finish=None)])
    assert gone.message == "The recording has 1 try at the course, none to the finish."
