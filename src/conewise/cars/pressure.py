"""What another tyre pressure does to a tyre: an estimate so uncertain that it mostly says what cannot be told.

A tyre's friction over pressure has a best value that only tests on the car find. The numbers of a car file hold at the
pressure that the file gives; here is how they move from there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.cars.edit import with_numbers
from conewise.cars.estimate import NOMINAL_PRESSURE, overall_diameter, tyre_rate
from conewise.cars.typical import numbers
from conewise.quantities import GRAVITY

if TYPE_CHECKING:
    from collections.abc import Mapping

    from conewise.cars.car import Car

CARCASS_RATE = 3.45 * GRAVITY * 1e3  # vertical rate without air, see `estimate.tyre_rate` [N/m]
LEAST_FACTOR = 0.5  # no effect of pressure goes further: the estimate is no use there


@dataclass(frozen=True, slots=True, kw_only=True)
class PressureEffect:
    """How a tyre answers to a relative change of pressure d = p / p0 - 1; each with a standard uncertainty.

    Notes
    -----
    friction (1 + slope d - loss d^2), cornering stiffness (1 + stiffness d). Nobody knows on which side of its best
    pressure a tyre stands: the slope is zero in the mean. For one measured 205/60R15 a published set has a slope of
    -0.17 lateral and -0.10 longitudinal, and a cornering stiffness that falls by 0.6 below its reference load and
    rises above (Besselink, Schmeitz and Pacejka, An improved Magic Formula/Swift tyre model that can handle inflation
    pressure changes, Vehicle System Dynamics 48 S1, 2010; numbers from memory); on soft side walls owners find the
    other sign (common practice, no source). The spreads cover both.
    """

    slope: float = 0.0
    slope_uncertainty: float = 0.15
    loss: float = 0.3
    loss_uncertainty: float = 0.2
    stiffness: float = -0.3
    stiffness_uncertainty: float = 0.3

    def friction_factor(self, relative: float) -> float:
        """Friction over that at the reference pressure."""
        return max(1.0 + self.slope * relative - self.loss * relative**2, LEAST_FACTOR)

    def stiffness_factor(self, relative: float) -> float:
        """Cornering stiffness over that at the reference pressure."""
        return max(1.0 + self.stiffness * relative, LEAST_FACTOR)


USUAL_EFFECT = PressureEffect()


def rate_factor(car: Car, axle: str, pressure: float) -> float:
    """Vertical rate of an axle's tyres at a pressure over that at the file's pressure.

    Notes
    -----
    The part of the rate that air carries is in proportion to pressure; the carcass carries the rest (Rhyne 2005, see
    `estimate.tyre_rate`).
    """
    v = numbers(car)
    size = (v[f"{axle}.tyre.{part}"] for part in ("section_width", "aspect", "rim_diameter"))
    width, aspect, rim = size
    at_nominal = tyre_rate(width, aspect, overall_diameter(width, aspect, rim)) - CARCASS_RATE
    air, before = (at_nominal * p / (NOMINAL_PRESSURE * 1e3) for p in (pressure, car.value(f"{axle}.tyre.pressure")))
    return (CARCASS_RATE + air) / (CARCASS_RATE + before)


def with_pressures(car: Car, pressures: Mapping[str, float], effects: Mapping[str, PressureEffect]) -> Car:
    """A copy with other pressures, and with what they do to the tyres.

    Parameters
    ----------
    car : Car
        Completed; with a pressure of its own on each axle that is named.
    pressures : Mapping of axle to float
        Cold. [Pa]
    effects : Mapping of axle to PressureEffect
        `USUAL_EFFECT` for an axle that is left out.
    """
    edits: dict[str, float] = {}
    for axle, pressure in pressures.items():
        tyre, effect = f"{axle}.tyre", effects.get(axle, USUAL_EFFECT)
        relative = pressure / car.value(f"{tyre}.pressure") - 1.0
        friction, stiffness = effect.friction_factor(relative), effect.stiffness_factor(relative)
        edits[f"{tyre}.pressure"] = pressure
        edits[f"{tyre}.friction"] = car.value(f"{tyre}.friction") * friction
        edits[f"{tyre}.friction_longitudinal"] = numbers(car)[f"{tyre}.friction_longitudinal"] * friction
        edits[f"{tyre}.cornering_coefficient"] = numbers(car)[f"{tyre}.cornering_coefficient"] * stiffness
        edits[f"{tyre}.spring_rate"] = numbers(car)[f"{tyre}.spring_rate"] * rate_factor(car, axle, pressure)
    return with_numbers(car, edits)
