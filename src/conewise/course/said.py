"""How the checks of a course write lengths and speeds: in the units that are shown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.quantities import in_unit, shown_unit

if TYPE_CHECKING:
    from conewise.quantities import System


@dataclass(frozen=True, slots=True)
class Said:
    """Lengths and speeds in words of one system of units."""

    system: System = "metric"

    def length(self, value: float, digits: int = 2) -> str:
        """A length with its unit; `digits` behind the point in metres, one less in feet. [m]

        Examples
        --------
        >>> Said().length(13.7), Said("us").length(13.7), Said("us").length(454.2, 0)
        ('13.70 m', '44.9 ft', '1490 ft')
        """
        unit = shown_unit("length", self.system)
        places = digits if self.system == "metric" else max(digits - 1, 0)
        return f"{in_unit(value, 'length', unit):.{places}f} {unit}"

    def number(self, value: float) -> str:
        """A length without its unit, in whole metres or feet: the first of two that stand together. [m]"""
        return self.length(value, 0).split(" ", maxsplit=1)[0]

    def speed(self, value: float, digits: int = 0) -> str:
        """A speed with its unit. [m/s]

        Examples
        --------
        >>> Said().speed(20.0), Said("us").speed(20.0)
        ('72 km/h', '45 mph')
        """
        unit = shown_unit("speed", self.system)
        return f"{in_unit(value, 'speed', unit):.{digits}f} {unit}"


METRIC = Said()
