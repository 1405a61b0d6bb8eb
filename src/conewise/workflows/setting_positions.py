"""The settings of one car: where each stands now, where it can go, and the car at any combination of positions."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from conewise.cars.adjustable import Setting
from conewise.cars.car import field
from conewise.cars.edit import told, with_numbers
from conewise.cars.pressure import USUAL_EFFECT, with_pressures
from conewise.cars.typical import numbers
from conewise.errors import InputError
from conewise.quantities import shown_unit
from conewise.vehicle import build

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from conewise.cars.car import Car
    from conewise.cars.pressure import PressureEffect
    from conewise.workflows.directions import Work

Position = tuple[int, ...]  # of every setting, counted from its lowest

CLICK_SPREAD = 0.1  # relative standard uncertainty of how far a click goes; common practice, no source
NEAR = 0.1  # of the smallest gap: so near to a position of its list a car stands at it
PRESSURE_REACH = 30e3  # either way, where nobody gave a range [Pa]
PRESSURE_STEP = 10e3  # the same [Pa]
PRESSURE_DRAWS = ("pressure slope front", "pressure slope rear", "pressure loss", "pressure stiffness")


class SettingRangeError(InputError):
    """A setting stands outside the range that is given for it."""

    code = "setting-range"
    default_hint = "Correct the car file, or widen the range."

    def __init__(self, name: str, *, now: str, wanted: str, where: str) -> None:
        super().__init__(f"'{name}' stands at {now}, and its range is {wanted}.", where=where)


class PressureOutsideLimitsError(InputError):
    """A tyre pressure outside the limits that the car file marks."""

    code = "pressure-outside-limits"
    default_hint = "Bring the pressure inside the limits of the car's and the tyre's maker first, or correct the file."

    def __init__(self, axle: str, *, pressure: float, low: float, high: float, where: str) -> None:
        super().__init__(
            f"The {axle} tyre pressure is {pressure / 1e5:.2f} bar, outside its marked limits of {low / 1e5:.2f} to "
            f"{high / 1e5:.2f} bar.",
            where=where,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Adjustable:
    """A setting of one car."""

    setting: Setting
    shifts: tuple[float, ...]  # of each position from where the car stands [SI]
    now: int  # the position at which it stands
    value: float  # of the shown field, there [SI]
    low_end: str = ""  # what ends the range, where it is more than the range itself
    high_end: str = ""

    @property
    def name(self) -> str:
        """Name of the setting."""
        return self.setting.name

    def value_at(self, position: int) -> float:
        """Value of the shown field. [SI]"""
        return self.value + self.shifts[position]


@dataclass(frozen=True, slots=True, kw_only=True)
class NotMoved:
    """A setting that stays, and why."""

    name: str
    reason: str


@dataclass(frozen=True, kw_only=True)
class Space:
    """Every combination of positions of one car's settings."""

    car: Car
    adjustables: tuple[Adjustable, ...]
    not_moved: tuple[NotMoved, ...] = ()

    @property
    def now(self) -> Position:
        """Where the car stands."""
        return tuple(adjustable.now for adjustable in self.adjustables)

    @property
    def last(self) -> Position:
        """The highest position of each."""
        return tuple(len(adjustable.shifts) - 1 for adjustable in self.adjustables)

    @property
    def ends(self) -> tuple[Position, ...]:
        """Where the car stands with one setting at either of its ends."""
        now = self.now
        return tuple(
            (*now[:k], end, *now[k + 1 :]) for k, last in enumerate(self.last) for end in (0, last) if end != now[k]
        )

    @property
    def draws(self) -> tuple[str, ...]:
        """Names of what is uncertain about the settings themselves."""
        clicks = [f"click {adjustable.name}" for adjustable in self.adjustables]
        has_pressure = any(adjustable.setting.is_pressure for adjustable in self.adjustables)
        return (*clicks, *(PRESSURE_DRAWS if has_pressure else ()))

    def car_at(self, position: Sequence[int], drawn: Mapping[str, float] | None = None) -> Car:
        """The car with its settings at a position.

        Parameters
        ----------
        position : sequence of int
        drawn : Mapping, optional
            Deviations by the names of `draws`, in standard deviations; 0 for what is left out.
        """
        drawn = drawn or {}
        edits: dict[str, float] = {}
        pressures: dict[str, float] = {}
        for adjustable, k in zip(self.adjustables, position, strict=True):
            if k == adjustable.now:
                continue
            moved = adjustable.shifts[k] * (1.0 + CLICK_SPREAD * drawn.get(f"click {adjustable.name}", 0.0))
            for name in adjustable.setting.fields:
                if adjustable.setting.is_pressure:
                    pressures[name.split(".")[0]] = self.car.value(name) + moved
                else:
                    edits[name] = value_now(self.car, name) + moved
            for also in adjustable.setting.also:
                before = edits.get(also.field, value_now(self.car, also.field))
                edits[also.field] = before + also.per_step * (k - adjustable.now)
        absent = {name: told(self.car, name, value) for name, value in edits.items() if name not in self.car.values}
        car = with_numbers(self.car.with_values(absent), edits) if edits else self.car
        return with_pressures(car, pressures, _effects(drawn)) if pressures else car

    def described(self, k: int, position: int) -> float:
        """Value of the k-th setting at a position. [SI]"""
        return self.adjustables[k].value_at(position)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A question about settings, read."""

    work: Work
    space: Space
    notes: tuple[str, ...] = ()

    @property
    def weights(self) -> tuple[float, ...]:
        """Share of each course; they sum to 1."""
        given = [self.work.weights[course.name] for course in self.work.courses]
        return tuple(weight / sum(given) for weight in given)


def _effects(drawn: Mapping[str, float]) -> dict[str, PressureEffect]:
    usual = USUAL_EFFECT
    loss = usual.loss + usual.loss_uncertainty * drawn.get("pressure loss", 0.0)
    stiffness = usual.stiffness + usual.stiffness_uncertainty * drawn.get("pressure stiffness", 0.0)
    return {
        axle: replace(
            usual,
            slope=usual.slope + usual.slope_uncertainty * drawn.get(f"pressure slope {axle}", 0.0),
            loss=loss,
            stiffness=stiffness,
        )
        for axle in ("front", "rear")
    }


def value_now(car: Car, name: str) -> float:
    """A field's number, also where the car file describes it by its parts; KeyError where it does not. [SI]"""
    if name in car.values:
        return numbers(car)[name]
    if name == "brakes.front_share":
        return float(build.model_parameters(car).brake_front_share)
    axle, _, part = name.partition(".")
    if part == "bar_stiffness":
        return build.bar_stiffness(numbers(car), axle)
    return car.value(name)


def space_of(car: Car, settings: Sequence[Setting]) -> Space:
    """The positions of settings on a car; those that cannot be moved stand aside, with the reason.

    Parameters
    ----------
    car : Car
        Completed with typical values.
    settings : sequence of Setting

    Raises
    ------
    SettingRangeError
        If the car stands outside a range.
    PressureOutsideLimitsError
        If a pressure is outside its marked limits.
    """
    found: list[Adjustable] = []
    fixed: list[NotMoved] = []
    for setting in settings:
        answer = _adjustable(car, setting)
        if isinstance(answer, NotMoved):
            fixed.append(answer)
        else:
            found.append(answer)
    return Space(car=car, adjustables=tuple(found), not_moved=tuple(fixed))


def usual_settings() -> tuple[Setting, ...]:
    """What any owner can adjust: the pressures, a little either way."""
    return tuple(
        Setting(name=f"{axle} tyre pressure", fields=(f"{axle}.tyre.pressure",), step=PRESSURE_STEP)
        for axle in ("front", "rear")
    )


def _adjustable(car: Car, setting: Setting) -> Adjustable | NotMoved:
    absent = [name for name in setting.fields if not _has(car, name)]
    if setting.is_pressure:
        if reason := _unmarked(car, setting, absent):
            return NotMoved(name=setting.name, reason=reason)
        _refuse_outside(car, setting)
    elif absent:
        return NotMoved(name=setting.name, reason=f"the car file does not say {absent[0]}")
    value = value_now(car, setting.field)
    if setting.values:
        return _of_values(car, setting, value)
    return _of_steps(car, setting, value)


def _has(car: Car, name: str) -> bool:
    try:
        value_now(car, name)
    except KeyError:
        return False
    return True


def _unmarked(car: Car, setting: Setting, absent: Sequence[str]) -> str:
    """Why a pressure is not moved; "" where it can be."""
    if absent:
        return f"the car file does not say {absent[0]}, so there is no pressure to start from"
    for axle in setting.axles:
        for key in ("pressure_low", "pressure_high"):
            if f"{axle}.tyre.{key}" not in car.values:
                return f"the car file does not say {axle}.tyre.{key}, and no pressure is proposed without marked limits"
    return ""


def _refuse_outside(car: Car, setting: Setting) -> None:
    for axle in setting.axles:
        now, low, high = (car.value(f"{axle}.tyre.{key}") for key in ("pressure", "pressure_low", "pressure_high"))
        if not low <= now <= high:
            raise PressureOutsideLimitsError(axle, pressure=now, low=low, high=high, where=car.source)


def _of_values(car: Car, setting: Setting, value: float) -> Adjustable | NotMoved:
    values = np.array(setting.values)
    near = NEAR * float(np.diff(values).min())
    at = int(np.argmin(np.abs(values - value)))
    if abs(values[at] - value) > near:
        raise SettingRangeError(
            setting.name, now=_shown(setting, value), wanted=_listed(setting, values), where=setting.where
        )
    others = [value_now(car, name) for name in setting.fields]
    if max(abs(other - value) for other in others) > near:
        return NotMoved(name=setting.name, reason="its fields stand at different positions")
    return _kept(car, setting, values - value, at)


def _of_steps(car: Car, setting: Setting, value: float) -> Adjustable | NotMoved:
    low, high = setting.low, setting.high
    if not high > low:  # no range was given: the usual reach of a pressure
        low, high = value - PRESSURE_REACH, value + PRESSURE_REACH
    values = [value_now(car, name) for name in setting.fields]
    slack = 1e-6 * setting.step
    if min(values) < low - slack or max(values) > high + slack:
        outside = min(values) if min(values) < low - slack else max(values)
        wanted = f"{_shown(setting, low)} to {_shown(setting, high)}"
        raise SettingRangeError(setting.name, now=_shown(setting, outside), wanted=wanted, where=setting.where)
    down = int(np.floor((min(values) - low + slack) / setting.step))
    up = int(np.floor((high - max(values) + slack) / setting.step))
    shifts = np.arange(-down, up + 1) * setting.step
    return _kept(car, setting, shifts, down)


def _kept(car: Car, setting: Setting, shifts: np.ndarray, at: int) -> Adjustable | NotMoved:
    """Without positions outside marked limits or outside what can be; with what ended the range."""
    shifts = shifts - shifts[at]
    allowed = np.array([_is_allowed(car, setting, float(shift), k - at) for k, shift in enumerate(shifts)])
    first, last = at, at
    while first > 0 and allowed[first - 1]:
        first -= 1
    while last < len(shifts) - 1 and allowed[last + 1]:
        last += 1
    if first == last:
        return NotMoved(name=setting.name, reason="there is no other position inside its limits")
    end = "marked limit" if setting.is_pressure else "what can be"
    value = value_now(car, setting.field)
    return Adjustable(
        setting=setting,
        shifts=tuple(float(shift) for shift in shifts[first : last + 1]),
        now=at - first,
        value=value,
        low_end=end if first > 0 else "",
        high_end=end if last < len(shifts) - 1 else "",
    )


def _is_allowed(car: Car, setting: Setting, shift: float, steps: int) -> bool:
    for name in setting.fields:
        value = value_now(car, name) + shift
        if setting.is_pressure:
            low, high = (car.value(f"{name}_{end}") for end in ("low", "high"))
            slack = 1e-6 * (high - low)
            if not low - slack <= value <= high + slack:
                return False
        if not field(name).is_possible(value):
            return False
    beside = ((also.field, value_now(car, also.field) + also.per_step * steps) for also in setting.also)
    return all(field(name).is_possible(value) for name, value in beside)


def _shown(setting: Setting, value: float) -> str:
    from conewise.quantities import in_unit

    facts = field(setting.field)
    unit = facts.shown or shown_unit(facts.dimension)
    return f"{in_unit(value, facts.dimension, unit):.4g} {unit}".strip()


def _listed(setting: Setting, values: np.ndarray) -> str:
    return ", ".join(_shown(setting, float(value)) for value in values)
