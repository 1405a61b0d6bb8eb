"""A day of runs as plain data: what `conewise log day --json` prints. Keys end in their unit."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from conewise.reports.day_answer import DayAnswer


def day_record(answer: DayAnswer) -> dict[str, Any]:
    """All runs of a recording as JSON-ready data."""
    day, best = answer.day, answer.best
    return {
        "ok": True,
        "log": answer.file,
        "course": answer.course,
        "car": answer.car,
        "tries": [{"run": t.number, "kind": t.kind, "time_s": t.time, "reached_m": t.furthest} for t in answer.tries],
        "runs": [{"run": n, "cones": cones} for n, cones in zip(answer.numbers, answer.cones, strict=True)],
        "best_s": day.best,
        "gain_per_doubling_s": day.gain_per_doubling,
        "gain_interval_s": [day.gain_low, day.gain_high],
        "is_still_learning": day.is_still_learning,
        "spread_s": day.spread,
        "cones": day.cones,
        "n_clean": day.n_clean,
        "best_features_s": best.total,
        "best_features_joined_s": best.joined,
        "best_features_optimistic_by_s": best.optimistic_by,
        "features": [
            {
                "id": feature.id,
                "kind": feature.kind,
                "times_s": list(feature.times),
                "best_s": feature.best,
                "best_in": own.run,
                "spread_s": feature.spread,
                "lost_by_best_run_s": own.lost_by_best_run,
            }
            for feature, own in zip(answer.features, answer.best.features, strict=True)
        ],
        "findings": [asdict(finding) for finding in answer.findings],
    }
