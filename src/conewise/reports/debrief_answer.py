"""The whole answer of a debrief: a run, what it is held against, and what to work on. Input of every face."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry
    from conewise.findings import Finding
    from conewise.logs.breakdown import Breakdown
    from conewise.logs.focus import Focus
    from conewise.logs.measures import Measures
    from conewise.logs.where import Where
    from conewise.reports.run_told import RunTold
    from conewise.runs import Trace


@dataclass(frozen=True, slots=True, kw_only=True)
class DebriefAnswer:
    """One run beside the best possible one, or any two runs.

    geometry: of the course, along whose path all traces lie
    driven: the run in question
    other: the best possible run, or any other run to compare with
    on_line: fastest on the driver's own line; None where two runs are only compared
    breakdown: None where two runs are only compared
    focuses: best first; the others stand under "also seen"
    where: where no cause is named and the recording cannot tell line from speed, the place that stands out
    measures: of the driven run, where taken; tells the distance to each cone
    position_rate: how often the log told a position, 0 where unknown or predicted [1/s]
    findings: about the log, the run and the answer
    told: what the recording alone says; None where two runs are only compared
    seconds: that the answer took
    """

    car: str
    geometry: CourseGeometry
    driven: Trace
    other: Trace
    on_line: Trace | None = None
    breakdown: Breakdown | None = None
    focuses: tuple[Focus, ...] = ()
    where: Where | None = None
    measures: Measures | None = None
    position_rate: float = 0.0
    findings: tuple[Finding, ...] = ()
    told: RunTold | None = None
    seconds: float = 0.0

    @property
    def gap(self) -> float:
        """By how much the run is slower than the other. [s]"""
        return self.driven.run_time - self.other.run_time

    @property
    def time_deviations(self) -> dict[str, float]:
        """One standard deviation of the measured time of each feature by its id. [s]"""
        rows = () if self.measures is None else self.measures.features
        return {row.result.id: row.time_deviation for row in rows}

    @property
    def place(self) -> str:
        """Id of the feature to work on; empty where none stands out."""
        if self.focuses:
            return self.focuses[0].feature
        return "" if self.where is None else self.where.feature
