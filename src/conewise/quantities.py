"""Quantities at the file border: text with a unit in, SI out, and back to what a person reads.

Inside the program everything is SI and radians; units exist only here. Symbols are listed by dimension, so
"lb" is a mass where a mass is asked for and a pound-force in torque, force and spring rates.
"""

from __future__ import annotations

import difflib
import math
import re
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from conewise.errors import ByFace, InputError, on_command_line

HALF_90 = 1.645  # half a 90% interval of a normal law over its standard deviation; tables of the normal distribution
OF_MEDIAN = 1.2533  # deviation of the median of many normal values over that of their mean: the root of half of pi
GRAVITY = 9.80665  # standard acceleration of free fall [m/s2]; 3rd CGPM, 1901, resolution 2
AIR_DENSITY = 1.225  # sea level, 15 degC [kg/m3]; ISO 2533, Standard Atmosphere, 1975
SHEAR_MODULUS = 79.3e9  # spring steel [Pa]; Shigley, Mechanical Engineering Design, table A-5 (11.5 Mpsi)

Dimension = Literal[
    "length",
    "speed",
    "angle",
    "mass",
    "pressure",
    "torque",
    "force",
    "spring-rate",
    "power",
    "time",
    "angular-rate",
    "frequency",
    "ratio",
    "moment-of-inertia",
    "temperature",
    "area",
    "damping",
    "density",
    "acceleration",
    "angular-stiffness",
    "angular-damping",
    "fluid-compliance",
    "energy",
]
System = Literal["metric", "us"]

_INCH = 0.0254  # international yard and pound agreement, 1959
_FOOT = 0.3048
_MILE = 1609.344
_POUND = 0.45359237
_POUND_FORCE = _POUND * GRAVITY
_DEG = math.pi / 180

# One line a unit: every spelling that files use, lower case and without spaces, then the size in SI.
_UNITS: dict[str, tuple[tuple[str, float], ...]] = {
    "length": (
        ("m metre metres meter meters", 1.0),
        ("mm", 1e-3),
        ("cm", 1e-2),
        ("km", 1e3),
        ('in inch inches "', _INCH),
        ("ft foot feet '", _FOOT),
        ("yd yard yards", 3 * _FOOT),
        ("mi mile miles", _MILE),
    ),
    "speed": (
        ("m/s", 1.0),
        ("mm/s", 1e-3),
        ("in/s ips", _INCH),
        ("km/h kmh kph", 1 / 3.6),
        ("mph mi/h", _MILE / 3600),
        ("kn knot knots", 1852 / 3600),
        ("ft/s", _FOOT),
    ),
    "angle": (("rad", 1.0), ("deg ° degree degrees", _DEG), ("mrad", 1e-3)),
    "mass": (("kg", 1.0), ("g", 1e-3), ("t", 1e3), ("lb lbs lbm", _POUND), ("oz", _POUND / 16)),
    "pressure": (
        ("pa", 1.0),
        ("kpa", 1e3),
        ("mpa", 1e6),
        ("bar", 1e5),
        ("psi", _POUND_FORCE / _INCH**2),
        ("kgf/cm2", GRAVITY * 1e4),
        ("atm", 101325.0),
    ),
    "torque": (
        ("nm", 1.0),
        ("lbft lbfft ftlb ftlbf ftlbs lbsft", _POUND_FORCE * _FOOT),
        ("lbin lbfin inlb inlbf inlbs", _POUND_FORCE * _INCH),
        ("kgfm mkgf kgm mkg", GRAVITY),
    ),
    "force": (("n", 1.0), ("kn", 1e3), ("lb lbs lbf", _POUND_FORCE), ("kgf", GRAVITY)),
    "spring-rate": (
        ("n/m", 1.0),
        ("n/mm kn/m", 1e3),
        ("n/cm", 1e2),
        ("lb/in lbf/in lbs/in", _POUND_FORCE / _INCH),
        ("lb/ft lbf/ft lbs/ft", _POUND_FORCE / _FOOT),
        ("kgf/mm kg/mm", GRAVITY * 1e3),
    ),
    "power": (
        ("w", 1.0),
        ("kw", 1e3),
        ("hp bhp", 550 * _POUND_FORCE * _FOOT),  # mechanical horsepower, 550 foot pound-force a second
        ("ps metrichp", 75 * GRAVITY),  # metric horsepower, 75 kilogram-force metres a second
    ),
    "time": (
        ("s sec second seconds", 1.0),
        ("ms", 1e-3),
        ("min minute minutes", 60.0),
        ("h", 3600.0),
        ("yr year years a", 365.25 * 86400),
    ),
    "angular-rate": (("rad/s", 1.0), ("deg/s °/s", _DEG), ("rpm r/min rev/min 1/min", math.pi / 30)),
    "frequency": (("hz 1/s", 1.0), ("cpm", 1 / 60)),
    "ratio": (("- :1", 1.0), ("% percent", 0.01)),
    "moment-of-inertia": (("kgm2", 1.0), ("lbft2", _POUND * _FOOT**2), ("lbin2", _POUND * _INCH**2)),
    "temperature": (("k", 1.0), ("c °c degc celsius", 1.0), ("f °f degf fahrenheit", 5 / 9)),
    "area": (("m2 sqm", 1.0), ("cm2", 1e-4), ("mm2", 1e-6), ("ft2 sqft", _FOOT**2), ("in2 sqin", _INCH**2)),
    "damping": (
        ("ns/m", 1.0),
        ("ns/mm kns/m", 1e3),
        ("lbs/in lbfs/in", _POUND_FORCE / _INCH),
        ("lbs/ft lbfs/ft", _POUND_FORCE / _FOOT),
    ),
    "density": (("kg/m3", 1.0), ("g/cm3", 1e3), ("lb/ft3", _POUND / _FOOT**3)),
    "acceleration": (("m/s2", 1.0), ("g", GRAVITY), ("ft/s2", _FOOT)),
    "angular-stiffness": (
        ("nm/rad", 1.0),
        ("nm/deg nm/°", 1 / _DEG),
        ("lbft/deg lbfft/deg ftlb/deg", _POUND_FORCE * _FOOT / _DEG),
    ),
    "angular-damping": (
        ("nms/rad", 1.0),
        ("nms/deg", 1 / _DEG),
        ("lbfts/deg lbffts/deg", _POUND_FORCE * _FOOT / _DEG),
    ),
    "energy": (("j", 1.0), ("kj", 1e3), ("mj", 1e6), ("btu", 1055.06)),
    "fluid-compliance": (
        ("m3/pa", 1.0),
        ("cm3/bar cc/bar ml/bar", 1e-11),
        ("cm3/mpa cc/mpa ml/mpa", 1e-12),
        ("in3/psi", _INCH**3 / (_POUND_FORCE / _INCH**2)),
    ),
}
_SCALE = {
    dimension: {spelling: size for spellings, size in rows for spelling in spellings.split()}
    for dimension, rows in _UNITS.items()
}
_ZERO = {"c": 273.15, "°c": 273.15, "degc": 273.15, "celsius": 273.15}
_ZERO |= dict.fromkeys(("f", "°f", "degf", "fahrenheit"), 273.15 - 32 * 5 / 9)

# What a person would write, for hints.
_EXAMPLES: dict[str, str] = {
    "length": '"60 ft" or "18.3 m"',
    "speed": '"25 mph" or "40 km/h"',
    "angle": '"-1.5 deg"',
    "mass": '"1050 kg" or "2315 lb"',
    "pressure": '"32 psi", "2.2 bar" or "220 kPa"',
    "torque": '"250 N m" or "180 lb ft"',
    "force": '"2500 N" or "560 lb"',
    "spring-rate": '"450 lb/in" or "79 N/mm"',
    "power": '"90 kW" or "120 hp"',
    "time": '"0.25 s"',
    "angular-rate": '"6500 rpm" or "600 deg/s"',
    "frequency": '"1.8 Hz"',
    "ratio": '"0.7" or "70 %"',
    "moment-of-inertia": '"1500 kg m2"',
    "temperature": '"20 C" or "68 F"',
    "area": '"0.65 m2"',
    "damping": '"2500 N s/m"',
    "density": '"1.2 kg/m3"',
    "acceleration": '"0.9 g" or "9 m/s2"',
    "angular-stiffness": '"350 N m/deg"',
    "angular-damping": '"2500 N m s/rad"',
    "energy": '"400 kJ"',
    "fluid-compliance": '"0.03 cm3/bar"',
}
_BARE = {"length", "ratio"}  # a number without a unit is metres, and plain

_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_QUANTITY = re.compile(rf"^\s*({_NUMBER})\s*(.*?)\s*$", re.DOTALL)
_FEET_INCHES = re.compile(r"^\s*([+-]?)(\d+\.?\d*)\s*(?:ft|feet|')\s*(\d+\.?\d*)\s*(?:in|inches|\")\s*$", re.IGNORECASE)
_COMMA = re.compile(r"\d,\d")
_NOT_FINITE = re.compile(r"^\s*[+-]?(?:nan|inf(?:inity)?)\b", re.IGNORECASE)

# dimension -> system -> (symbol, spelling in the table)
_SHOWN: dict[str, dict[str, str]] = {
    "length": {"metric": "m", "us": "ft"},
    "speed": {"metric": "km/h", "us": "mph"},
    "angle": {"metric": "deg", "us": "deg"},
    "mass": {"metric": "kg", "us": "lb"},
    "pressure": {"metric": "bar", "us": "psi"},
    "torque": {"metric": "N m", "us": "lb ft"},
    "force": {"metric": "N", "us": "lb"},
    "spring-rate": {"metric": "N/mm", "us": "lb/in"},
    "power": {"metric": "kW", "us": "hp"},
    "time": {"metric": "s", "us": "s"},
    "angular-rate": {"metric": "rpm", "us": "rpm"},
    "frequency": {"metric": "Hz", "us": "Hz"},
    "ratio": {"metric": "", "us": ""},
    "moment-of-inertia": {"metric": "kg m2", "us": "lb ft2"},
    "temperature": {"metric": "C", "us": "F"},
    "area": {"metric": "m2", "us": "ft2"},
    "damping": {"metric": "N s/m", "us": "lb s/in"},
    "density": {"metric": "kg/m3", "us": "lb/ft3"},
    "acceleration": {"metric": "m/s2", "us": "g"},
    "angular-stiffness": {"metric": "N m/deg", "us": "lb ft/deg"},
    "angular-damping": {"metric": "N m s/deg", "us": "lb ft s/deg"},
    "energy": {"metric": "kJ", "us": "BTU"},
    "fluid-compliance": {"metric": "cm3/bar", "us": "cm3/bar"},
}


class UnitError(InputError):
    """A quantity that cannot be read: no unit, another dimension, not a number.

    Parameters
    ----------
    value : object
        What stood in the file.
    dimension : str
        What was wanted.
    problem : str
        What is wrong with it, as the end of a sentence about the value.
    where, file : str
        Field (or line and field), and file.
    """

    code = "unit"

    def __init__(self, value: object, dimension: str, problem: str, *, where: str, file: str = "") -> None:
        self.value = value
        self.dimension = dimension
        self.field = where
        self.file = file
        said = f"{on_command_line(where) or 'The value'} is {_quoted(value)}: {problem}."
        beside = ByFace(f"{_quoted(value)} cannot be used: {problem}.", typed=said)  # the field of a page has its label
        super().__init__(
            beside if isinstance(where, ByFace) else said,
            where=f"{file}, {where}" if file and where else file or where,
            hint=f"Write {_article(dimension)} such as {_EXAMPLES[dimension]}.",
        )


class Origin(StrEnum):
    """Where a value came from."""

    MEASURED = "measured"
    SPEC_SHEET = "spec sheet"
    PAGE = "car's page"  # somebody set it there
    TYPICAL = "typical"  # for this kind of car
    ESTIMATED = "estimated"  # follows from other values of the same car


@dataclass(frozen=True, slots=True, kw_only=True)
class Sourced:
    """A value with its standard uncertainty, both in SI, and where it came from."""

    value: float
    uncertainty: float
    origin: Origin


def parse(value: str | float, dimension: Dimension, *, where: str, file: str = "") -> float:
    """Value in SI of a number or of text with a unit.

    Parameters
    ----------
    value : str, int or float
        "60 ft", "32 psi", "450 lb/in", "12 ft 6 in", 18.3. A bare number is metres for a length and plain
        for a ratio; for every other dimension it is refused.
    dimension : str
        What the field holds.
    where : str
        Field, or line and field, for the message.
    file : str, default ""
        File, for the message.

    Returns
    -------
    float
        The value in SI units and radians; temperatures in kelvin.

    Raises
    ------
    UnitError
        If the value is no finite number, has no unit where one is needed, or has a unit of another dimension.

    Examples
    --------
    >>> round(parse("60 ft", "length", where="spacing"), 3)
    18.288
    >>> round(parse("450 lb/in", "spring-rate", where="front.spring_rate"))
    78807
    """
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise UnitError(value, dimension, "this is no quantity", where=where, file=file)
    number, unit = _split(value, dimension, where=where, file=file)
    if not math.isfinite(number):
        raise UnitError(value, dimension, "this is not a finite number", where=where, file=file)
    if not unit:
        if dimension not in _BARE:
            raise UnitError(value, dimension, "the unit is missing", where=where, file=file)
        return number
    spelling = _spelling(unit)
    if spelling not in _SCALE[dimension]:
        raise UnitError(value, dimension, _unit_problem(unit, dimension), where=where, file=file)
    return number * _SCALE[dimension][spelling] + _ZERO.get(spelling, 0.0) * (dimension == "temperature")


def in_unit(value: float, dimension: Dimension, unit: str) -> float:
    """Size of an SI value in one of the units of its dimension; KeyError for a unit of another dimension."""
    spelling = _spelling(unit)
    if not unit:
        return value
    return (value - _ZERO.get(spelling, 0.0) * (dimension == "temperature")) / _SCALE[dimension][spelling]


def shown_unit(dimension: Dimension, system: System = "metric") -> str:
    """Unit in which a dimension is shown; empty for a ratio."""
    return _SHOWN[dimension][system]


def si_unit(dimension: Dimension) -> str:
    """Spelling of the SI unit of a dimension, as files have it; empty for a ratio."""
    shown = shown_unit(dimension)
    if _SCALE[dimension].get(_spelling(shown)) == 1.0:
        return shown
    spelling = next(spellings for spellings, size in _UNITS[dimension] if size == 1.0).split()[0]
    return "" if spelling == "-" else spelling


def show(value: float, dimension: Dimension, system: System = "metric", digits: int = 3) -> str:
    """Text of an SI value with `digits` significant digits, the whole part never rounded away.

    Examples
    --------
    >>> show(18.288, "length", "us"), show(0.025, "length"), show(78807.0, "spring-rate")
    ('60.0 ft', '25.0 mm', '78.8 N/mm')
    """
    unit = shown_unit(dimension, system)
    if dimension == "length" and abs(value) < (0.3 if system == "metric" else 3 * _FOOT):
        unit = "mm" if system == "metric" else "in"
    number = in_unit(value, dimension, unit)
    size = math.floor(math.log10(abs(number))) if number else 0
    text = f"{number:.{max(0, digits - 1 - size)}f}"
    return f"{text} {unit}".strip()


def _split(value: str | float, dimension: str, *, where: str, file: str) -> tuple[float, str]:
    """Number and unit of a value; feet with inches come back as feet."""
    if not isinstance(value, str):
        return float(value), ""
    if dimension == "length" and (both := _FEET_INCHES.match(value)):
        sign = -1.0 if both[1] == "-" else 1.0
        return sign * (float(both[2]) + float(both[3]) / 12), "ft"
    if _NOT_FINITE.match(value):
        return math.nan, ""
    if _COMMA.search(value):
        problem = "a comma in a number can mean two things; write 1.5 or 1500"
        raise UnitError(value, dimension, problem, where=where, file=file)
    found = _QUANTITY.match(value)
    if found is None:
        raise UnitError(value, dimension, "it does not start with a number", where=where, file=file)
    return float(found[1]), found[2]


def _spelling(unit: str) -> str:
    """A unit as the table spells it."""
    text = unit.lower().replace("²", "2").replace("³", "3").replace("^", "").replace(" per ", "/")
    return re.sub(r"[\s·⋅*.-]", "", text) or unit


def _unit_problem(unit: str, dimension: str) -> str:
    """What to say about a unit that the dimension does not have."""
    spelling = _spelling(unit)
    others = [other for other, units in _SCALE.items() if spelling in units]
    if others:
        return f'"{unit}" is a unit of {_plain(others[0])}, and this is {_article(dimension)}'
    close = difflib.get_close_matches(spelling, _SCALE[dimension], n=1)
    return f'"{unit}" is no unit of {_plain(dimension)}' + (f'; did you mean "{close[0]}"' if close else "")


def _plain(dimension: str) -> str:
    """A dimension in words."""
    return dimension.replace("-", " ")


def _article(dimension: str) -> str:
    """A dimension in words with its article."""
    return f"{'an' if dimension[0] in 'aeiou' else 'a'} {_plain(dimension)}"


def _quoted(value: object) -> str:
    """A value as the file has it, cut where it is long."""
    text = f'"{value}"' if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + '..."'
