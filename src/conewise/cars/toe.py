"""Toe as an angle, and as the distance over the rim that a tape measures."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from conewise.cars.car import field
from conewise.cars.toml_file import usual_uncertainty
from conewise.quantities import Sourced

if TYPE_CHECKING:
    from conewise.cars.toml_file import Table
    from conewise.quantities import Origin

KEY = "toe_distance"


def toe_distance(toe: float, rim_diameter: float) -> float:
    """Toe of one wheel as the rim's rear less its front distance from the middle, D sin(toe). [m]"""
    return rim_diameter * math.sin(toe)


def toe_angle(distance: float, rim_diameter: float) -> float:
    """Toe of one wheel from that distance, asin(d / D). [rad]"""
    return math.asin(distance / rim_diameter)


def toe_of_distance(table: Table, rim: Sourced | None, *, origin: Origin) -> Sourced | None:
    """Toe of an axle whose file has `toe_distance`; None where it has not."""
    raw = table.take(KEY)
    if raw is None:
        return None
    if "toe" in table:
        table.fail(f"{table.path('toe')} is given, and {KEY} too.", KEY, hint="Leave one of the two out.")
    if rim is None:
        hint = f"Give {table.path('tyre.size')} too, or toe as an angle."
        table.fail(f"{table.path(KEY)} needs the rim over which it was measured.", KEY, hint=hint)
    facts, distance = field("front.toe"), table.number(raw, "length", KEY)
    most = toe_distance(facts.limits[1], rim.value)
    if abs(distance) > most:
        problem = f"{table.path(KEY)} is {raw}; each wheel has {1e3 * most:.0f} mm at the most."
        table.fail(problem, KEY, hint="It is the toe of one wheel, rear less front edge of the rim; half of the total.")
    toe = toe_angle(distance, rim.value)
    return Sourced(value=toe, uncertainty=usual_uncertainty(toe, facts, origin), origin=origin)
