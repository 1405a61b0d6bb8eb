"""A debrief, or two runs beside each other, as the screen shows it: words, rows, drawings and numbers of the charts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from conewise.findings import by_severity
from conewise.logs.compare import compare
from conewise.quantities import HALF_90
from conewise.reports import debrief_words, figures, sentences
from conewise.reports.debrief_map import debrief_map, driven_answer
from conewise.reports.debrief_report import gap_rows, recording_facts
from conewise.reports.page import rounded
from conewise.runs import feature_results

if TYPE_CHECKING:
    from conewise.logs.focus import Focus
    from conewise.reports.debrief_answer import DebriefAnswer
    from conewise.reports.run_told import RunTold
    from conewise.reports.units import Units
    from conewise.runs import Trace

Array = NDArray[np.float64]

MAPS = {"desk": figures.DESK, "hand": figures.HAND, "desk sun": figures.DESK_SUN, "hand sun": figures.HAND_SUN}
POINTS = 500  # of a line in a chart; more than a screen tells apart


def debrief_screen(answer: DebriefAnswer, units: Units) -> dict[str, Any]:
    """Everything that the page of an answer shows, as JSON can hold it; lengths and speeds in the units shown.

    Parameters
    ----------
    answer : DebriefAnswer
        Of a run beside the best possible one, or of two runs.
    units : Units
    """
    drawn = driven_answer(answer)
    features = drawn.solution.features
    names = {feature.id: sentences.feature_name(feature) for feature in features}
    numbers = {feature.id: number for number, feature in enumerate(features, start=1)}
    told, breakdown = answer.told, answer.breakdown
    seen = [_focus(one, names, numbers) for one in answer.focuses]
    return {
        "course": answer.geometry.course.name,
        "car": answer.car,
        "run": answer.driven.name,
        "other": answer.other.name,
        "is_comparison": breakdown is None,
        "measured": answer.driven.run_time,
        "other_time": answer.other.run_time,
        "gap": answer.gap,
        "sentence": "" if breakdown is None else debrief_words.gap_sentence(answer),
        "focus": seen[0] if seen else None,
        "also": seen[1:],
        "where": _where(answer, names, numbers),
        "rows": [
            {
                "name": row.name, "driven": row.driven, "other": row.other, "lost": row.lost,
                "within": row.within,
                "parts": [[part.text, part.interval] for part in row.parts],
            }
            for row in gap_rows(answer)
        ],
        "paths": debrief_words.paths_sentence(answer),
        "friction": "" if breakdown is None else debrief_words.friction_sentence(breakdown.friction),
        "facts": [list(row) for row in recording_facts(answer, units)],
        "findings": [[one.severity, one.message] for one in by_severity(list(answer.findings))],
        "cautions": list(sentences.CAUTIONS),
        "tries": [] if told is None else [[one.number, one.kind, one.time] for one in told.tries],
        "run_number": None if told is None else told.run,
        "maps": {name: debrief_map(answer, drawn, units, size=size) for name, size in MAPS.items()},
        "lines": _lines(answer, units, names),
    }  # fmt: skip


def told_screen(told: RunTold, units: Units) -> dict[str, Any]:
    """What a recording alone says of a run, as JSON can hold it; speeds in the units shown."""
    rows = [row.result for row in told.measures.features]
    return {
        "run": told.run,
        "time": told.time,
        "spread": HALF_90 * told.time_deviation,  # half a 90% interval
        "speed_unit": units.speed_unit,
        "rows": [
            {
                "name": sentences.feature_name(row), "time": row.time,
                "speeds": [v * units.speed_factor for v in (row.entry_speed, row.slowest_speed, row.exit_speed)],
            }
            for row in rows
        ],
    }  # fmt: skip


def _focus(focus: Focus, names: dict[str, str], numbers: dict[str, int]) -> dict[str, Any]:
    return {
        "feature": focus.feature,
        "number": numbers.get(focus.feature),
        "name": names.get(focus.feature, focus.feature),
        "cause": focus.cause.value.replace("-", " "),
        "seconds": focus.seconds,
        "chance": min(focus.chance, 0.99),
        "evidence": focus.evidence,
        "advice": focus.advice,
    }


def _where(answer: DebriefAnswer, names: dict[str, str], numbers: dict[str, int]) -> dict[str, Any] | None:
    where = answer.where
    if where is None:
        return None
    return {
        "feature": where.feature,
        "number": numbers.get(where.feature),
        "title": debrief_words.where_title(names.get(where.feature, where.feature)),
        "sentence": debrief_words.where_sentence(where),
    }


def _lines(answer: DebriefAnswer, units: Units, names: dict[str, str]) -> dict[str, Any]:
    """Lines of the charts at common places along the course, and the features as stretches of them."""
    start, end = (float(answer.driven.front_station[k]) for k in (0, -1))
    station = np.linspace(start, end, POINTS)
    beside = [one for one in (answer.other, answer.on_line) if one is not None]
    spans = feature_results(
        answer.geometry, station=answer.driven.front_station, elapsed=answer.driven.time, speed=answer.driven.speed
    )
    scale = units.length_factor
    return {
        "s": rounded((station - start) * scale, 1),
        "length_unit": units.length_unit,
        "speed_unit": units.speed_unit,
        "x": rounded(_at(station, answer.driven, "x"), 2),
        "y": rounded(_at(station, answer.driven, "y"), 2),
        "beside": {"x": rounded(_at(station, answer.other, "x"), 2), "y": rounded(_at(station, answer.other, "y"), 2)},
        "speed": [
            [one.name, rounded(_at(station, one, "speed") * units.speed_factor, 1)] for one in (answer.driven, *beside)
        ],
        "later": [[one.name, rounded(_later(answer, one, station), 3)] for one in beside],
        "features": [
            {
                "id": one.id, "name": names[one.id],
                "from": round((one.start - start) * scale, 1), "to": round((one.end - start) * scale, 1),
            }
            for one in spans
        ],
    }  # fmt: skip


def _at(station: Array, trace: Trace, name: str) -> Array:
    return np.asarray(np.interp(station, trace.front_station, getattr(trace, name)))


def _later(answer: DebriefAnswer, other: Trace, station: Array) -> Array:
    difference = compare(answer.driven, other)
    return np.asarray(np.interp(station, difference.station, difference.time))
