"""Two runs side by side as plain data: what `conewise debrief --against --json` prints. Keys end in their unit."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from conewise.logs.compare import compare
from conewise.runs import feature_results

if TYPE_CHECKING:
    from conewise.reports.debrief_answer import DebriefAnswer


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureDifference:
    """One feature of two runs.

    lost: by the first on the second; negative where it gained [s]
    deviation: of that, from the starts and the positions at both ends [s]
    """

    id: str
    kind: str
    first: float  # [s]
    second: float  # [s]
    deviation: float

    @property
    def lost(self) -> float:
        """[s]"""
        return self.first - self.second


def feature_differences(answer: DebriefAnswer) -> tuple[FeatureDifference, ...]:
    """Every feature of two runs; the losses sum to the difference of the runs."""
    rows = [
        feature_results(answer.geometry, station=t.front_station, elapsed=t.time, speed=t.speed)
        for t in (answer.driven, answer.other)
    ]
    difference = compare(answer.driven, answer.other)
    return tuple(
        FeatureDifference(
            id=first.id,
            kind=first.kind,
            first=first.time,
            second=second.time,
            deviation=difference.deviation_between(first.start, first.end),
        )
        for first, second in zip(*rows, strict=True)
    )


def comparison_record(answer: DebriefAnswer) -> dict[str, Any]:
    """Two runs as JSON-ready data.

    Parameters
    ----------
    answer : DebriefAnswer
        Without a breakdown.
    """
    difference = compare(answer.driven, answer.other)
    return {
        "ok": True,
        "course": answer.geometry.course.name,
        "car": answer.car,
        "run": answer.driven.name,
        "against": answer.other.name,
        "measured_s": answer.driven.run_time,
        "against_s": answer.other.run_time,
        "gap_s": answer.gap,
        "features": [
            {
                "id": row.id,
                "kind": row.kind,
                "measured_s": row.first,
                "against_s": row.second,
                "lost_s": row.lost,
                "lost_deviation_s": row.deviation,
            }
            for row in feature_differences(answer)
        ],
        "along": {
            "front_s_m": difference.station.tolist(),
            "later_s": difference.time.tolist(),
            "later_deviation_s": difference.deviation.tolist(),
            "faster_m_s": difference.speed.tolist(),
            "left_m": difference.lateral_offset.tolist(),
        },
        "findings": [asdict(finding) for finding in answer.findings],
        "statistics": {"answer_s": answer.seconds},
    }
