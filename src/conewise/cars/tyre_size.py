"""What the codes on tyres and wheels say: "205/50R15 86V" and "15x8 +25"."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from conewise.errors import InputError

_INCH = 0.0254

RIM_EDGE = 0.0127  # edge of the rim beyond its bead seat; common practice, to some 3 mm [m]

# Load index to mass in kg, ISO 4000-1: 71 to 110 as tyre makers' tables print them, the others from memory.
LOAD_INDEX = {
    50: 190, 51: 195, 52: 200, 53: 206, 54: 212, 55: 218, 56: 224, 57: 230, 58: 236, 59: 243,
    60: 250, 61: 257, 62: 265, 63: 272, 64: 280, 65: 290, 66: 300, 67: 307, 68: 315, 69: 325,
    70: 335, 71: 345, 72: 355, 73: 365, 74: 375, 75: 387, 76: 400, 77: 412, 78: 425, 79: 437,
    80: 450, 81: 462, 82: 475, 83: 487, 84: 500, 85: 515, 86: 530, 87: 545, 88: 560, 89: 580,
    90: 600, 91: 615, 92: 630, 93: 650, 94: 670, 95: 690, 96: 710, 97: 730, 98: 750, 99: 775,
    100: 800, 101: 825, 102: 850, 103: 875, 104: 900, 105: 925, 106: 950, 107: 975, 108: 1000, 109: 1030,
    110: 1060, 111: 1090, 112: 1120, 113: 1150, 114: 1180, 115: 1215, 116: 1250, 117: 1285, 118: 1320, 119: 1360,
    120: 1400, 121: 1450, 122: 1500, 123: 1550, 124: 1600, 125: 1650, 126: 1700, 127: 1750, 128: 1800, 129: 1850,
    130: 1900,
}  # fmt: skip

# Speed symbol to km/h: UN Regulations 30 and 54, Q to Y as car makers' owner pages print them, the others from memory.
SPEED_SYMBOL = {
    "B": 50, "C": 60, "D": 65, "E": 70, "F": 80, "G": 90, "J": 100, "K": 110,
    "L": 120, "M": 130, "N": 140, "P": 150, "Q": 160, "R": 170, "S": 180, "T": 190, "U": 200, "H": 210, "V": 240,
    "W": 270, "Y": 300,
}  # fmt: skip

# Measuring-rim factor by aspect ratio in percent, highest first: UN Regulation 30 (factors from memory).
_MEASURING_RIM = ((75, 0.70), (60, 0.75), (50, 0.80), (45, 0.85), (30, 0.90), (0, 0.92))

_TYRE = re.compile(
    r"^(?:P|LT|HL)?\s*(\d{3})\s*/\s*(\d{2})\s*-?\s*(?:([HSV]?)Z?R|-)\s*(\d{2}(?:\.5)?)\s*(?:C|LT)?"
    r"(?:\s+\(?(\d{2,3})(?:/\d{2,3})?\s*([A-Z]?)\)?)?(?:\s*(?:XL|RF|EXTRA\s+LOAD))?$",
    re.IGNORECASE,
)
# Sizes of other kinds of tyre, each with what to say about it.
_OTHER_TYRES = (
    (
        re.compile(r"^(?:LT)?\s*\d{2}(?:\.\d+)?\s*[xX×]\s*\d+(?:\.\d+)?\s*-?\s*(?:R|-|B)?\s*\d{2}", re.IGNORECASE),
        "this is a flotation size, diameter x width R rim in inches, and only metric sizes are read",
    ),
    (
        re.compile(r"^\d{2,3}(?:\.\d)?\s*/\s*\d{2,3}\.\d\s*-?R?\s*\d{2}", re.IGNORECASE),
        "this is a racing size, width/diameter-rim in inches, and only metric sizes are read",
    ),
    (
        re.compile(r"^\d{3}\s*/\s*\d{3}\s*-?\s*R?\s*\d{2}$", re.IGNORECASE),
        "the second number is the overall diameter in mm, as on racing tyres, and an aspect ratio in percent is wanted",
    ),
    (
        re.compile(r"^\d{1,3}(?:\.\d+)?\s*(?:[A-Z]?R|-)\s*\d{2}(?:\s|$)", re.IGNORECASE),
        "the aspect ratio is missing; old sizes without one mean about 82 %",
    ),
)
_WHEEL = re.compile(
    r"^(\d{2})\s*[xX×]\s*(\d{1,2}(?:\.\d{1,2})?)\s*J?J?\s*(?:(ET)?\s*([+-]?\d{1,3}(?:\.\d)?)\s*(mm)?)?$",
    re.IGNORECASE,
)
_BACKSPACING = re.compile(
    r"^(\d{2})\s*[xX×]\s*(\d{1,2}(?:\.\d{1,2})?)\s*J?J?\s*(?:bs|backspacing)\s*(\d{1,3}(?:\.\d+)?)\s*(in|\"|mm)$",
    re.IGNORECASE,
)
_IN_INCHES = re.compile(r"([+-]?\d{1,2}(?:\.\d+)?)\s*(?:in|inch|inches|\")$", re.IGNORECASE)


class TyreCodeError(InputError):
    """A tyre size that is no code or that no tyre can have."""

    code = "tyre-code"
    default_hint = 'Write the size as it stands on the side of the tyre, such as "205/50R15 86V" or "265/35R18".'

    def __init__(self, value: object, problem: str, *, where: str = "") -> None:
        super().__init__(f'The tyre size is "{value}": {problem}.', where=where)


class WheelCodeError(InputError):
    """A wheel size that is no code or that no wheel can have."""

    code = "wheel-code"
    default_hint = 'Write diameter by width in inches, then the offset in millimetres, such as "18x9.5 +38".'

    def __init__(self, value: object, problem: str, *, where: str = "", hint: str = "") -> None:
        super().__init__(f'The wheel size is "{value}": {problem}.', where=where, hint=hint)


@dataclass(frozen=True, slots=True, kw_only=True)
class TyreSize:
    """Size of a tyre; lengths in metres."""

    section_width: float
    aspect: float  # height of the side wall over the section width [-]
    rim_diameter: float
    load_index: int | None = None
    speed_symbol: str = ""

    @property
    def sidewall(self) -> float:
        """Height of the side wall. [m]"""
        return self.section_width * self.aspect

    @property
    def diameter(self) -> float:
        """Overall diameter of the unloaded tyre. [m]"""
        return self.rim_diameter + 2.0 * self.sidewall

    @property
    def revolutions(self) -> float:
        """Turns of the unloaded tyre over a distance. [1/m]"""
        return 1.0 / (math.pi * self.diameter)

    @property
    def measuring_rim(self) -> float:
        """Rim width on which the section width is measured, to half an inch. [m]

        Notes
        -----
        K S rounded to 0.5 in, K by aspect ratio: UN Regulation 30 (factors from memory).
        """
        percent = round(100 * self.aspect)
        factor = next(k for lowest, k in _MEASURING_RIM if percent >= lowest)
        return round(factor * self.section_width / _INCH * 2) / 2 * _INCH

    @property
    def load_capacity(self) -> float | None:
        """Mass that the load index allows; None without an index. [kg]"""
        return None if self.load_index is None else float(LOAD_INDEX[self.load_index])

    def section_on(self, rim_width: float) -> float:
        """Section width on another rim: 0.4 of the difference in rim width. [m]"""
        return self.section_width + 0.4 * (rim_width - self.measuring_rim)

    def __str__(self) -> str:
        """The code as it stands on the tyre."""
        rim = f"{self.rim_diameter / _INCH:.1f}".removesuffix(".0")
        service = "" if self.load_index is None else f" {self.load_index}{self.speed_symbol}"
        return f"{self.section_width * 1e3:.0f}/{self.aspect * 100:.0f}R{rim}{service}"


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelSize:
    """Size of a wheel; lengths in metres; the width from bead seat to bead seat."""

    diameter: float
    width: float
    offset: float | None = None  # middle of the rim to the hub face, positive outboard
    is_from_backspacing: bool = False  # then the offset is as good as the rim's edge is known

    @property
    def backspacing(self) -> float:
        """Hub face to the inner bead seat; zero offset where none is given. [m]"""
        return self.width / 2 + (self.offset or 0.0)

    @property
    def front_spacing(self) -> float:
        """Hub face to the outer bead seat. [m]"""
        return self.width / 2 - (self.offset or 0.0)

    def __str__(self) -> str:
        """The code as people write it."""
        width = f"{self.width / _INCH:.2f}".rstrip("0").rstrip(".")
        offset = "" if self.offset is None else f" {self.offset * 1e3:+.0f}"
        return f"{self.diameter / _INCH:.0f}x{width}{offset}"


def tyre_size(code: str, *, where: str = "") -> TyreSize:
    """Size of a tyre from its code.

    Raises
    ------
    TyreCodeError
        If the code cannot be read, or no road tyre has such a size.

    Examples
    --------
    >>> round(tyre_size("265/35R18").diameter * 1e3, 1)
    642.7
    """
    text = str(code).strip()
    found = _TYRE.match(text)
    if found is None:
        problem = next((words for form, words in _OTHER_TYRES if form.match(text)), "this is not width/aspect R rim")
        raise TyreCodeError(code, problem, where=where)
    width, aspect, rim = float(found[1]), float(found[2]), float(found[4])
    for size, (low, high), words in (
        (width, (125, 375), f"a section width of {width:g} mm lies outside 125 to 375"),
        (aspect, (20, 85), f"an aspect ratio of {aspect:g} % lies outside 20 to 85"),
        (rim, (10, 24), f"a rim of {rim:g} in lies outside 10 to 24"),
    ):
        if not low <= size <= high:
            raise TyreCodeError(code, words, where=where)
    if width % 5:
        raise TyreCodeError(code, f"section widths go in steps of 5 mm, and {width:g} does not", where=where)
    index = int(found[5]) if found[5] else None
    if index is not None and index not in LOAD_INDEX:
        least, most = min(LOAD_INDEX), max(LOAD_INDEX)
        raise TyreCodeError(code, f"a load index of {index} lies outside {least} to {most}", where=where)
    symbol = (found[6] or found[3] or "").upper()
    if symbol and symbol not in SPEED_SYMBOL:
        raise TyreCodeError(code, f"there is no speed symbol {symbol}", where=where)
    return TyreSize(
        section_width=width / 1e3,
        aspect=aspect / 100,
        rim_diameter=rim * _INCH,
        load_index=index,
        speed_symbol=symbol,
    )


def wheel_size(code: str, *, where: str = "") -> WheelSize:
    """Size of a wheel from its code.

    Raises
    ------
    WheelCodeError
        If the code cannot be read, or no road wheel has such a size.

    Examples
    --------
    >>> wheel = wheel_size("18x9.5 +38")
    >>> round(wheel.width * 1e3, 1), round(wheel.offset * 1e3)
    (241.3, 38)
    """
    text = str(code).strip()
    if found := _BACKSPACING.match(text):
        width = float(found[2]) * _INCH
        back = float(found[3]) * (1e-3 if found[4].lower() == "mm" else _INCH)
        offset: float | None = back - RIM_EDGE - width / 2
    elif found := _WHEEL.match(text):
        offset = None if found[4] is None else _offset(code, found, where)
    else:
        _refuse_inches(code, text, where)
        raise WheelCodeError(code, "this is not diameter x width and offset", where=where)
    diameter, width = float(found[1]), float(found[2])
    shown = (offset or 0.0) * 1e3
    for size, (low, high), words in (
        (diameter, (10, 24), f"a diameter of {diameter:g} in lies outside 10 to 24"),
        (width, (3, 15), f"a width of {width:g} in lies outside 3 to 15"),
        (shown, (-100, 100), f"an offset of {shown:.4g} mm lies outside -100 to 100"),
    ):
        if not low <= size <= high:
            raise WheelCodeError(code, words, where=where)
    return WheelSize(
        diameter=diameter * _INCH,
        width=width * _INCH,
        offset=offset,
        is_from_backspacing=found.re is _BACKSPACING,
    )


def _offset(code: object, found: re.Match[str], where: str) -> float:
    """The offset of a code; a small broken number without sign or unit may be a backspacing in inches."""
    number = found[4]
    is_plain = found[3] is None and found[5] is None and number[0] not in "+-"
    if is_plain and "." in number and float(number) < 10:
        raise WheelCodeError(
            code,
            f"{number} may be an offset in mm or a backspacing in inches",
            where=where,
            hint=f'Write "{found[1]}x{found[2]} +{number} mm" or "{found[1]}x{found[2]} bs {number} in".',
        )
    return float(number) / 1e3


def _refuse_inches(code: object, text: str, where: str) -> None:
    """Say what an offset in inches would be."""
    found = _IN_INCHES.search(text)
    rest = text[: found.start()].strip() if found else ""
    if found is None or not _WHEEL.match(rest):
        return
    inches = float(found[1])
    raise WheelCodeError(
        code,
        "the last number is in inches, and an offset is in millimetres",
        where=where,
        hint=f'An offset of {inches:g} in is "{rest} {inches * _INCH * 1e3:+.0f}"; a backspacing is written '
        f'"{rest} bs {abs(inches):g} in".',
    )
