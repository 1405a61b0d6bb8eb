"""A walk sheet as plain data: what `conewise walk --json` prints. Keys end in their unit; what is not known is null."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from conewise.reports import walk_words
from conewise.reports.record import finding_record
from conewise.reports.units import METRIC

if TYPE_CHECKING:
    from conewise.reports.walk_answer import Place, WalkSheet, WalkStop


def walk_record(sheet: WalkSheet) -> dict[str, Any]:
    """The whole sheet as JSON-ready data; lengths in sentences are metric."""
    answer = sheet.answer
    solution = answer.solution
    return {
        "ok": answer.exit_code == 0,
        "course": solution.course,
        "car": solution.car,
        "driver": answer.driver,
        "pace": answer.pace,
        "surface": answer.surface,
        "level": solution.level,
        "time_s": solution.time,
        "fallback": None if solution.fallback is None else asdict(solution.fallback),
        "findings": [finding_record(finding) for finding in solution.findings],
        "remember": list(walk_words.remember(sheet, METRIC)),
        "features": [_stop(sheet, index, stop) for index, stop in enumerate(sheet.stops)],
    }


def _stop(sheet: WalkSheet, index: int, stop: WalkStop) -> dict[str, Any]:
    key, price = stop.key_cone, stop.price
    following = sheet.stops[index + 1].look if index + 1 < len(sheet.stops) else None
    return {
        "number": stop.number,
        "id": stop.feature.id,
        "kind": stop.feature.kind,
        "words": walk_words.stop_words(sheet, stop, METRIC),
        "gear": stop.gear,
        "slowest_m_s": stop.feature.slowest_speed,
        "key_cone": None if key is None else key.id,
        "key_cone_price_s_per_m": None if key is None else key.price,
        "look_on_to": None if following is None else following.id,
        "braking": _place(sheet, stop.braking),
        "power": _place(sheet, stop.power),
        "slow_entry_s_per_m_s": None if price is None else price.entry_speed_price,
        "wide_entry_s_per_30_cm": None if price is None else price.wide_price,
    }


def _place(sheet: WalkSheet, place: Place | None) -> dict[str, Any] | None:
    if place is None:
        return None
    return {
        "station_m": place.station,
        "x_m": place.x,
        "y_m": place.y,
        "cone": place.cone or None,
        "cone_ahead_m": place.ahead if place.cone else None,
        "words": walk_words.place_words(sheet, place, METRIC),
    }
