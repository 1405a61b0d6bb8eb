"""A debrief as plain data: what `conewise debrief --json` prints. Keys end in their unit; what is not known is null."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import numpy as np

from conewise.reports import debrief_words

if TYPE_CHECKING:
    from conewise.logs.breakdown import FeatureGap, FrictionFound, Interval
    from conewise.logs.focus import Focus
    from conewise.logs.measures import FeatureDriving
    from conewise.logs.where import Where
    from conewise.reports.debrief_answer import DebriefAnswer
    from conewise.reports.run_told import RunTold
    from conewise.reports.times_answer import TimesAnswer
    from conewise.runs import Trace


def debrief_record(answer: DebriefAnswer) -> dict[str, Any]:
    """The whole answer as JSON-ready data.

    Parameters
    ----------
    answer : DebriefAnswer
        Of a recorded run, with its breakdown.

    Returns
    -------
    dict
        `measured_s`, `best_s`, `best_on_line_s`, `gap_s`, `features`, `focus`, `also_seen`, `where`, `friction`,
        `findings` and what they rest on.
    """
    breakdown, told = answer.breakdown, answer.told
    assert breakdown is not None
    assert told is not None
    driving = {row.result.id: row for row in (answer.measures or told.measures).features}
    first, *others = answer.focuses or (None,)
    return {
        "ok": True,
        "course": answer.geometry.course.name,
        "car": answer.car,
        **_run(told),
        "measured_s": breakdown.measured,
        "best_s": breakdown.best,
        "best_on_line_s": breakdown.best_on_line,
        "gap_s": breakdown.gap,
        "line_s": breakdown.best_on_line - breakdown.best,
        "line_interval_s": _interval(breakdown.line_interval),
        "speed_s": breakdown.measured - breakdown.best_on_line,
        "speed_interval_s": _interval(breakdown.speed_interval),
        "n_paths": breakdown.n_paths,
        "features": [_feature(gap, driving.get(gap.id)) for gap in breakdown.features],
        "focus": None if first is None else _focus(first),
        "also_seen": [_focus(focus) for focus in others],
        "where": None if answer.where is None else _where(answer.where),
        "friction": _friction(breakdown.friction),
        "runs": {
            "driven": _trace(answer.driven),
            "best_on_line": None if answer.on_line is None else _trace(answer.on_line),
            "best": _trace(answer.other),
        },
        "findings": [asdict(finding) for finding in answer.findings],
        "statistics": {"answer_s": answer.seconds},
    }


def times_record(answer: TimesAnswer) -> dict[str, Any]:
    """The answer from times and cones alone, in the same keys."""
    return {
        "ok": True,
        "course": answer.best.course,
        "car": answer.best.car,
        "times": [
            {"raw_s": run.raw, "cones": run.cones, "scored_s": run.scored(answer.penalty)} for run in answer.runs
        ],
        "measured_s": answer.measured,
        "best_s": answer.best.time,
        "best_on_line_s": None,
        "gap_s": answer.gap,
        "features": [
            {"id": f.id, "kind": f.kind, "best_s": f.time, "line_s": None, "speed_s": None}
            for f in answer.best.features
        ],
        "focus": {
            "feature": None,
            "cause": answer.focus.cause,
            "seconds": answer.focus.seconds,
            "evidence": answer.focus.evidence,
            "advice": answer.focus.advice,
        },
        "also_seen": [],
        "where": None,
        "friction": _friction(answer.friction),
        "findings": [asdict(finding) for finding in answer.findings],
    }


def _run(told: RunTold) -> dict[str, Any]:
    return {
        "log": told.file,
        "run": told.run,
        "time_deviation_s": told.time_deviation,
        "position_rate_hz": told.position_rate,
        "lateral_deviation_m": told.lateral_deviation,
        "speed_deviation_m_s": told.speed_deviation,
        "tries": [{"run": t.number, "kind": t.kind, "time_s": t.time, "reached_m": t.furthest} for t in told.tries],
    }


def _feature(gap: FeatureGap, driving: FeatureDriving | None) -> dict[str, Any]:
    record: dict[str, Any] = {
        "id": gap.id,
        "kind": gap.kind,
        "start_m": gap.start,
        "end_m": gap.end,
        "measured_s": gap.measured,
        "best_on_line_s": gap.best_on_line,
        "best_s": gap.best,
        "line_s": gap.line,
        "line_interval_s": _interval(gap.line_interval),
        "speed_s": gap.speed,
        "speed_interval_s": _interval(gap.speed_interval),
        "is_line_told": bool(gap.is_line_told),
        "is_speed_told": bool(gap.is_speed_told),
    }
    if driving is not None:
        record |= {
            "time_deviation_s": driving.time_deviation,
            "entry_speed_m_s": driving.result.entry_speed,
            "slowest_speed_m_s": driving.result.slowest_speed,
            "exit_speed_m_s": driving.result.exit_speed,
        }
    return record


def _interval(interval: Interval) -> list[float]:
    return [interval.low, interval.high]


def _focus(focus: Focus) -> dict[str, Any]:
    return {
        "feature": focus.feature,
        "cause": focus.cause.value,
        "seconds": focus.seconds,
        "chance": focus.chance,
        "evidence": focus.evidence,
        "advice": focus.advice,
    }


def _where(where: Where) -> dict[str, Any]:
    return {
        "feature": where.feature,
        "seconds": where.seconds,
        "more_s": where.more,
        "chance": where.chance,
        "beside": where.beside or None,
        "n_beside": where.n_beside,
        "sentence": debrief_words.where_sentence(where),
    }


def _friction(friction: FrictionFound) -> dict[str, Any]:
    return {"value": friction.value, "low": friction.low, "high": friction.high, "origin": friction.origin}


def _trace(trace: Trace) -> dict[str, list[float]]:
    arrays = {
        "s_m": trace.station,
        "t_s": trace.time,
        "n_m": trace.lateral_offset,
        "x_m": trace.x,
        "y_m": trace.y,
        "speed_m_s": trace.speed,
    }
    return {name: np.asarray(values).tolist() for name, values in arrays.items()}
