"""What all runs of a recording say together. Input of every face."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from conewise.findings import Finding
    from conewise.logs.compare import BestFeatures
    from conewise.logs.seasons import DayOfRuns
    from conewise.reports.run_told import TriedRun


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureOfDay:
    """One feature over the finished runs of a day.

    kind: what it asks for: launch, slalom, sweeper, hairpin or straight
    times: in the order of the runs [s]
    """

    id: str
    kind: str
    times: tuple[float, ...]

    @property
    def best(self) -> float:
        """[s]"""
        return min(self.times)

    @property
    def spread(self) -> float | None:
        """Standard deviation from run to run; None with one run. [s]"""
        return float(np.std(self.times, ddof=1)) if len(self.times) > 1 else None


@dataclass(frozen=True, slots=True, kw_only=True)
class DayAnswer:
    """Every try of a recording, and what its finished runs say together.

    numbers: of the finished runs that lay on the course, in order
    cones: told for each of these
    """

    file: str
    course: str
    car: str
    tries: tuple[TriedRun, ...]
    numbers: tuple[int, ...]
    cones: tuple[int, ...]
    day: DayOfRuns
    features: tuple[FeatureOfDay, ...]
    best: BestFeatures
    findings: tuple[Finding, ...]
