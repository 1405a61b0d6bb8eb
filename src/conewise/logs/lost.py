"""Stretches of a recording without positions, and what that means for a run."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from conewise.findings import Finding, Sentence, Value

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry
    from conewise.logs.follow import Followed
    from conewise.logs.log import Array
    from conewise.logs.track import Track

SHORTEST = 2.0  # without a position from which positions are lost, and three times their usual step [s]
LEAST_WAY = 10.0  # that a car goes meanwhile, or nothing is lost [m]
BRIDGED = 1.0  # deviation that may be added until what was lost is a guess [m]; common practice, no source
LEAVING = 20.0  # before its last place on the course a car may be leaving it; lost so late, its end is not seen [m]
BESIDE = 2.0  # of a lost stretch that counts to it, ahead and behind [m]

REMEDY = "Check that the receiver sees the sky all the way, and its cable or connection."


@dataclass(frozen=True, slots=True, kw_only=True)
class Lost:
    """A stretch in which the car was driven and no position was told.

    begin, end: since the log's time zero [s]
    deviation: that it adds to the standard deviation of a position [m]
    """

    begin: float
    end: float
    deviation: float

    @property
    def is_bridged(self) -> bool:
        """Whether what else was recorded tells where the car went."""
        return self.deviation <= BRIDGED


@dataclass(frozen=True, slots=True, kw_only=True)
class LostInRun:
    """A stretch of a run without positions, from station to station. [m]"""

    lost: Lost
    first: float
    last: float

    def holds(self, station: float, *, after: float = BESIDE) -> bool:
        """Whether a station lies in it, or so far after it. [m]"""
        return self.first - BESIDE <= station <= self.last + after


def lost_stretches(told: Array, *, time: Array, speed: Array, variance: Array | None = None) -> tuple[Lost, ...]:
    """The stretches of a track in which no position was told while the car was driven.

    Parameters
    ----------
    told : Array, shape (n_positions,)
        Times of the positions. [s]
    time, speed : Array, shape (n_samples,)
        Of the track. [s], [m/s]
    variance : Array, shape (n_samples,), optional
        Of a position, the mean of both axes; left out: nothing but the positions tells the way. [m2]
    """
    if told.size < 2:
        return ()
    least = max(SHORTEST, 3.0 * float(np.median(np.diff(told))))
    way = np.concatenate([[0.0], np.cumsum(np.diff(time) * 0.5 * (speed[1:] + speed[:-1]))])
    edges = np.concatenate([[min(time[0], told[0])], told, [max(time[-1], told[-1])]])
    found = []
    for begin, end in pairwise(edges):
        if end - begin < least or np.interp(end, time, way) - np.interp(begin, time, way) < LEAST_WAY:
            continue
        deviation = np.inf
        inside = (time >= begin) & (time <= end)
        if variance is not None and inside.any():
            known = min(variance[inside][0], variance[inside][-1])
            deviation = float(np.sqrt(max(variance[inside].max() - known, 0.0)))
        found.append(Lost(begin=float(begin), end=float(end), deviation=deviation))
    return tuple(found)


def lost_in_run(track: Track, *, first: int, way: Followed) -> tuple[LostInRun, ...]:
    """The stretches of a run without positions. first: index of its first sample."""
    time = track.time[first : first + way.station.size]
    return tuple(
        LostInRun(lost=one, first=float(at[0]), last=float(at[1]))
        for one in track.lost
        if one.begin < time[-1] and one.end > time[0]
        for at in [np.interp([one.begin, one.end], time, way.station)]
    )


def guessed_features(geometry: CourseGeometry, lost: tuple[LostInRun, ...]) -> frozenset[str]:
    """Ids of the features of which a part was driven where nobody knows."""
    return frozenset(
        span.id
        for span in geometry.spans
        for one in lost
        if not one.lost.is_bridged and span.start < one.last + BESIDE and span.end > one.first - BESIDE
    )


def words_of(one: LostInRun, start: float, place: str, *, is_timed: bool) -> Finding:
    """That positions were lost in a run, where and for how long.

    start: when the run began [s]
    place: where on the course
    """
    lost, since = one.lost, max(one.lost.begin - start, 0.0)
    begun = f"No positions for {lost.end - lost.begin:.1f} s, from {since:.1f} s into the run ({{}} to {{}})"
    way = Value(one.first, "length"), Value(one.last, "length")
    if lost.is_bridged:
        words = f"{begun}. What else was recorded bridges them: it adds {{}} to how well places are known."
        return Finding("note", "positions-bridged", Sentence(words, *way, Value(lost.deviation, "length", 1)), place)
    ends = (
        "The time stands, since start and finish were seen."
        if is_timed
        else "The time of this run is not known, since start or finish were not seen."
    )
    words = f"{begun}: where the car went there is a guess, and no cone is judged. {ends} {REMEDY}"
    return Finding("warning", "positions-lost", Sentence(words, *way), place)
