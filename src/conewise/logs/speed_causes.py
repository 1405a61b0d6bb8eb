"""Causes in the speed on the driver's own line: rules on where a deficit of speed builds up and where it heals."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from conewise.logs.focus import Cause
from conewise.logs.focus_candidate import Candidate, deviation_of, deviation_of_speed
from conewise.logs.three_runs import STEP, smoothed

if TYPE_CHECKING:
    from conewise.logs.three_runs import Corner, ThreeRuns

Array = NDArray[np.float64]

SEEN = 0.4  # a deficit of speed counts where it reaches this, or two standard deviations of the speed [m/s]
HEALED = 0.15  # and lasts until it is less than this, or three quarters of a deviation [m/s]
PARTS = 0.35  # two deficits are two where it falls to this share of the smaller one between them
BUILDS = 0.1  # a deficit builds up from this share of the greatest one on
DEEP = 0.1  # and is the driver's doing where it reaches this share of the possible speed squared,
SLACK = 1.5  # or where the car is driven this much less than it could be [m/s2]
SLACK_LENGTH = 8.0  # in the mean over this length [m]
HEALS = 0.4  # share of the greatest deficit of speed squared left at the slow point of a driver who was only early
AT_LIMIT = 0.8  # a place limits the speed by cornering where this share of the grip is lateral
PACE_SHARE = 0.75  # the driver's use of the grip is that of the best quarter of the places limited by cornering
UNUSED = 0.94  # less than this share of the grip everywhere is grip unused
OVERLAP = 0.2  # both pedals down for this long [s]
SCRUB = -1.2  # a turning car that slows more than this behind the braking scrubs its speed off [m/s2]
HARD = -4.0  # a car that slows more than this is braked; where it is so over more of the build-up than
BRAKED_SHARE = 0.2  # this, it is no scrub
SCRUB_LENGTH = 2.5  # for this long [m]
SCRUB_REACH = round(12.0 / STEP)  # beginning no later than this behind the slow point, steps of the axis
TURNING = 0.35  # share of the lateral grip that a turning car uses
COASTS_AT_LEAST = 1.5  # a car that slows less than this does not brake [m/s2]
COASTS = -0.8  # a car that slows less than this before the braking point coasts, one that slows more has lifted [m/s2]
BACK_ON = 0.7  # the driver is back on the throttle where the car gains more than this [m/s2]
EXCESS = 0.5  # faster than the best run by this at the way in is a fast entry [m/s]
AFTER = 3.0  # a deficit that begins no more than this before the slow point begins behind it [m]
BEHIND = 30.0  # how far behind the slow point a fast entry is paid for [m]


def pace(runs: ThreeRuns) -> float:
    """Share of the cornering grip that the driver uses where he uses most of it, at most 1.

    Notes
    -----
    Squared speed over that of the best run on the same line, at places where cornering limits that run; the 75th
    percentile, so that a quarter of them without a fault is enough.
    """
    lateral = np.abs(runs.on_line.lateral_acceleration)
    limited = lateral > AT_LIMIT * np.quantile(lateral, 0.95)
    ratio = (runs.driven.speed / runs.on_line.speed) ** 2
    return float(np.clip(np.quantile(ratio[limited], PACE_SHARE), 0.5, 1.0)) if limited.any() else 1.0


def speed_causes(runs: ThreeRuns) -> list[Candidate]:
    """What the speed on the driver's own line shows, but for the pace of the whole run."""
    found = [fast for corner in runs.corners if (fast := _fast_entry(runs, corner)) is not None]
    own = np.sqrt(pace(runs)) * runs.on_line.speed
    for begin, end in _stretches(runs, own - runs.driven.speed):
        told = _stretch(runs, own, begin=begin, end=end)
        if told is not None and not any(told.overlaps(fast) for fast in found):
            found.append(told)
    return found


def unused_grip(runs: ThreeRuns) -> list[Candidate]:
    """The same share of the grip left everywhere.

    Nothing where the friction is only a lower bound, or where the recording cannot tell the line: another
    line would pass for another pace.
    """
    share, friction = pace(runs), runs.breakdown.friction
    if friction.is_lower_bound or not runs.breakdown.tells_line:
        return []
    if share > UNUSED or share * friction.value > friction.low:
        return []
    total = np.hypot(runs.on_line.longitudinal_acceleration, runs.on_line.lateral_acceleration)
    limited = total > AT_LIMIT * np.quantile(total, 0.95)
    density = np.where(limited, (1.0 / np.sqrt(share) - 1.0) / runs.on_line.speed, 0.0) * STEP
    by_feature: dict[str, float] = {}
    for index, loss in enumerate(density):
        name = runs.feature_at(index).id
        by_feature[name] = by_feature.get(name, 0.0) + float(loss)
    feature = max(by_feature, key=lambda name: by_feature[name])
    return [
        Candidate(
            cause=Cause.UNUSED_GRIP,
            feature=feature,
            begin=0,
            end=runs.station.size - 1,
            seconds=min(float(density.sum()), max(runs.breakdown.gap, 0.0)),
            deviation=deviation_of_speed(runs),
            facts={"share": share, "here": by_feature[feature]},
        )
    ]


def _stretches(runs: ThreeRuns, deficit: Array) -> list[tuple[int, int]]:
    """Where the driver is slower than the car could be on his line."""
    deviation = float(np.median(runs.doubt))
    seen, healed = max(SEEN, 2.0 * deviation), max(HEALED, 0.75 * deviation)
    below = np.concatenate([[False], deficit > healed, [False]]).astype(np.int8)
    edges = np.flatnonzero(np.diff(below))
    found = [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]
    parts = [part for begin, end in found for part in _parted(deficit, begin, end)]
    return [(begin, end) for begin, end in parts if deficit[begin : end + 1].max() > seen]


def _parted(deficit: Array, begin: int, end: int) -> list[tuple[int, int]]:
    """A stretch in two where the deficit nearly heals between two greatest values, and those likewise."""
    inside = deficit[begin : end + 1]
    before = np.maximum.accumulate(inside)
    behind = np.maximum.accumulate(inside[::-1])[::-1]
    depth = inside / np.minimum(before, behind)
    lowest = int(np.argmin(depth))
    if depth[lowest] > PARTS:
        return [(begin, end)]
    return [*_parted(deficit, begin, begin + lowest), *_parted(deficit, begin + lowest + 1, end)]


def _stretch(runs: ThreeRuns, own: Array, *, begin: int, end: int) -> Candidate | None:
    """The cause of one stretch of deficit, or None where no rule holds."""
    driven = runs.driven
    squared = smoothed(own**2 - driven.speed**2)
    greatest = begin + int(np.argmax(squared[begin : end + 1]))
    small = np.flatnonzero(squared[begin:greatest] < BUILDS * squared[greatest])
    begin += int(small[-1]) if small.size else 0
    build = slice(begin, max(greatest, begin + 1) + 1)
    if not _is_marked(runs, (squared / own**2)[begin : end + 1], build):
        return None
    cause, corner = _cause(runs, squared, build=build, end=end)
    if corner is None:
        return None
    loss = float(np.sum(1.0 / driven.speed[begin : end + 1] - 1.0 / own[begin : end + 1]) * STEP)
    shown = runs.lost(driven, runs.best, begin=max(begin - 10, 0), end=min(end + 10, runs.station.size - 1))
    slower = own - driven.speed
    return Candidate(
        cause=cause,
        feature=corner.feature,
        begin=begin,
        end=end,
        seconds=min(loss, max(shown, 0.0)),
        deviation=deviation_of(runs, "speed", begin=begin, end=end),
        facts={
            "slower": float(slower[begin : end + 1].max()),
            "slower_at_slowest": float(slower[corner.slowest]),
            "slowest": float(driven.speed[corner.slowest]),
            "length": float(runs.station[build.stop - 1] - runs.station[begin]),
            "before": float(runs.station[corner.braking] - runs.station[begin]),
            "pull": float(np.mean(driven.longitudinal_acceleration[build])),
            "overlap": _overlap(runs, build),
        },
    )


def _is_marked(runs: ThreeRuns, share: Array, build: slice) -> bool:
    """Whether a deficit is more than the unevenness of a driver: deep, or built up by what the pedals did."""
    slack = runs.on_line.longitudinal_acceleration - runs.driven.longitudinal_acceleration
    is_slack = float(uniform_filter1d(slack, round(SLACK_LENGTH / STEP))[build].max()) > SLACK
    return is_slack or float(share.max()) > DEEP


def _cause(runs: ThreeRuns, squared: Array, *, build: slice, end: int) -> tuple[Cause, Corner | None]:
    """The rules, first that holds."""
    begin, greatest = build.start, build.stop - 1
    after = begin - round(AFTER / STEP)
    ahead = next((c for c in runs.corners if c.slowest > begin + round(AFTER / STEP)), None)
    behind = next((c for c in reversed(runs.corners) if c.slowest <= begin + round(AFTER / STEP)), None)
    reaches = ahead is not None and end >= ahead.braking
    nearest = min(runs.corners, key=lambda corner: abs(corner.slowest - begin), default=None)
    if _overlap(runs, slice(max(after, 0), greatest + 1)) >= OVERLAP:
        return Cause.PEDAL_OVERLAP, nearest
    if _is_scrubbed(runs, build):
        return Cause.OVER_SLIP, nearest
    if ahead is not None and reaches and not (behind is not None and _is_back_on(runs, greatest, ahead)):
        if squared[ahead.slowest] > HEALS * squared[greatest]:
            return Cause.SLOW_ENTRY, ahead
        pull = float(
            np.mean(runs.driven.longitudinal_acceleration[begin : max(min(greatest, ahead.braking), begin + 1)])
        )
        return (Cause.COASTING if pull > COASTS else Cause.EARLY_LIFT), ahead
    return Cause.LATE_POWER, behind


def _is_back_on(runs: ThreeRuns, greatest: int, ahead: Corner) -> bool:
    """Whether the driver is on the throttle again between the greatest deficit and the braking for the next corner."""
    until = max(ahead.braking, greatest + 1)
    gaining = runs.driven.longitudinal_acceleration[greatest:until] > BACK_ON
    return bool(np.count_nonzero(gaining) * STEP > 2.0)


def _is_scrubbed(runs: ThreeRuns, build: slice) -> bool:
    """Whether a turning car slows where the best run on the line has done its braking."""
    driven, best = runs.driven, runs.on_line
    turning = np.abs(driven.lateral_acceleration) > TURNING * np.quantile(np.abs(best.lateral_acceleration), 0.95)
    kept = best.longitudinal_acceleration > -COASTS_AT_LEAST
    slows = driven.longitudinal_acceleration < SCRUB
    begins_in_it = any(corner.braking <= build.start <= corner.slowest + SCRUB_REACH for corner in runs.corners)
    scrubs = (turning & kept & slows)[build]
    is_braked = float(np.mean(driven.longitudinal_acceleration[build] < HARD)) > BRAKED_SHARE
    is_long = bool(np.count_nonzero(scrubs) * STEP >= SCRUB_LENGTH)
    return begins_in_it and bool(kept[build.start]) and not is_braked and is_long


def _overlap(runs: ThreeRuns, stretch: slice) -> float:
    """Time with both pedals down; 0 where they were not recorded. [s]"""
    return float(np.sum(runs.both_pedals[stretch] / runs.driven.speed[stretch]) * STEP)


def _fast_entry(runs: ThreeRuns, corner: Corner) -> Candidate | None:
    """Faster in than either best run, slower behind the slow point, and slower in all."""
    driven = runs.driven.speed
    excess = driven - np.maximum(runs.best.speed, runs.on_line.speed)
    first, last = max(corner.braking - round(10.0 / STEP), 0), max(corner.slowest, corner.braking + 1)
    until = min(corner.slowest + round(BEHIND / STEP), driven.size - 1)
    needed = max(EXCESS, 1.5 * float(np.median(runs.doubt)))
    fast = first + np.flatnonzero(excess[first:last] > needed)
    slower = float(np.max(runs.best.speed[last:until] - driven[last:until], initial=0.0))
    if fast.size * STEP < 3.0 or slower < needed:
        return None
    begin = int(fast[0])
    seconds = runs.lost(runs.driven, runs.best, begin=begin, end=until)
    return Candidate(
        cause=Cause.FAST_ENTRY,
        feature=corner.feature,
        begin=begin,
        end=until,
        seconds=seconds,
        deviation=deviation_of(runs, "speed", begin=begin, end=until),
        facts={"faster": float(excess[fast].max()), "slower": slower},
    )
