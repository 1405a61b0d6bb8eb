"""Why a recording has no try at a course: made elsewhere, no position, the start never crossed, or no run from it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from conewise.findings import Sentence, Value
from conewise.logs.crossing import FRONT_REACH
from conewise.logs.follow import DrivenLine
from conewise.logs.lost import REMEDY
from conewise.logs.repeated import LAUNCH_LENGTH, LAUNCH_SPEED, STANDSTILL
from conewise.logs.run_finder import LEAST_TRY, starts_seen

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry
    from conewise.logs.track import Track

Cause = Literal["no-positions", "elsewhere", "positions-lost", "start-missed", "no-run"]

ELSEWHERE = 50.0  # a recording whose nearest place is farther from the course was made elsewhere [m]; (cp), no source
FAR_OFF = 100e3  # farther than clubs drive to an event: the place itself may be told wrongly [m]; (cp), no source
CREPT = 1.0  # slower than this a car is not driven [m/s]


@dataclass(frozen=True, slots=True)
class NoTry:
    """Why there is none, and what to do about it."""

    cause: Cause
    words: Sentence
    hint: str


def why_no_try(track: Track, geometry: CourseGeometry, *, front_reach: float = FRONT_REACH) -> NoTry:
    """Why a track has no try at a course.

    Parameters
    ----------
    track : Track
        In the plane of the course, without a try on it.
    geometry : CourseGeometry
    front_reach : float, default 1.9
        Reference point of the track to the front of the car. [m]
    """
    if track.position_rate == 0.0:
        return NoTry("no-positions", Sentence("it tells no positions"), "Record with the receiver switched on.")
    away = _away(track, geometry)
    if away > ELSEWHERE:
        words = Sentence(
            "it was made elsewhere, its nearest place {} from the course", Value(away, "length", is_distance=True)
        )
        swapped = ", and that latitude and longitude are not taken for each other" if away > FAR_OFF else ""
        return NoTry("elsewhere", words, f"Check that course and recording belong together{swapped}.")
    starts = starts_seen(track, geometry, front_reach=front_reach)
    loose = [one for one in track.lost if not one.is_bridged]
    if not starts and loose:
        seconds, first = sum(one.end - one.begin for one in loose), loose[0].begin
        lost = f"positions were lost for {seconds:.1f} s, first {first:.0f} s into it"
        words = Sentence(f"the start was not seen to be crossed, and {lost}")
        return NoTry("positions-lost", words, REMEDY)
    if not starts:
        line = geometry.path.at(np.array([0.0]))
        near = float(np.min(np.hypot(track.x - line.x, track.y - line.y)))
        words = Sentence(
            "its start line was never crossed ahead; the nearest place is {} from it", Value(near, "length")
        )
        return NoTry("start-missed", words, "Check the start of the course file, and that all of the run was recorded.")
    return _no_run(track, starts)


def _away(track: Track, geometry: CourseGeometry) -> float:
    """Least distance of where the car was driven to the path; of all places where it never was. [m]"""
    driven = track.speed > CREPT
    driven = driven if driven.any() else np.ones(track.time.size, dtype=bool)
    some = np.flatnonzero(driven)[:: max(1, int(driven.sum()) // 4000)]
    path = geometry.path.at(np.arange(0.0, geometry.path.length, 2.0))
    place, line = track.x[some] + 1j * track.y[some], path.x + 1j * path.y
    return min(float(np.abs(one - line).min()) for one in place)


def _no_run(track: Track, starts: tuple[int, ...]) -> NoTry:
    """That no drive from the start was a run, by the one that went farthest."""
    farthest = fast = 0.0
    for first in starts:
        stops = np.flatnonzero((track.speed < STANDSTILL) & (np.arange(track.time.size) > first + 25))
        moves = np.flatnonzero((track.speed > STANDSTILL) & (np.arange(track.time.size) > first))
        begin = int(moves[0]) if moves.size else first
        end = int(stops[stops > begin][0]) + 1 if (stops > begin).any() else track.time.size
        driven = DrivenLine.of(track, slice(first, end)).distance
        if driven[-1] >= farthest:
            farthest, fast = float(driven[-1]), float(np.interp(LAUNCH_LENGTH, driven, track.speed[first:end]))
    n = len(starts)
    begun = f"the start was crossed {n} time{'s' * (n != 1)}, but no drive from it was a run"
    if farthest < LEAST_TRY:
        ends = Sentence(begun + ": too short, the longest went {}, a try goes {} or more",
                        Value(farthest, "length"), Value(LEAST_TRY, "length"))  # fmt: skip
    elif fast < LAUNCH_SPEED:
        ends = Sentence(
            begun + ": too slow, {} at {} from where it stood, a launch has {} there",
            Value(fast, "speed"), Value(LAUNCH_LENGTH, "length"), Value(LAUNCH_SPEED, "speed"),
        )  # fmt: skip
    else:
        ends = Sentence(begun + ": it left the course before the finish, {} on", Value(farthest, "length"))
    return NoTry("no-run", ends, "Record a run from the launch to the finish, and check the finish of the course file.")
