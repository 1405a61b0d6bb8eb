"""Causes in the line: rules on where the driver's line lies beside the best one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from conewise.logs.focus import Cause
from conewise.logs.focus_candidate import Candidate, deviation_of
from conewise.logs.three_runs import STEP
from conewise.quantities import HALF_90

if TYPE_CHECKING:
    from conewise.logs.breakdown import FeatureGap
    from conewise.logs.measures import ConeDistance
    from conewise.logs.three_runs import Corner, ThreeRuns
    from conewise.runs import Trace

Array = NDArray[np.float64]

CARRIES = 0.25  # causes in the line are looked for where the lateral position is known to this, one deviation [m]
WIDE = 0.4  # farther from a cone than the best line by this, and by one deviation of the position [m]
NEAR = 0.5  # the best line passes a cone this near that counts [m]
INSIDE, OUTSIDE = 0.3, 0.3  # early at the apex: inside the best line by this before it, outside by this behind [m]
LATE = 0.8  # a slalom whose beat comes later than that of the best run by this [m]
ALIKE = 0.75  # correlation of the two beats when shifted
REACH = 20.0  # before and behind an apex within which the lines are compared [m]
BEAT = 2.0  # kernel that leaves the beat of a slalom [m]


def can_carry(driven: Trace) -> bool:
    """Whether the position is good enough for causes in the line."""
    return float(np.median(driven.lateral_offset_deviation)) <= CARRIES


def line_causes(runs: ThreeRuns) -> list[Candidate]:
    """What the line shows; nothing where the position cannot carry it."""
    if not can_carry(runs.driven):
        return []
    aside = runs.driven.lateral_offset - runs.best.lateral_offset
    found = [late for gap in runs.breakdown.features if (late := _late_in_slalom(runs, gap)) is not None]
    for corner in runs.corners:
        early = _early_apex(runs, aside, corner)
        if early is not None and not any(early.overlaps(other) for other in found):
            found.append(early)
    wide = sorted(_wide_at_cones(runs, aside), key=lambda candidate: -candidate.facts["wider"])
    for candidate in wide:
        if not any(candidate.overlaps(other) for other in found):
            found.append(candidate)
    return found


def _candidate(
    runs: ThreeRuns, cause: Cause, feature: str, *, begin: float, end: float, facts: dict[str, float], cone: str = ""
) -> Candidate:
    """A cause between two stations; it costs what the line costs there, and never more than the run loses there."""
    first, last = runs.index(begin), runs.index(end)
    line = runs.lost(runs.on_line, runs.best, begin=first, end=last)
    shown = runs.lost(runs.driven, runs.best, begin=first, end=last)
    return Candidate(
        cause=cause,
        feature=feature,
        begin=first,
        end=last,
        seconds=min(line, shown),
        deviation=deviation_of(runs, "line", begin=first, end=last),
        facts=facts,
        cone=cone,
    )


def _late_in_slalom(runs: ThreeRuns, gap: FeatureGap) -> Candidate | None:
    """A beat of lateral acceleration of the same shape that comes later."""
    if gap.kind != "slalom":
        return None
    reach = runs.driven.front_reach
    inside = slice(runs.index(gap.start - reach), runs.index(gap.end - reach))
    mine, best = (_beat(trace.lateral_acceleration) for trace in (runs.driven, runs.best))
    shifts = np.arange(-6.0, 6.0 + STEP / 2.0, STEP / 2.0)
    alike = np.array(
        [_correlation(mine[inside], np.interp(runs.station - shift, runs.station, best)[inside]) for shift in shifts]
    )
    shift = float(shifts[int(np.argmax(alike))])
    if shift < LATE or alike.max() < ALIKE:
        return None
    return _candidate(
        runs,
        Cause.SLALOM_LATE,
        gap.id,
        begin=gap.start - reach - 5.0,
        end=gap.end - reach + 20.0,
        facts={"late": shift},
    )


def _beat(lateral_acceleration: Array) -> Array:
    """The beat of a slalom: the lateral acceleration without what lasts shorter than a turn round a cone."""
    return np.asarray(gaussian_filter1d(lateral_acceleration, BEAT / STEP, mode="nearest"))


def _correlation(first: Array, second: Array) -> float:
    a, b = first - first.mean(), second - second.mean()
    size = float(np.sqrt(np.sum(a**2) * np.sum(b**2)))
    return float(np.sum(a * b)) / size if size > 0.0 else 0.0


def _early_apex(runs: ThreeRuns, aside: Array, corner: Corner) -> Candidate | None:
    """Inside the best line before the slow point and outside of it behind: the inside was reached too early."""
    if runs.feature_at(corner.slowest).kind == "slalom":
        return None
    inward = corner.side * aside
    here, reach = corner.slowest, round(REACH / STEP)
    before = inward[max(here - reach, 0) : here + 1]
    behind = -inward[here : here + reach + 1]
    if before.max() < INSIDE or behind.max() < OUTSIDE:
        return None
    if min(before.max(), behind.max()) < 0.4 * max(before.max(), behind.max()):
        return None
    at = float(runs.station[here])
    return _candidate(
        runs,
        Cause.EARLY_APEX,
        corner.feature,
        begin=at - REACH - 5.0,
        end=at + REACH + 10.0,
        facts={"inside": float(before.max()), "outside": float(behind.max())},
    )


def _wide_at_cones(runs: ThreeRuns, aside: Array) -> list[Candidate]:
    """Farther from a cone that the best line passes close than that line, and farthest near it."""
    cones = () if runs.measures is None else runs.measures.cones
    found = []
    for cone in cones:
        away = -aside if cone.is_left else aside
        wider, most = _at_cone(runs, away, cone)
        doubt = float(runs.driven.lateral_offset_deviation[runs.index(cone.station)])
        if wider < WIDE + doubt or wider < 0.8 * most or cone.distance - wider > NEAR or not cone.is_standing:
            continue
        found.append((cone, {"wider": wider, "distance": cone.distance, "doubt": HALF_90 * doubt}))
    return [
        _candidate(
            runs,
            Cause.WIDE_AT_CONE,
            cone.feature,
            begin=cone.station - REACH,
            end=cone.station + REACH + 5.0,
            facts=facts | {"others": sum(other.feature == cone.feature for other, _ in found) - 1.0},
            cone=cone.id,
        )
        for cone, facts in found
    ]


def _at_cone(runs: ThreeRuns, away: Array, cone: ConeDistance) -> tuple[float, float]:
    here = runs.index(cone.station)
    near = round(10.0 / STEP)
    return float(away[here]), float(away[max(here - near, 0) : here + near + 1].max())
