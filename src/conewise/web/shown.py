"""How a person wants to read: look of the page, units, the sign before decimals. Kept by each browser for itself."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.reports.units import UNIT_SYSTEMS, signed

if TYPE_CHECKING:
    from collections.abc import Mapping

    from conewise.reports.units import Units

_DECIMAL = re.compile(r"(\d)\.(\d)")
LOOKS = ("light", "sunlight", "dark")
DECIMALS = {"point": ".", "comma": ","}
COOKIES = {"look": "conewise-look", "units": "conewise-units", "decimal": "conewise-decimal"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """How a person wants to read."""

    look: str = "light"
    system: str = "metric"
    decimal: str = "point"

    @property
    def units(self) -> Units:
        """The units, as the reports take them."""
        return UNIT_SYSTEMS[self.system]

    def number(self, value: float | None, digits: int = 0) -> str:
        """A number with its decimals; a dash where there is none. A rounded zero has no sign.

        Examples
        --------
        >>> Shown(decimal="comma").number(61.234, 2), Shown().number(-0.5, 1), Shown().number(-0.04, 1)
        ('61,23', '−0.5', '0.0')
        """
        if value is None:
            return "–"
        return f"{value:z.{digits}f}".replace("-", "−").replace(".", DECIMALS[self.decimal])

    def signed(self, value: float | None, digits: int = 2) -> str:
        """A difference with its sign; a rounded zero has none."""
        return "–" if value is None else signed(value, digits).replace(".", DECIMALS[self.decimal])

    def words(self, written: str) -> str:
        """Words of a report with the sign before decimals.

        Examples
        --------
        >>> Shown(decimal="comma").words("1.25 s, run 3. Then 2.")
        '1,25 s, run 3. Then 2.'
        """
        return _DECIMAL.sub(rf"\g<1>{DECIMALS[self.decimal]}\g<2>", written)


def shown_of(cookies: Mapping[str, str]) -> Shown:
    """What a browser keeps; what is unknown is left at the usual."""
    look, system, decimal = (cookies.get(name, "") for name in COOKIES.values())
    usual = Shown()
    return Shown(
        look=look if look in LOOKS else usual.look,
        system=system if system in UNIT_SYSTEMS else usual.system,
        decimal=decimal if decimal in DECIMALS else usual.decimal,
    )
