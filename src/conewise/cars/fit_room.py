"""Room around a wheel: what a gap that was measured with the old wheel says of the new one."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from conewise.cars.fit_case import FitState
from conewise.cars.wheel_place import guessed

if TYPE_CHECKING:
    from conewise.cars.fit_case import FitCase, FitItem

# Least gaps; common practice, no source. A tyre leans and grows, bushes give, wheels are never quite true.
LEAST = {"strut": 0.005, "fender": 0.005, "full_lock": 0.005, "full_bump": 0.005, "caliper": 0.003}
_BARREL = 0.012  # thickness of a rim at the least, and its drop [m]; common practice, no source

_WORDS = {
    "strut": "Inner side to strut, spring and arms",
    "fender": "Outer side to the fender at rest",
    "full_lock": "Tyre to anything at full lock",
    "full_bump": "Tyre to anything at full bump",
    "caliper": "Brake caliper to spokes and barrel",
}
_HOW = {
    "strut": "Measure it on the car ({axle}.clearance.strut)",
    "fender": "Measure it on the car ({axle}.clearance.fender)",
    "full_lock": "Turn to full lock both ways and measure ({axle}.clearance.full_lock)",
    "full_bump": "Have a mechanic measure it at the bump stop ({axle}.clearance.full_bump)",
    "caliper": "Try the wheel on, or the maker's caliper template",
}


def present_items(case: FitCase) -> list[FitItem]:
    """Whether the wheel that is on is known: every shift is counted from it."""
    unknown = guessed(case.car_before, case.axle)
    if not unknown:
        return []
    is_size = "tyre size" in unknown or "wheel width" in unknown
    spread = "" if is_size else f" give or take {case.length(2 * case.before.wheel_sd)}"
    words = (
        f"Present wheel: its {' and '.join(unknown)} {'is a' if len(unknown) == 1 else 'are'} typical "
        f"value{'' if len(unknown) == 1 else 's'}{spread}; every shift is counted from there."
    )
    needs = f"Read it on the wheel that is on ({case.axle}.wheel.size, {case.axle}.tyre.size)."
    return [case.item("present-wheel", FitState.OPEN, words, needs=needs, is_safety=False)]


def room_items(case: FitCase) -> list[FitItem]:
    """Every gap around the wheel: strut, fender, full lock of the steered axle, full bump, caliper."""
    names = ["strut", "fender", "full_bump"]
    if case.axle == "front":
        names.insert(2, "full_lock")
    items = [_gap(case, name) for name in names]
    if case.is_other_wheel or case.thicker_spacer:
        items.append(_caliper(case))
    return items


def _gap(case: FitCase, name: str) -> FitItem:
    tried = case.candidate.gaps.get(name)
    if tried is not None:
        return _judged(case, name, (tried, tried, 0.0))
    measured = getattr(case.part.clearance, name)
    if measured is None:
        return _unknown(case, name)
    least, most = _bounds(case, name, measured.value)
    is_sideways = not name.startswith("full") and case.shift.radial <= 0.0
    own = case.shift.lateral_sd if is_sideways else case.shift.reach_sd
    return _judged(case, name, (least, most, math.hypot(measured.uncertainty, own)))


def _bounds(case: FitCase, name: str, old: float) -> tuple[float, float]:
    """Least and greatest gap with the new wheel.

    Notes
    -----
    No point of the new tyre lies farther from the old surface than the reach of `Shift`, in any position of steering
    and suspension, since both turn and travel with the hub. A gap sideways is besides not larger than the shift leaves
    it; a smaller tyre may leave more where the nearest point is its shoulder.
    """
    to = case.shift
    if name.startswith("full"):
        away = math.hypot(max(-min(to.outer, to.tyre_outer), -min(to.inner, to.tyre_inner), 0.0), max(-to.radial, 0.0))
        return old - to.reach, old + away
    sideways = to.towards_strut if name == "strut" else to.towards_fender
    return old - math.hypot(max(sideways, 0.0), max(to.radial, 0.0)), old - sideways + max(-to.radial, 0.0)


def _judged(case: FitCase, name: str, gap: tuple[float, float, float]) -> FitItem:
    """Fits where two standard deviations leave the least gap, does not where they cannot; open between."""
    least, most, sd = gap
    wanted = LEAST[name]
    code = f"{name.replace('_', '-')}-gap"
    place, room = _WORDS[name], case.length(wanted)
    if least - 2 * sd >= wanted:
        return case.item(code, FitState.FITS, f"{place}: {case.length(least)} or more; at least {room} is wanted.")
    if most + 2 * sd < wanted:
        is_through = most < 0
        found = f"{case.length(-most)} too little room" if is_through else f"only {case.length(max(most, 0.0))} left"
        return case.item(code, FitState.NO, f"{place}: {found}; at least {room} is wanted.")
    low = case.length(least) if least > 0 else "touching"
    spread = f"{low} to {case.length(most)}" if most - least > 5e-4 else case.length(max(least, 0.0))
    words = f"{place}: {spread}, give or take {case.length(2 * sd)}; at least {room} is wanted, so it is not sure."
    return case.item(code, FitState.OPEN, words, needs=f"Measure with the new wheel on: --gap {case.axle}.{name}=...")


def _unknown(case: FitCase, name: str) -> FitItem:
    how = _HOW[name].format(axle=case.axle)
    code = f"{name.replace('_', '-')}-gap"
    return case.item(
        code,
        FitState.OPEN,
        f"{_WORDS[name]}: not known.",
        needs=f"{how}, or with the new wheel on: --gap {case.axle}.{name}=...",
    )


def _caliper(case: FitCase) -> FitItem:
    """A wheel's inside is not told by its size: only what cannot fit is known without trying."""
    if "caliper" in case.candidate.gaps:
        return _gap(case, "caliper")
    radius = case.part.hub.caliper_radius
    inside = case.after.wheel.diameter / 2 - _BARREL
    if case.is_other_wheel and radius is not None and radius.value - 2 * radius.uncertainty > inside:
        words = (
            f"Brake caliper: it reaches {case.length(radius.value)} from the wheel's axis, and a wheel of "
            f"{case.after.wheel.diameter / 0.0254:g} in has at most {case.length(inside)} inside."
        )
        return case.item("caliper-gap", FitState.NO, words)
    return _unknown(case, "caliper")
