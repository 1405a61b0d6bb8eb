"""What times and cones alone say of a driver's runs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from conewise.findings import Finding
    from conewise.logs.breakdown import FrictionFound
    from conewise.solver.result import Solution


@dataclass(frozen=True, slots=True)
class TimedRun:
    """A raw time and the cones that count against it."""

    raw: float  # [s]
    cones: int

    def scored(self, penalty: float) -> float:
        """Raw time and cones. [s]"""
        return self.raw + penalty * self.cones


@dataclass(frozen=True, slots=True, kw_only=True)
class TimesFocus:
    """What to work on, from times and cones.

    cause: "cones", "spread" or "pace"
    """

    cause: str
    seconds: float  # [s]
    evidence: str
    advice: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TimesAnswer:
    """Runs without a recording beside the best possible one.

    penalty: for a cone [s]
    """

    runs: tuple[TimedRun, ...]
    best: Solution
    penalty: float
    focus: TimesFocus
    friction: FrictionFound
    findings: tuple[Finding, ...] = ()

    @property
    def measured(self) -> float:
        """Fastest raw time. [s]"""
        return min(run.raw for run in self.runs)

    @property
    def gap(self) -> float:
        """From the best possible run to the fastest raw time. [s]"""
        return self.measured - self.best.time
