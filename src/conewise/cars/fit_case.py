"""What is asked about a wheel and tyre on one axle, and what an answer looks like: it fits, it does not, it is open."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from conewise.findings import Finding
from conewise.quantities import show

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from conewise.cars.car import Axle, Car
    from conewise.cars.date_code import DateCode
    from conewise.cars.wheel_mounting import BoltPattern, Seat
    from conewise.cars.wheel_place import Shift, WheelPlace
    from conewise.findings import Severity
    from conewise.quantities import System

GAPS = ("strut", "fender", "full_lock", "full_bump", "caliper")


class FitState(StrEnum):
    """What is known about one question of the fit."""

    FITS = "fits"
    NO = "no"
    OPEN = "open"


@dataclass(frozen=True, slots=True, kw_only=True)
class FitItem:
    """One question of the fit of a wheel on an axle.

    code: stable short name, such as "strut-gap".
    state: it fits, it does not, or it is not known; what is not known is never a pass.
    message: what was found, with the value and the value wanted.
    needs: what closes an open item.
    is_safety: whether nobody may drive on it before it is closed.
    """

    code: str
    axle: str
    state: FitState
    message: str
    needs: str = ""
    is_safety: bool = True

    @property
    def finding(self) -> Finding:
        """The same as a finding: a stop where it does not fit, a warning where a safety item is open, else a note."""
        severity: Severity = "stop" if self.state is FitState.NO else "note"
        if self.state is FitState.OPEN and self.is_safety:
            severity = "warning"
        words = f"{self.message} {self.needs}".strip()
        return Finding(severity, self.code, words, self.axle)


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """What is known of the wheel and tyre that somebody thinks of; None where it is not. SI units."""

    bolt_pattern: BoltPattern | None = None
    bore: float | None = None  # of the wheel's centre [m]
    is_centred: bool = False  # a ring, or the lip of a spacer, takes up what the bore is larger
    seat: Seat | None = None  # of the wheel
    fastener_seat: Seat | None = None  # of new nuts or bolts; None: those of the car
    turns: float | None = None  # of a nut or bolt until it is tight, counted with wheel and spacer on
    load_rating: float | None = None  # of one wheel, as marked on it [kg]
    rims: tuple[float, float] | None = None  # widths that the tyre's maker approves [m]
    gaps: Mapping[str, float] = field(default_factory=dict)  # measured with the new wheel on, by `GAPS` [m]
    made: DateCode | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FitCase:
    """A wheel and tyre on one axle of a car, with what is known about both."""

    car: Car  # with the new wheels
    car_before: Car
    axle: str
    before: WheelPlace
    after: WheelPlace
    shift: Shift
    candidate: Candidate
    day: dt.date
    is_other_wheel: bool  # the wheel is another one than the car has, of whatever size
    is_other_tyre: bool
    load_told: float | None = None  # on the axle at rest with the driver, weighed; None: as the car file has it [kg]
    system: System = "metric"

    @property
    def part(self) -> Axle:
        """The axle of the car file."""
        found: Axle = getattr(self.car, self.axle)
        return found

    @property
    def thicker_spacer(self) -> float:
        """How much thicker the spacer is than the car's. [m]"""
        return self.after.spacer - self.before.spacer

    def length(self, value: float) -> str:
        """A short length in words, in the units asked for."""
        return short_length(value, self.system)

    def item(self, code: str, state: FitState, message: str, *, needs: str = "", is_safety: bool = True) -> FitItem:
        """An answer for this axle; what closes it is said only where it is open or does not fit."""
        return FitItem(code=code, axle=self.axle, state=state, message=message, needs=needs, is_safety=is_safety)


def short_length(value: float, system: System) -> str:
    """Millimetres, or inches to two digits behind the point.

    Examples
    --------
    >>> short_length(0.0123, "metric"), short_length(0.0254, "us")
    ('12.3 mm', '1.00 in')
    """
    if system == "us":
        return f"{value / 0.0254:.2f} in"
    return f"{value * 1e3:.1f} mm"


def mass_in_words(value: float, system: System) -> str:
    """A mass in whole units."""
    return show(value, "mass", system, 3)
