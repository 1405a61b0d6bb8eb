"""The sentences of a walk sheet: places by landmarks, what being late costs, three things to remember."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from conewise.reports.course_words import feature_words
from conewise.reports.sentences import CAUTIONS, feature_name

if TYPE_CHECKING:
    from conewise.reports.units import Units
    from conewise.reports.walk_answer import Place, WalkSheet, WalkStop

BESIDE = 1.0  # a place this near to a cone is beside it [m]
WORTH_SAYING = 0.005  # a price of slow or wide entries below this is not said [s]
LEAST_DROP = 2.0  # braking that takes less speed than this is not one of the three things [m/s]
CAUTION_WORDS = (
    "Walk with the officials' leave, keep off a live course, and watch for moving cars.",
    *CAUTIONS[:3],
)


def stop_name(stop: WalkStop) -> str:
    """A feature by its name and its number on the map: "slalom 2 (number 4)"."""
    return f"{feature_name(stop.feature)} (number {stop.number})"


def stop_words(sheet: WalkSheet, stop: WalkStop, units: Units) -> str:
    """The cones, sides and spacing of a feature, with the side that the run takes."""
    course = sheet.answer.course
    feature = next(f for f in course.features if f.id == stop.feature.id)
    choice = sheet.answer.solution.choices.get(feature.id)
    return feature_words(course, feature, system=units.name, choice=choice)


def _numbered(sheet: WalkSheet, stop: WalkStop, cone: str) -> str:
    """A cone in words, with the number of its feature on the map."""
    return f"{sheet.cone_words[cone]} (number {stop.number})"


def place_words(sheet: WalkSheet, place: Place | None, units: Units) -> str:
    """A place as it is found on foot: "8 m before gate 5, left cone"; "" where there is none."""
    if place is None:
        return ""
    if not place.cone:
        return f"{units.length(place.station)} {units.length_unit} from the start"
    cone = sheet.cone_words[place.cone]
    if abs(place.ahead) < BESIDE:
        return f"beside {cone}"
    return f"{units.length(abs(place.ahead))} {units.length_unit} {'before' if place.ahead > 0.0 else 'after'} {cone}"


def price_words(stop: WalkStop, units: Units) -> str:
    """What coming slow or wide into a feature costs; "" where it is not worth saying."""
    if stop.price is None:
        return ""
    slow, wide = stop.price.entry_speed_price, stop.price.wide_price * units.wide_step / 0.3
    parts = []
    if slow / units.speed_factor >= WORTH_SAYING:
        parts.append(f"1 {units.speed_unit} slow in: {slow / units.speed_factor:.3f} s")
    if wide >= WORTH_SAYING:
        parts.append(f"{units.wide_step_text} wide in: {wide:.3f} s")
    return "; ".join(parts)


def look_words(sheet: WalkSheet, index: int) -> str:
    """Where the eyes go while this feature is left: the cone that matters next; "" at the finish."""
    if index + 1 >= len(sheet.stops):
        return ""
    look = sheet.stops[index + 1].look
    return "" if look is None else sheet.cone_words[look.id]


def key_words(sheet: WalkSheet, stop: WalkStop, units: Units) -> str:
    """The key cone of a feature with its price; "" where none is."""
    cone = stop.key_cone
    if cone is None:
        return ""
    return f"{sheet.cone_words[cone.id]}: {units.price(cone.price)} s per {units.price_step_text}"


def remember(sheet: WalkSheet, units: Units) -> tuple[str, ...]:
    """Up to three sentences to take along: the dearest cone, the entry that costs most, the hardest braking."""
    inner = sheet.stops[1:-1]
    said = []
    dear = max((s for s in inner if s.key_cone), key=lambda s: s.key_cone.price if s.key_cone else 0.0, default=None)
    if dear is not None and dear.key_cone is not None:
        cone = dear.key_cone
        said.append(
            f"Be close to {_numbered(sheet, dear, cone.id)}: every {units.price_step_text} away costs "
            f"{units.price(cone.price)} s."
        )
    costly = max((s for s in inner if s.price), key=_wide, default=None)
    if costly is not None and _wide(costly) >= WORTH_SAYING:
        cost = _wide(costly) * units.wide_step / 0.3
        where = place_words(sheet, costly.entry, units)
        said.append(
            f"Be on the line {f'{where}, ' if where else ''}for {stop_name(costly)}: {units.wide_step_text} wide there "
            f"costs {cost:.2f} s."
        )
    hard = max((s for s in inner if s.braking), key=lambda s: _drop(sheet, s), default=None)
    if hard is not None and _drop(sheet, hard) > LEAST_DROP:
        speed = f"{units.speed(hard.feature.slowest_speed)} {units.speed_unit}"
        said.append(f"Brake {place_words(sheet, hard.braking, units)}, for {stop_name(hard)}: down to {speed}.")
    return tuple(said)


def _wide(stop: WalkStop) -> float:
    return 0.0 if stop.price is None else stop.price.wide_price


def _drop(sheet: WalkSheet, stop: WalkStop) -> float:
    """Speed lost from where the braking begins to the slowest place. [m/s]"""
    if stop.braking is None:
        return 0.0
    solution = sheet.answer.solution
    away = np.hypot(solution.x - stop.braking.x, solution.y - stop.braking.y)
    return float(solution.speed[int(np.argmin(away))] - stop.feature.slowest_speed)
