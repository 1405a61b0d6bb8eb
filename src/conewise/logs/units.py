"""What a column may measure and in which unit, and the way from there to the log's own unit."""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from conewise.errors import InputError
from conewise.logs.log import KINDS
from conewise.quantities import UnitError, parse

if TYPE_CHECKING:
    from conewise.logs.columns import Array
    from conewise.quantities import Dimension

TIME, DATE, IGNORE = "time", "date", "ignore"
QUANTITIES = (*KINDS, TIME, DATE, IGNORE)

CLOCKS = ("hhmmss", "hhmmsscc", "hhmmsszzz")  # digits of the time of day: whole or with decimals, 1/100 s, 1/1000 s
DATES = ("ddmmyy", "yymmdd", "mmddyy", "ddmmyyyy", "yyyymmdd", "mmddyyyy")
EPOCHS = {"epoch s": 1.0, "epoch ms": 1e-3, "epoch us": 1e-6, "epoch ns": 1e-9}
_TIMES = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9, "min": 60.0, "h": 3600.0, **EPOCHS}

_DIMENSIONS: dict[str, Dimension] = {"m": "length", "m/s": "speed", "rad": "angle", "m/s2": "acceleration",
                                     "rad/s": "angular-rate"}  # fmt: skip
# Units that are thought of where the file tells none, the more usual first.
_USUAL: dict[str, tuple[str, ...]] = {
    "m": ("m", "ft"),
    "m/s": ("km/h", "m/s", "mph", "kn"),
    "rad": ("deg", "rad"),
    "m/s2": ("m/s2", "g"),
    "rad/s": ("deg/s", "rad/s"),
    "deg": ("deg", "1e-7 deg", "ddmm.mmmm", "rad"),
}
_OWN = {"engine_speed": ("rpm",), "throttle": ("%", "1"), "brake": ("%", "1", "bar", "psi"),
        "altitude": ("m", "ft"), "gear": ("1",)}  # fmt: skip
_EVERY: tuple[Dimension, ...] = ("length", "speed", "angle", "mass", "pressure", "torque", "force", "power", "time",
                                 "angular-rate", "frequency", "ratio", "temperature", "acceleration")  # fmt: skip
_NO_PRESSURE = 1e-6  # of any unit: a brake that was never touched
_SHARES: dict[str, tuple[Dimension, ...]] = {"brake": ("pressure", "ratio"), "throttle": ("ratio",)}
_PLACES = {"deg": 1.0, "rad": 180.0 / np.pi, "1e-7 deg": 1e-7, "mrad": 0.18 / np.pi}
_WITH_UNIT = re.compile(r"(?P<name>.*\S)\s*[\[({](?P<unit>[^\[\](){}]*)[\])}]")
_NONE = {"", "1", "-", "n", "#", "none", "count", "sats", "no"}

# Spellings that files have and the table of units has not.
_SPELLINGS = {
    spelling: unit.strip()
    for unit, _, listed in (
        line.partition("=")
        for line in """
m/s = mps ms-1 m*s-1 m/sec meters/second metres/second
km/h = kmh kmph km/hr kmhr km*h-1 kph
mph = mi/hr miles/h miles/hour
kn = kts kt
m/s2 = ms2 mps2 m/sec2 m/s/s ms-2 m/ss mpss m/sec^2 m/s^2 m/s**2 m/s²
g = gs gee g0 gforce
deg/s = dps deg/sec degrees/s degrees/second degs d/s º/s
rad/s = rads rad/sec rps radians/s
rad = radians radian
deg = degree degrees ° dd decimaldegrees º
% = pct perc
s = sec secs
ms = msec millis milliseconds
us = usec µs μs microseconds
ns = nanoseconds nsec
1e-7 deg = degx1e7 deg1e7 deg*1e7 1e-7deg degree*1e7 deg*1e-7 degree*10^-7
ddmm.mmmm = dddmm.mmmm
epoch s = epochs unix unixs
epoch ms = epochms unixms
epoch us = epochus
epoch ns = epochns
rpm = rev upm
""".replace("\n    ", " ")
        .strip()
        .splitlines()
    )
    for spelling in listed.split()
}


class ColumnUnitError(InputError):
    """A column is mapped to a quantity or a unit that there is not."""

    code = "column-unit"

    def __init__(self, problem: str, *, where: str, known: tuple[str, ...]) -> None:
        super().__init__(problem, where=where, hint=f"Known: {', '.join(known)}.")


@cache
def plain_unit(text: str) -> str:
    """A unit as it is spelled here; text that is no known spelling comes back as it is.

    Examples
    --------
    >>> plain_unit("[M/S^2]"), plain_unit(" kph "), plain_unit("deg/sec")
    ('m/s2', 'km/h', 'deg/s')
    """
    bare = re.sub(r"\s+", "", text.strip().strip("[](){}<>").lower())
    return _SPELLINGS.get(bare, bare)


def without_unit(name: str) -> tuple[str, str]:
    """A column's name without the unit in brackets behind it, and that unit; "" where there is none.

    Examples
    --------
    >>> without_unit("course [rad]"), without_unit("Speed (km/h)"), without_unit("ax")
    (('course', 'rad'), ('Speed', 'km/h'), ('ax', ''))
    """
    found = _WITH_UNIT.fullmatch(name.strip())
    return (name.strip(), "") if found is None else (found["name"], found["unit"].strip())


def usual_units(quantity: str) -> tuple[str, ...]:
    """Units in which a quantity is usually recorded, the more usual first."""
    if quantity == TIME:
        return (*_TIMES, *CLOCKS)
    if quantity == DATE:
        return DATES
    if quantity == IGNORE:
        return ("",)
    return _OWN.get(quantity) or _USUAL.get(KINDS[quantity].unit, ("1",))


def is_unit_of(unit: str, quantity: str) -> bool:
    """Whether a column of that quantity can be in that unit; a leading minus turns the sign."""
    bare = plain_unit(unit.removeprefix("-") if len(unit) > 1 else unit)
    if quantity in {TIME, DATE} or bare in usual_units(quantity):
        return bare in usual_units(quantity)
    if quantity == IGNORE:
        return True
    kind = KINDS[quantity].unit
    if kind == "deg":
        return bare in _PLACES or bare in {"degree", "degrees", "°"}
    if kind == "1":
        also = _SHARES.get(quantity, ())
        return bare in _NONE or any(_factor(bare, dimension) is not None for dimension in also)
    return _factor(bare, _DIMENSIONS[kind]) is not None


@cache
def _factor(unit: str, dimension: Dimension) -> float | None:
    """Size of a unit in SI; None where the dimension has no such unit."""
    if not unit:
        return None
    try:
        return parse(f"1 {unit}", dimension, where="unit")
    except UnitError:
        return None


def in_own_unit(values: Array, quantity: str, unit: str) -> Array:
    """Values of a column in the unit of its kind.

    Parameters
    ----------
    values : Array, shape (n_samples,)
        As recorded.
    quantity : str
        A kind of `KINDS`.
    unit : str
        One for which `is_unit_of` holds; with a leading minus the sign is turned.

    Notes
    -----
    A brake pressure comes back as a share of its largest value.
    """
    sign = -1.0 if len(unit) > 1 and unit.startswith("-") else 1.0
    bare = plain_unit(unit.removeprefix("-") if len(unit) > 1 else unit)
    kind = KINDS[quantity].unit
    if kind == "deg":
        if bare == "ddmm.mmmm":
            whole = np.trunc(values / 100.0)
            return np.asarray(sign * (whole + (values - 100.0 * whole) / 60.0))
        return sign * values * _PLACES.get(bare, 1.0)
    if kind == "1":
        pressure = _factor(bare, "pressure") if quantity == "brake" else None
        if pressure is not None:
            largest = float(np.nanmax(values, initial=0.0))
            return values / largest if largest > _NO_PRESSURE else values * 0.0
        return sign * values * (_factor(bare, "ratio") or 1.0)
    return sign * values * (_factor(bare, _DIMENSIONS[kind]) or 1.0)


def seconds_in(unit: str) -> float | None:
    """Seconds in one unit of a time column; None for a clock that is written in digits."""
    return _TIMES.get(plain_unit(unit), _TIMES.get(unit))


@cache
def unit_known(unit: str) -> bool:
    """Whether a spelling is a unit of anything that a log may hold."""
    if not unit:
        return False
    if unit in _TIMES or unit in _PLACES or unit in CLOCKS or unit in DATES or unit in _SPELLINGS.values():
        return True
    return any(_factor(unit, dimension) is not None for dimension in _EVERY)
