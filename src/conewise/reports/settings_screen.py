"""The answer of a search for settings as the screen shows it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from conewise.findings import by_severity

if TYPE_CHECKING:
    from conewise.quantities import System
    from conewise.reports.settings_answer import SettingsAnswer


def settings_screen(answer: SettingsAnswer, system: System) -> dict[str, Any]:
    """Everything that the page shows, as JSON can hold it; values in the units shown."""
    return {
        "car": answer.car,
        "headline": answer.headline,
        "leaning": answer.leaning_words(system),
        "doubts": list(answer.doubts),
        "notes": list(answer.notes),
        "courses": [[one.name, one.weight, one.now, one.best] for one in answer.courses],
        "rows": [
            {
                "name": row.name,
                "note": row.note,
                "now": row.shown(row.now, system),
                "best": row.shown(row.best, system) if row.verdict == "moved" else row.verdict,
                "is_moved": row.verdict == "moved",
                "range": f"{row.shown(row.low, system)} to {row.shown(row.high, system)}",
                "alone": "" if row.alone is None else row.alone.words,
                "up": row.up.words,
                "down": row.down.words,
            }
            for row in answer.rows
        ],
        "not_moved": [list(one) for one in answer.not_moved],
        "bounds": [
            f"{bound.name.capitalize()}: {bound.asks}. {bound.number(bound.after)} (before"
            f" {bound.number(bound.before)}); {bound.cost_words}"
            for bound in answer.bounds
        ]
        + [end.words for end in answer.range_ends],
        "handling": [[line.name, line.before, line.after] for line in answer.handling],
        "findings": [[one.severity, one.message] for one in by_severity(list(answer.findings))],
        "cautions": list(answer.cautions),
    }
