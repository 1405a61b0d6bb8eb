"""What happened: results of an event day."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from conewise.scoring.results import WHO_DECIDES, Results, day_results

if TYPE_CHECKING:
    from conewise.event.runs_file import Correction
    from conewise.scoring.results import ResultRow
    from conewise.workflows.events import LoadedDay


def answer_results(loaded: LoadedDay) -> Results:
    """The results of a day as far as it has come."""
    return day_results(loaded.day, loaded.rules, indexes=loaded.indexes)


def results_record(results: Results, corrections: tuple[Correction, ...] = ()) -> dict[str, Any]:
    """The results as one JSON object; times in seconds."""
    return {
        "ok": True,
        "event": results.event,
        "provisional": True,
        "who_decides": WHO_DECIDES,
        "counted_runs": results.rule.counted_runs,
        "ties": results.rule.ties,
        "rows": [_row_record(row) for row in results.rows],
        "not_entered": list(results.not_entered),
        "corrections": [
            {
                "driver": one.after.person,
                "run": one.after.order,
                "before": one.before.written,
                "after": one.after.written,
                "reason": one.reason,
            }
            for one in corrections
        ],
    }


def _row_record(row: ResultRow) -> dict[str, Any]:
    return {
        "place": row.place,
        "class": row.class_code,
        "driver": row.person,
        "name": row.name,
        "car": row.car,
        "car_name": row.car_name,
        "number": row.number,
        "raw_time_s": row.raw_time,
        "cones": row.cones,
        "total_s": row.total,
        "behind_s": row.behind,
        "is_tied": row.is_tied,
        "index": row.index,
        "indexed_s": row.indexed,
        "overall_place": row.overall_place,
        "runs": [
            {
                "run": one.run.order,
                "raw_time_s": one.run.raw_time,
                "cones": one.run.cones,
                "outcome": one.run.outcome,
                "is_void": one.run.is_void,
                "total_s": one.total,
            }
            for one in row.runs
        ],
    }
