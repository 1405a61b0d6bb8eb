"""The walk sheet as PDF: the answer, three things to remember, the map, and a row for every feature."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from conewise.reports import documents, sentences, walk_map, walk_words
from conewise.reports.figures import MapSize

if TYPE_CHECKING:
    from conewise.reports.units import Units
    from conewise.reports.walk_answer import WalkSheet, WalkStop

MAP = MapSize(width=760, most_height=780, text=17, stroke=6, cone=5)


def walk_pdf(sheet: WalkSheet, units: Units, *, paper: str = "a4") -> bytes:
    """The whole file; `paper` is "a4" or "letter"."""
    drawing = walk_map.walk_map_svg(sheet, units, MAP)
    return documents.pdf("walk", walk_data(sheet, units), paper=paper, drawings={"map": drawing})


def walk_data(sheet: WalkSheet, units: Units) -> dict[str, Any]:
    """What the template sets: texts only."""
    answer = sheet.answer
    return {
        "title": f"{answer.solution.course}, {answer.solution.car}",
        "time": sentences.answer_time(answer),
        "sentence": sentences.first_sentence(answer),
        "remember": list(walk_words.remember(sheet, units)),
        "speed_unit": units.speed_unit,
        "rows": [_row(sheet, index, stop, units) for index, stop in enumerate(sheet.stops)],
        "cautions": list(walk_words.CAUTION_WORDS),
    }


def _row(sheet: WalkSheet, index: int, stop: WalkStop, units: Units) -> dict[str, str]:
    is_end = stop.feature.kind in {"start", "finish"}
    return {
        "number": str(stop.number),
        "name": sentences.feature_name(stop.feature),
        "words": walk_words.stop_words(sheet, stop, units),
        "key": walk_words.key_words(sheet, stop, units),
        "look": walk_words.look_words(sheet, index),
        "gear": "" if stop.gear is None or is_end else str(stop.gear),
        "slowest": "" if is_end else units.speed(stop.feature.slowest_speed),
        "brake": walk_words.place_words(sheet, stop.braking, units),
        "power": walk_words.place_words(sheet, stop.power, units),
        "late": walk_words.price_words(stop, units),
    }
