"""A cause that the rules found somewhere: what it costs, how surely, and why it is thought to be so."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr

from conewise.logs.three_runs import STEP
from conewise.quantities import HALF_90

if TYPE_CHECKING:
    from conewise.logs.breakdown import Interval
    from conewise.logs.focus import Cause
    from conewise.logs.three_runs import ThreeRuns

LEAST_LOSS = 0.05  # what must lie in a cause for it to be one [s]


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One cause at one place.

    begin, end: the stretch over which the time is lost, indices into the axis
    deviation: of the seconds [s]
    facts: numbers of the evidence by name, SI
    cone: where the cause is at one
    """

    cause: Cause
    feature: str
    begin: int
    end: int
    seconds: float
    deviation: float
    facts: dict[str, float]
    cone: str = ""

    @property
    def chance(self) -> float:
        """That more than `LEAST_LOSS` lies in it, for normal errors."""
        if self.deviation <= 0.0:
            return float(self.seconds > LEAST_LOSS)
        return float(ndtr((self.seconds - LEAST_LOSS) / self.deviation))

    def overlaps(self, other: Candidate) -> bool:
        """Whether both lose time at the same place: more than a third of the shorter stretch is common."""
        common = min(self.end, other.end) - max(self.begin, other.begin)
        return common > min(self.end - self.begin, other.end - other.begin) / 3.0


def deviation_of(runs: ThreeRuns, part: str, *, begin: int, end: int) -> float:
    """Standard deviation of a part of the gap over a stretch. [s]

    From the intervals of every feature that it touches, taken as independent; where the recording cannot tell the
    parts, from how sure the time is from end to end of these features, and from the speeds that are compared, whose
    errors are taken to last over the stretch.
    """
    first, last = runs.feature_at(begin), runs.feature_at(end)
    touched = [gap for gap in runs.breakdown.features if first.start <= gap.start <= last.start]
    if not all(np.isfinite(getattr(gap, f"{part}_interval").width) for gap in touched):
        at_ends = _deviation(runs, getattr(first, f"{part}_interval"), ends=(first.start, last.end))
        stretch = slice(begin, end + 1)
        lasting = np.sum(runs.doubt[stretch] / np.maximum(runs.driven.speed[stretch], 0.5) ** 2) * STEP
        return float(np.hypot(at_ends, lasting))
    each = [_deviation(runs, getattr(gap, f"{part}_interval"), ends=(gap.start, gap.end)) for gap in touched]
    return float(np.sqrt(np.sum(np.square(each))))


def deviation_of_speed(runs: ThreeRuns) -> float:
    """Standard deviation of what the whole run lost by its speed, told likewise. [s]"""
    features = runs.breakdown.features
    return _deviation(runs, runs.breakdown.speed_interval, ends=(features[0].start, features[-1].end))


def _deviation(runs: ThreeRuns, interval: Interval, *, ends: tuple[float, float]) -> float:
    if np.isfinite(interval.width):
        return float(interval.width / (2.0 * HALF_90))
    return runs.driven.deviation_between(*ends)
