"""How a wheel is held: bolt pattern, thread and seat of the fasteners, and how much thread must be engaged."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

from conewise.errors import InputError

_INCH = 0.0254

_PATTERN = re.compile(r"^(\d{1,2})\s*[xX×/-]\s*(\d{1,3}(?:[.,]\d{1,2})?)\s*(mm|in|\")?$")
_METRIC_THREAD = re.compile(r"^M\s*(\d{1,2}(?:\.\d)?)\s*[xX×]\s*(\d(?:\.\d{1,2})?)$", re.IGNORECASE)
_INCH_THREAD = re.compile(r"^(\d{1,2})\s*/\s*(\d{1,2})\s*(?:in|\")?\s*[-–x]\s*(\d{1,2})$", re.IGNORECASE)

# Engaged length of thread over its diameter: steel in steel, and where nut or hub is of light alloy. Common practice,
# no source: the thread then does not strip before the stud or bolt breaks.
LEAST_ENGAGEMENT = 1.0
LEAST_ENGAGEMENT_ALLOY = 1.5

_SAME_CIRCLE = 0.05e-3  # bolt circles nearer than this are the same; 114.3 and 4.5 in are one [m]


class BoltPatternError(InputError):
    """A bolt pattern that no hub has."""

    code = "bolt-pattern"
    default_hint = 'Write the number of bolts and the diameter of their circle in mm, such as "5x114.3".'

    def __init__(self, value: object, problem: str, *, where: str = "") -> None:
        super().__init__(f'The bolt pattern is "{value}": {problem}.', where=where)


class ThreadError(InputError):
    """A thread that no wheel fastener has."""

    code = "thread"
    default_hint = 'Write diameter and pitch in mm, such as "M12x1.5", or diameter and turns an inch, such as "1/2-20".'

    def __init__(self, value: object, problem: str, *, where: str = "") -> None:
        super().__init__(f'The thread is "{value}": {problem}.', where=where)


class Seat(StrEnum):
    """Shape on which a fastener sits in the wheel."""

    CONE = "cone"  # 60 degrees unless the maker says otherwise
    BALL = "ball"
    FLAT = "flat"


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltPattern:
    """Number of bolts on a circle. `circle` is its diameter. [m]"""

    n_bolts: int
    circle: float

    def __str__(self) -> str:
        """As people write it, in mm."""
        return f"{self.n_bolts}x{self.circle * 1e3:.2f}".rstrip("0").rstrip(".")

    def fits(self, other: BoltPattern) -> bool:
        """Whether a wheel and a hub have the same pattern; a tenth of a millimetre is another one."""
        return self.n_bolts == other.n_bolts and abs(self.circle - other.circle) < _SAME_CIRCLE


@dataclass(frozen=True, slots=True, kw_only=True)
class Thread:
    """Thread of a stud or bolt. [m]"""

    text: str
    diameter: float
    pitch: float

    def engaged(self, turns: float) -> float:
        """Length engaged after so many turns. [m]"""
        return turns * self.pitch

    def least_turns(self, *, is_alloy: bool = False) -> float:
        """Turns until as much thread is engaged as common practice asks."""
        return least_engagement(self, is_alloy=is_alloy) / self.pitch


def least_engagement(thread: Thread, *, is_alloy: bool = False) -> float:
    """Length of thread that must be engaged. [m]

    Notes
    -----
    One diameter for steel in steel, one and a half where the nut or the hub is of light alloy: common practice, no
    source. The maker of the wheel or of the fastener may ask for more.

    Examples
    --------
    >>> round(least_engagement(bolt_thread("M12x1.5")) * 1e3, 1)
    12.0
    """
    return (LEAST_ENGAGEMENT_ALLOY if is_alloy else LEAST_ENGAGEMENT) * thread.diameter


def bolt_pattern(text: str, *, where: str = "") -> BoltPattern:
    """Bolt pattern from its text; circles under 20 are in inches.

    Raises
    ------
    BoltPatternError
        If it cannot be read, or no road car has such a pattern.

    Examples
    --------
    >>> str(bolt_pattern("5x4.5in")), bolt_pattern("5x4.5 in").fits(bolt_pattern("5x114.3"))
    ('5x114.3', True)
    """
    found = _PATTERN.match(str(text).strip())
    if found is None:
        raise BoltPatternError(text, "this is not number x diameter", where=where)
    n_bolts, number = int(found[1]), float(found[2].replace(",", "."))
    is_inches = found[3] in {"in", '"'} or (found[3] is None and number < 20)
    circle = number * (_INCH if is_inches else 1e-3)
    if not 3 <= n_bolts <= 8:
        raise BoltPatternError(text, f"{n_bolts} bolts lie outside 3 to 8", where=where)
    if not 0.09 <= circle <= 0.21:
        raise BoltPatternError(text, f"a circle of {circle * 1e3:.1f} mm lies outside 90 to 210", where=where)
    return BoltPattern(n_bolts=n_bolts, circle=circle)


def bolt_thread(text: str, *, where: str = "") -> Thread:
    """Thread from its text, metric or in inches with turns an inch.

    Raises
    ------
    ThreadError
        If it cannot be read, or no wheel is held by such a thread.
    """
    plain = str(text).strip()
    if found := _METRIC_THREAD.match(plain):
        diameter, pitch = float(found[1]) * 1e-3, float(found[2]) * 1e-3
    elif (found := _INCH_THREAD.match(plain)) and int(found[2]) and int(found[3]):
        diameter, pitch = int(found[1]) / int(found[2]) * _INCH, _INCH / int(found[3])
    else:
        raise ThreadError(text, "this is not diameter x pitch", where=where)
    if not 0.009 <= diameter <= 0.025:
        raise ThreadError(text, f"a diameter of {diameter * 1e3:.1f} mm lies outside 9 to 25", where=where)
    if not 0.9e-3 <= pitch <= 2.6e-3:
        raise ThreadError(text, f"a pitch of {pitch * 1e3:.2f} mm lies outside 1 to 2.5", where=where)
    return Thread(text=plain, diameter=diameter, pitch=pitch)


def seat_of(text: str, *, where: str = "") -> Seat:
    """Seat shape from its word.

    Raises
    ------
    SeatError
        If there is no such shape.
    """
    word = str(text).strip().lower()
    if word not in set(Seat):
        raise SeatError(text, where=where)
    return Seat(word)


class SeatError(InputError):
    """A shape of seat that wheel fasteners do not have."""

    code = "fastener-seat"
    default_hint = "Write one of: cone, ball, flat."

    def __init__(self, value: object, *, where: str = "") -> None:
        super().__init__(f'The seat of the fasteners is "{value}".', where=where)
