"""Whether a tyre suits its wheel and its car: rim, load index, speed symbol, age."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.cars.date_code import INSPECTED_FROM, REPLACED_FROM, age
from conewise.cars.estimate import front_share, total_mass
from conewise.cars.fit_case import FitState, mass_in_words
from conewise.cars.typical import numbers
from conewise.cars.tyre_size import SPEED_SYMBOL
from conewise.cars.wheel_place import guessed
from conewise.errors import ByFace
from conewise.quantities import Origin, show

if TYPE_CHECKING:
    from conewise.cars.fit_case import FitCase, FitItem
    from conewise.cars.tyre_size import TyreSize

_INCH = 0.0254

# Usual rims about the measuring rim, from memory of tyre data books; the tyre's maker decides. [in]
USUAL_RIMS = (-0.5, 1.0)
_FAR_OUTSIDE = 1.0  # beyond the usual rims no maker approves one [in]; common practice, no source
_LEAST_MARGIN = 0.1  # of the load; below it a word is said


def tyre_items(case: FitCase) -> list[FitItem]:
    """Rim diameter and width, load, speed symbol and age."""
    items = [_rim_diameter(case)]
    if case.is_other_wheel or case.is_other_tyre:
        items.append(_rim_width(case))
    items.append(_load(case))
    if case.is_other_tyre:
        items.append(_speed(case))
    items.append(_age(case))
    return items


def axle_load(case: FitCase) -> float:
    """Mass on the axle at rest, with the driver: as somebody weighed it, else as the car file has it. [kg]"""
    if case.load_told is not None:
        return case.load_told
    v = numbers(case.car)
    share = front_share(v) if case.axle == "front" else 1 - front_share(v)
    return total_mass(v) * share


def usual_rims(tyre: TyreSize) -> tuple[float, float]:
    """Rim widths that makers usually approve for a size, from memory. [m]

    Examples
    --------
    >>> from conewise.cars.tyre_size import tyre_size
    >>> [width / 0.0254 for width in usual_rims(tyre_size("245/40R18"))]
    [8.0, 9.5]
    """
    low, high = (tyre.measuring_rim + step * _INCH for step in USUAL_RIMS)
    return low, high


def _rim_diameter(case: FitCase) -> FitItem:
    tyre, wheel = (size / _INCH for size in (case.after.tyre.rim_diameter, case.after.wheel.diameter))
    unknown = case.is_other_wheel != case.is_other_tyre and "tyre size" in guessed(case.car_before, case.axle)
    if unknown:  # the size that is on is a typical one, and says nothing of this car
        old, new, size = ("wheel", "tyre", tyre) if case.is_other_tyre else ("tyre", "wheel", wheel)
        words = f"Rim diameter: the {new} has {size:g} in; that of the {old} that stays is not known."
        return case.item("rim-diameter", FitState.OPEN, words, needs=f"Read it ({case.axle}.tyre.size).")
    if abs(tyre - wheel) > 0.4:
        words = f"Rim diameter: the tyre is for {tyre:g} in and the wheel has {wheel:g} in."
        return case.item("rim-diameter", FitState.NO, words)
    return case.item("rim-diameter", FitState.FITS, f"Rim diameter: {tyre:g} in on tyre and wheel.")


def _rim_width(case: FitCase) -> FitItem:
    width = case.after.wheel.width / _INCH
    unknown = guessed(case.car_before, case.axle)
    if (not case.is_other_wheel and "wheel width" in unknown) or (not case.is_other_tyre and "tyre size" in unknown):
        words = "Rim width: that of what is on is not known."
        needs = f"Read it ({case.axle}.wheel.size, {case.axle}.tyre.size), and ask the tyre's maker (--rims)."
        return case.item("rim-width", FitState.OPEN, words, needs=needs)
    if case.candidate.rims is not None:
        low, high = (size / _INCH for size in case.candidate.rims)
        state = FitState.FITS if low - 0.01 <= width <= high + 0.01 else FitState.NO
        words = f"Rim width: {width:g} in; the tyre's maker approves {low:g} to {high:g} in."
        return case.item("rim-width", state, words)
    low, high = (size / _INCH for size in usual_rims(case.after.tyre))
    outside = max(low - width, width - high)
    words = f"Rim width: {width:g} in; usual for this size, from memory, are {low:g} to {high:g} in."
    needs = "The approved rims are not known: ask the tyre's maker (--rims)."
    if outside > _FAR_OUTSIDE + 0.01:
        return case.item("rim-width", FitState.NO, words, needs="The tyre's maker decides (--rims).")
    if outside > 0.01:
        return case.item("rim-width", FitState.OPEN, f"{words} It lies outside.", needs=needs)
    return case.item("rim-width", FitState.OPEN, words, needs=needs)


def _load(case: FitCase) -> FitItem:
    load = axle_load(case)
    carried = mass_in_words(load, case.system)
    capacity = case.after.tyre.load_capacity
    if capacity is None:
        words = f"Load: the index is not known; the axle carries {carried} at rest with the driver."
        return case.item("load-index", FitState.OPEN, words, needs=f'Give it with the size: "{case.after.tyre} 94Y".')
    margin = 1 - load / (2 * capacity)
    against = f"{abs(margin):.0%} {'below' if margin >= 0 else 'above'} what two may carry"
    words = (
        f"Load: index {case.after.tyre.load_index} is {mass_in_words(capacity, case.system)} a tyre; the axle carries "
        f"{carried} at rest with the driver, {against}."
    )
    if margin < 0:
        return case.item("load-index", FitState.NO, words)
    if case.load_told is None and case.car.values["mass.total"].origin is Origin.TYPICAL:
        needs = f"Weigh the car, or the axle (--axle-load {case.axle}=...)."
        return case.item("load-index", FitState.OPEN, f"{words} The car's mass is typical.", needs=needs)
    old = case.before.tyre.load_index
    if old is not None and capacity < (case.before.tyre.load_capacity or 0.0):
        return case.item(
            "load-index", FitState.OPEN, f"{words} The tyre that is on has index {old}.",
            needs="Read the least index that the car's maker asks for; it decides.",
        )  # fmt: skip
    if margin < _LEAST_MARGIN:
        words += " That is little: a turn puts far more on the outer tyre."
    return case.item("load-index", FitState.FITS, words)


def _speed(case: FitCase) -> FitItem:
    symbol, old = case.after.tyre.speed_symbol, case.before.tyre.speed_symbol
    if not symbol:
        words = "Speed symbol: not known."
        return case.item(
            "speed-symbol", FitState.OPEN, words, needs="Give it with the size, after the load index.", is_safety=False
        )
    speed = show(SPEED_SYMBOL[symbol] / 3.6, "speed", case.system)
    words = f"Speed symbol: {symbol}, up to {speed}."
    if old and SPEED_SYMBOL[symbol] < SPEED_SYMBOL[old]:
        words += f" The tyre that is on has {old}: on the road the car maker's symbol and the law decide."
        return case.item("speed-symbol", FitState.OPEN, words, needs="See the car's papers.", is_safety=False)
    return case.item("speed-symbol", FitState.FITS, words, is_safety=False)


def _age(case: FitCase) -> FitItem:
    made = case.candidate.made
    if made is None:
        return case.item(
            "tyre-age", FitState.OPEN, "Age: the date code is not known.",
            needs="Read the last digits of the DOT number (--date-code).",
        )  # fmt: skip
    years = age(made, case.day, where=ByFace("date_code", typed="--date-code"))
    if made.is_before_2000:
        words = f"Age: code {made.text} is from before 2000, {years:.0f} years or more."
        return case.item("tyre-age", FitState.NO, words, needs="Old rubber fails without a sign; do not use it.")
    words = f"Age: week {made.week} of {made.year}, {years:.1f} years old on {case.day.isoformat()}."
    if years >= REPLACED_FROM:
        return case.item("tyre-age", FitState.NO, words, needs=f"Tyres come off after {REPLACED_FROM:g} years.")
    if years >= INSPECTED_FROM:
        words += f" From {INSPECTED_FROM:g} years on a tyre fitter looks at it every year."
    return case.item("tyre-age", FitState.FITS, words)
