"""A cause that the rules found somewhere: what it costs, how surely, and why it is thought to be so."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.stats import norm

if TYPE_CHECKING:
    from conewise.logs.focus import Cause
    from conewise.logs.three_runs import ThreeRuns

LEAST_LOSS = 0.05  # what must lie in a cause for it to be one [s]
SPAN_OF_INTERVAL = 3.29  # a 90% interval is this many standard deviations wide


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
        return float(norm.cdf((self.seconds - LEAST_LOSS) / self.deviation))

    def overlaps(self, other: Candidate) -> bool:
        """Whether both lose time at the same place: more than a third of the shorter stretch is common."""
        common = min(self.end, other.end) - max(self.begin, other.begin)
        return common > min(self.end - self.begin, other.end - other.begin) / 3.0


def deviation_of(runs: ThreeRuns, feature: str, part: str) -> float:
    """Standard deviation of a part of a feature's gap, from its interval. [s]"""
    gap = next(gap for gap in runs.breakdown.features if gap.id == feature)
    return float(np.abs(getattr(gap, f"{part}_interval").width) / SPAN_OF_INTERVAL)
