"""The bounds that no proposed setting crosses: lock order of the brakes, and understeer for those who need it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from conewise.advisor.click_search import Bound
from conewise.errors import InfeasibleError
from conewise.quantities import GRAVITY
from conewise.vehicle.bounds import brake_reserve, least_understeer_gradient, worst_brake_reserve
from conewise.vehicle.lock_order import BRAKING_GEAR

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from conewise.cars.car import Car
    from conewise.vehicle.parameters import ModelParameters
    from conewise.workflows.setting_positions import Position, Space

BRAKE_MARGIN = 0.02  # front share kept above the least one: a standard uncertainty of the share
COLD_PADS = 0.9  # friction of cold pads over warm ones where the car file tells none; common practice, no source
HELD_LEVELS = ("novice", "regular")  # drivers whose car must understeer up to 0.9 of its limit
# Numbers of the model that a steady turn does not know.
_NOT_STEADY: dict[str, Any] = {"roll_damping_front": 0.0, "roll_damping_rear": 0.0, "brake_front_share": 0.5}


class NoAllowedSettingError(InfeasibleError):
    """No combination keeps the bounds."""

    code = "no-allowed-setting"
    default_hint = "Widen the ranges, or have a qualified mechanic mend what the bound asks for."

    def __init__(self, bounds: Sequence[str]) -> None:
        super().__init__(f"No combination of these settings was found with which {'; and '.join(bounds)}.")


@dataclass(kw_only=True)
class Held:
    """One quantity that a bound holds at `least` or more; each position is looked at once."""

    name: str
    asks: str
    value: Callable[[Position], float]
    least: float
    unit: str
    digits: int
    scale: float = 1.0  # shown number over `value`
    known: dict[Position, float] = field(default_factory=dict)

    def at(self, position: Position) -> float:
        """The quantity at a position."""
        if position not in self.known:
            self.known[position] = self.value(position)
        return self.known[position]

    @property
    def bound(self) -> Bound:
        """For the search."""
        return Bound(name=self.name, reserve=lambda position: self.at(position) - self.least)


def bounds_of(
    numbers: Callable[[Position], ModelParameters], *, space: Space, level: str, surface: float
) -> tuple[Held, ...]:
    """The bounds for a driver on a surface.

    Parameters
    ----------
    numbers : callable
        The model's numbers at a position.
    space : Space
        Where the car stands, and where its settings end.
    level : str
        Of the driver.
    surface : float
        Friction factor asked for; dry ground is always looked at too.
    """
    found = [_brakes(numbers, space.now), _first_stop(numbers, space, surface)]
    if level in HELD_LEVELS:
        found.append(_understeer(numbers, level, surface))
    return tuple(found)


def _brakes(numbers: Callable[[Position], ModelParameters], now: Position) -> Held:
    """Front share of the brake force over the least one; with ABS no worse than now where it is below already."""
    p = numbers(now)
    least = min(BRAKE_MARGIN, brake_reserve(p))  # no slack: accepted one after the other, steps would add up
    if p.abs_share < 1.0:
        least = max(0.0, least)
    return Held(
        name="lock order of the brakes",
        asks="the rear axle never locks first up to the tyres' peak, dry or wet; "
        f"{100 * BRAKE_MARGIN:.0f} points of front share to spare, or what the car has now",
        value=lambda position: brake_reserve(numbers(position)),
        least=least,
        unit="points of front share to spare",
        digits=1,
        scale=100.0,
    )


def _first_stop(numbers: Callable[[Position], ModelParameters], space: Space, surface: float) -> Held:
    """The same with the clutch closed and the front pads alone cold; no worse than now where no setting mends it."""
    cold = cold_front_pads(space.car)

    def value(position: Position) -> float:
        return worst_brake_reserve(numbers(position), cold=cold, surface=surface)

    least = min(0.0, value(space.now))
    if least < 0.0 and numbers(space.now).abs_share < 1.0 and any(value(end) >= 0.0 for end in space.ends):
        least = 0.0
    return Held(
        name="lock order at the first stop",
        asks=f"the rear axle never locks first in gear {BRAKING_GEAR} with the clutch closed and cold front pads "
        f"({100 * cold:.0f}% of their warm friction); no worse than now where no setting alone mends that",
        value=value,
        least=least,
        unit="points of front share to spare",
        digits=1,
        scale=100.0,
    )


def cold_front_pads(car: Car) -> float:
    """Friction of the front pads cold over warm; a usual value where the car file does not tell both. [-]"""
    warm, cold = (car.values.get(f"front.brake.{name}") for name in ("pad_friction", "pad_friction_cold"))
    return COLD_PADS if warm is None or cold is None else min(cold.value / warm.value, 1.0)


def _understeer(numbers: Callable[[Position], ModelParameters], level: str, surface: float) -> Held:
    surfaces = sorted({1.0, surface})
    steady: dict[bytes, float] = {}

    def value(position: Position) -> float:
        p = replace(numbers(position), **_NOT_STEADY)
        key = p.vector().tobytes()
        if key not in steady:
            steady[key] = min(least_understeer_gradient(p, surface=factor) for factor in surfaces)
        return steady[key]

    return Held(
        name="understeer",
        asks=f"the understeer gradient stays positive up to 0.9 of the limit, for a {level} driver",
        value=value,
        least=0.0,
        unit="deg/g at least",
        digits=2,
        scale=float(np.rad2deg(1.0) * GRAVITY),
    )
