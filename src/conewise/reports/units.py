"""Units for people: metric or US, at the last moment before a number is shown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.quantities import GRAVITY, in_unit, parse, show

if TYPE_CHECKING:
    from conewise.quantities import Dimension, System
    from conewise.solver.result import Gradient


@dataclass(frozen=True, slots=True, kw_only=True)
class Units:
    """What a number is multiplied with, and the unit's sign that is printed after it."""

    name: System
    speed_unit: str
    speed_factor: float  # shown speed per m/s
    length_unit: str
    length_factor: float  # shown length per m
    margin_unit: str
    margin_factor: float  # shown margin per m
    price_step: float  # step at a cone for which a price is shown [m]
    price_step_text: str
    wide_step: float  # [m]
    wide_step_text: str

    def speed(self, value: float) -> str:
        """A speed without its unit, one decimal. `value` in m/s."""
        return f"{value * self.speed_factor:.1f}"

    def length(self, value: float) -> str:
        """A length without its unit, whole. `value` in m."""
        return f"{value * self.length_factor:.0f}"

    def margin(self, value: float) -> str:
        """A distance to a cone without its unit. `value` in m."""
        return f"{round(value * self.margin_factor)}".replace("-", "−")

    def price(self, value: float) -> str:
        """Seconds for one `price_step` at a cone. `value` in s/m."""
        return f"{value * self.price_step:.3f}"

    def entry_price(self, value: float) -> str:
        """Seconds for one shown unit of entry speed. `value` in s per m/s."""
        return signed(value / self.speed_factor, 3)

    def wide_price(self, value: float) -> str:
        """Seconds for one `wide_step`. `value` in s per 0.3 m."""
        return signed(value * self.wide_step / 0.3, 3)


METRIC = Units(
    name="metric",
    speed_unit="km/h",
    speed_factor=in_unit(1.0, "speed", "km/h"),
    length_unit="m",
    length_factor=1.0,
    margin_unit="cm",
    margin_factor=in_unit(1.0, "length", "cm"),
    price_step=0.1,
    price_step_text="10 cm",
    wide_step=0.3,
    wide_step_text="30 cm",
)
US = Units(
    name="us",
    speed_unit="mph",
    speed_factor=in_unit(1.0, "speed", "mph"),
    length_unit="ft",
    length_factor=in_unit(1.0, "length", "ft"),
    margin_unit="in",
    margin_factor=in_unit(1.0, "length", "in"),
    price_step=4.0 / in_unit(1.0, "length", "in"),
    price_step_text="4 in",
    wide_step=1.0 / in_unit(1.0, "length", "ft"),
    wide_step_text="1 ft",
)
UNIT_SYSTEMS = {"metric": METRIC, "us": US}

# Units that are shown otherwise in the US, and what they measure.
_DIMENSIONS: dict[str, Dimension] = {
    "m": "length",
    "mm": "length",
    "kg": "mass",
    "W": "power",
    "kW": "power",
    "N": "force",
    "N m": "torque",
    "N/m": "spring-rate",
    "N/mm": "spring-rate",
    "N m/deg": "angular-stiffness",
    "N s/m": "damping",
    "kg m2": "moment-of-inertia",
    "m2": "area",
}


def step_text(gradient: Gradient, units: Units) -> str:
    """The reference step of a gradient as a person reads it: "+10 kg", "+22.0 lb"."""
    step, unit = gradient.reference_step, gradient.unit
    sign = "−" if step < 0.0 else "+"
    dimension = _DIMENSIONS.get(unit)
    if units.name == "us" and dimension is not None:
        return sign + show(parse(f"{abs(step):.15g} {unit}", dimension, where=gradient.name), dimension, "us")
    shown = "" if unit == "-" else unit.replace("m2", "m²")
    return f"{sign}{abs(step):.3g} {shown}".strip()


def in_g(acceleration: float) -> float:
    """An acceleration in units of the standard acceleration of free fall. `acceleration` in m/s2."""
    return acceleration / GRAVITY


def signed(value: float, digits: int) -> str:
    """A number with its sign; a rounded zero has none."""
    text = f"{abs(value):.{digits}f}"
    if float(text) == 0.0:
        return text
    return ("−" if value < 0.0 else "+") + text
