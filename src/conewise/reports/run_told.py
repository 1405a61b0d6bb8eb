"""What a recording alone says of one run: its time, what became of the others, and how each feature went."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from conewise.findings import Finding
    from conewise.logs.measures import Measures


@dataclass(frozen=True, slots=True, kw_only=True)
class TriedRun:
    """One try of the recording; no time where it did not finish."""

    number: int
    kind: str  # "complete", "aborted", "wrong-course" or "positions-lost"
    time: float | None  # [s]
    furthest: float  # station it reached [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunTold:
    """One finished run.

    file: the recording
    run: number of the run in it
    lateral_deviation: of the position across the course, a median [m]
    speed_deviation: a median [m/s]
    findings: about the recording and the run
    """

    file: str
    car: str
    run: int
    time: float  # [s]
    time_deviation: float  # one standard deviation [s]
    tries: tuple[TriedRun, ...]
    measures: Measures
    position_rate: float  # [1/s]
    lateral_deviation: float
    speed_deviation: float
    findings: tuple[Finding, ...] = ()
