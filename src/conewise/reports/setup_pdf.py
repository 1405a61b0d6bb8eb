"""The set-up of a car as PDF: what it should be at each axle, what was changed, and room for what is measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from conewise.cars.car import AXLES, field
from conewise.cars.plausible import value_in_words
from conewise.quantities import Origin
from conewise.reports import documents

if TYPE_CHECKING:
    from conewise.cars.adjustable import Setting
    from conewise.cars.car import Car
    from conewise.quantities import System

_ROWS = (
    ("Tyre pressure, cold", "tyre.pressure"),
    ("Pressure, lowest allowed", "tyre.pressure_low"),
    ("Pressure, highest allowed", "tyre.pressure_high"),
    ("Camber", "camber"),
    ("Toe-in of each wheel", "toe"),
    ("Caster", "caster"),
    ("Spring, each", "spring_rate"),
    ("Bar, diameter", "bar_diameter"),
    ("Bar, bore", "bar_bore"),
    ("Bar, lever arm", "bar_arm"),
    ("Damper, low speed", "damping"),
    ("Spacer, each side", "spacer"),
    ("Wheel width", "wheel.width"),
    ("Wheel offset", "wheel.offset"),
    ("Differential preload", "differential.preload"),
)
_WHOLE = (("Mass without the driver", "mass.total"), ("On the front axle", "mass.front_share"),
          ("Cross weight", "mass.cross_weight"), ("Driver", "mass.driver"))  # fmt: skip
_CAUTIONS = (
    "Never under a car on a jack alone: stands, level ground, chocks. Brakes and wheels are hot after a run.",
    "Compressed springs, airbags, fuel and high voltage: a qualified mechanic.",
    "Wheel nuts to the maker's value, checked again cold.",
    "After work on brakes test them at walking speed; bed new pads in.",
    "Stay within the tyre's and the maker's marked pressures. The rule book, the maker's manual and officials decide.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SetupSheet:
    """The set-up of a car at a time.

    label: name of the set-up.
    changes: date and words of what is on the car beyond its file, or of its versions, oldest first.
    torque: of the wheel nuts from the maker's manual as somebody entered it; empty where nobody did.
    settings: what can be adjusted, where that is known.
    """

    car: Car
    label: str
    when: str
    changes: tuple[tuple[str, str], ...] = ()
    torque: str = ""
    settings: tuple[Setting, ...] = ()


def setup_pdf(sheet: SetupSheet, *, system: System = "metric", paper: str = "a4") -> bytes:
    """The whole file; `system` is "metric" or "us", `paper` "a4" or "letter"."""
    return documents.pdf("setup", setup_data(sheet, system=system), paper=paper)


def setup_data(sheet: SetupSheet, *, system: System = "metric") -> dict[str, Any]:
    """What the template sets: texts only."""
    ranges = {name: _range(one, system) for one in sheet.settings for name in one.fields}
    rows = []
    for label, name in _ROWS:
        values = [_value(sheet.car, f"{axle}.{name}", system) for axle in AXLES]
        if any(values):
            allowed = next((ranges[f"{axle}.{name}"] for axle in AXLES if f"{axle}.{name}" in ranges), "")
            rows.append([label, *values, allowed])
    whole = [[label, _value(sheet.car, name, system)] for label, name in _WHOLE]
    return {
        "title": sheet.car.name,
        "label": sheet.label,
        "when": sheet.when,
        "whole": [row for row in whole if row[1]],
        "rows": rows,
        "has_ranges": bool(ranges),
        "changes": [list(change) for change in sheet.changes],
        "torque": sheet.torque,
        "cautions": list(_CAUTIONS),
    }


def _value(car: Car, name: str, system: System) -> str:
    """A value as the car's sheet on the screen has it; a star where it is typical or estimated."""
    value = car.values.get(name)
    if value is None:
        return ""
    star = " *" if value.origin in {Origin.TYPICAL, Origin.ESTIMATED} else ""
    return value_in_words(value.value, field(name), system) + star


def _range(setting: Setting, system: System) -> str:
    """What a setting can be: its few positions, or its two ends with the step."""
    facts = field(setting.field)
    if setting.values:
        return ", ".join(value_in_words(x, facts, system) for x in setting.values)
    low, high = (value_in_words(x, facts, system) for x in (setting.low, setting.high))
    return f"{low} to {high}"
