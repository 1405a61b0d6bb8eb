"""Where a wheel and its tyre lie beside the hub face, and how far another set reaches against the one that is on."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.cars.tyre_size import LOAD_INDEX, RIM_EDGE, TyreSize, WheelSize
from conewise.quantities import Origin

if TYPE_CHECKING:
    from conewise.cars.car import Car

# Tyres of one code differ; UN Regulation 30 allows 4 % over the section width and 3 % of the side walls' height over
# the diameter (from memory). Taken as two standard deviations.
_SECTION_SD = 0.02
_HEIGHT_SD = 0.015
_BACKSPACING_SD = 0.003  # thickness of the rim's edge; common practice [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelPlace:
    """A wheel with its tyre on a hub; distances from the hub face, outwards positive. [m]"""

    wheel: WheelSize
    tyre: TyreSize
    offset: float
    spacer: float
    wheel_sd: float  # standard deviation of where its edges lie, by what is not known of the wheel
    tyre_sd: float = 0.0  # of half the section width, beside what makes differ by
    radius_sd: float = 0.0

    @property
    def middle(self) -> float:
        """Middle of the rim."""
        return self.spacer - self.offset

    @property
    def section(self) -> float:
        """Section width of the tyre on this rim."""
        return self.tyre.section_on(self.wheel.width)

    @property
    def outer_seat(self) -> float:
        """Outer bead seat of the rim."""
        return self.middle + self.wheel.width / 2

    @property
    def inner_seat(self) -> float:
        """Inner bead seat of the rim."""
        return self.middle - self.wheel.width / 2

    @property
    def outer_side(self) -> float:
        """Outer side wall of the tyre at its widest."""
        return self.middle + self.section / 2

    @property
    def inner_side(self) -> float:
        """Inner side wall of the tyre at its widest."""
        return self.middle - self.section / 2

    @property
    def inner(self) -> float:
        """What reaches farthest towards the strut: side wall, or the rim's edge."""
        return min(self.inner_side, self.inner_seat - RIM_EDGE)

    @property
    def radius(self) -> float:
        """Radius of the unloaded tyre."""
        return self.tyre.diameter / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """How far another wheel and tyre reach against those that are on. Lengths in m; see `shift`."""

    outer: float  # outer edge of the rim, positive towards the fender
    inner: float  # inner edge of the rim, positive towards the strut
    tyre_outer: float  # the same of the tyre's side walls
    tyre_inner: float
    radial: float  # radius of the unloaded tyre
    track: float  # track width of the axle
    lateral_sd: float  # standard deviation of both tyre shifts
    radial_sd: float

    @property
    def towards_fender(self) -> float:
        """The more of rim and tyre."""
        return max(self.outer, self.tyre_outer)

    @property
    def towards_strut(self) -> float:
        """The more of rim and tyre."""
        return max(self.inner, self.tyre_inner)

    @property
    def reach(self) -> float:
        """Greatest distance that any point of wheel and tyre lies beyond the old surface."""
        return math.hypot(max(self.towards_fender, self.towards_strut, 0.0), max(self.radial, 0.0))

    @property
    def reach_sd(self) -> float:
        """Standard deviation of the reach."""
        return math.hypot(self.lateral_sd, self.radial_sd)


def shift(before: WheelPlace, after: WheelPlace, *, is_other_wheel: bool = True, is_other_tyre: bool = True) -> Shift:
    """How far one wheel and tyre reach against another on the same hub.

    Parameters
    ----------
    before, after : WheelPlace
    is_other_wheel, is_other_tyre : bool, default True
        Whether the wheel, the tyre is another one; the same one brings no uncertainty of its own.

    Returns
    -------
    Shift

    Notes
    -----
    With rim width W and offset ET: outer = dW/2 - dET, inner = dW/2 + dET, track = -2 dET (closed form); a spacer of t
    lowers ET by t.

    Examples
    --------
    >>> from conewise.cars.tyre_size import tyre_size, wheel_size
    >>> tyre = tyre_size("225/45R17")
    >>> old, new = (wheel_place(wheel_size(code), tyre) for code in ("17x7.5 +38", "17x8 +25"))
    >>> [round(1e3 * x, 2) for x in (shift(old, new).outer, shift(old, new).inner, shift(old, new).track)]
    [19.35, -6.65, 26.0]
    """
    makes = _SECTION_SD * math.hypot(before.section, after.section) / 2
    sections = math.hypot(makes, before.tyre_sd, after.tyre_sd) if is_other_tyre else 0.0
    walls = _HEIGHT_SD * math.hypot(before.tyre.sidewall, after.tyre.sidewall)
    heights = math.hypot(walls, before.radius_sd, after.radius_sd) if is_other_tyre else 0.0
    offsets = math.hypot(before.wheel_sd, after.wheel_sd) if is_other_wheel else 0.0
    return Shift(
        outer=after.outer_seat - before.outer_seat,
        inner=before.inner_seat - after.inner_seat,
        tyre_outer=after.outer_side - before.outer_side,
        tyre_inner=before.inner_side - after.inner_side,
        radial=after.radius - before.radius,
        track=2 * (after.middle - before.middle),
        lateral_sd=math.hypot(sections, offsets),
        radial_sd=heights,
    )


def wheel_place(wheel: WheelSize, tyre: TyreSize, *, spacer: float = 0.0, wheel_sd: float | None = None) -> WheelPlace:
    """A wheel and a tyre on a hub; the wheel has an offset. `spacer` in m."""
    assert wheel.offset is not None
    spread = _BACKSPACING_SD if wheel.is_from_backspacing else 0.0005  # codes are whole millimetres
    return WheelPlace(
        wheel=wheel,
        tyre=tyre,
        offset=wheel.offset,
        spacer=spacer,
        wheel_sd=spread if wheel_sd is None else wheel_sd,
    )


def present_place(car: Car, axle: str) -> WheelPlace:
    """The wheel and tyre of a car file on one of its axles; typical values where nobody gave them."""
    values = car.values
    tyre, wheel = f"{axle}.tyre", f"{axle}.wheel"
    offset = values[f"{wheel}.offset"]
    rim = values[f"{tyre}.rim_diameter"].value
    return WheelPlace(
        wheel=WheelSize(
            diameter=values[f"{wheel}.diameter"].value if f"{wheel}.diameter" in values else rim,
            width=values[f"{wheel}.width"].value,
            offset=offset.value,
        ),
        tyre=TyreSize(
            section_width=values[f"{tyre}.section_width"].value,
            aspect=values[f"{tyre}.aspect"].value,
            rim_diameter=rim,
            load_index=_load_index(car, axle),
            speed_symbol=getattr(car, axle).tyre.speed_symbol,
        ),
        offset=offset.value,
        spacer=values[f"{axle}.spacer"].value,
        wheel_sd=math.hypot(offset.uncertainty, _spread(car, f"{wheel}.width") / 2),
        tyre_sd=_spread(car, f"{tyre}.section_width") / 2,
        radius_sd=_spread(car, f"{tyre}.rim_diameter") / 2,
    )


def _spread(car: Car, name: str) -> float:
    """Standard uncertainty of a number that nobody gave; a size that somebody gave is what it says."""
    value = car.values[name]
    return value.uncertainty if value.origin in {Origin.TYPICAL, Origin.ESTIMATED} else 0.0


def guessed(car: Car, axle: str) -> tuple[str, ...]:
    """What of the present wheel and tyre nobody gave, so that typical values stand for it."""
    words = {"tyre.section_width": "tyre size", "wheel.width": "wheel width", "wheel.offset": "wheel offset"}
    return tuple(
        word
        for name, word in words.items()
        if car.values[f"{axle}.{name}"].origin in {Origin.TYPICAL, Origin.ESTIMATED}
    )


def _load_index(car: Car, axle: str) -> int | None:
    """Load index of the tyre that is on; None where the code did not tell it."""
    capacity = car.values[f"{axle}.tyre.load_capacity"]
    if capacity.origin in {Origin.TYPICAL, Origin.ESTIMATED}:
        return None
    return next((index for index, mass in LOAD_INDEX.items() if mass == capacity.value), None)
