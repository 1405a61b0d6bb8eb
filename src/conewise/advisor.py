"""What to change next: every change with its gain, an honest interval, its price and what it does to the handling.

Knows nothing of the solver: it is given the effect of every change on every course, and ranks.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from conewise.findings import has_stop

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from conewise.findings import Finding

Array = NDArray[np.float64]

NUMERICAL = 0.004  # half width of what mesh and start leave open [s]
NUMERICAL_OWN_MESH = 0.02  # the same where a change needed a mesh of its own [s]
TO_90 = 1.645  # half width of a 90 % interval over the standard deviation of a normal distribution
LEAST_SHARE = 0.2  # no model part is smaller than this share of the gain
NEUTRAL = 0.02  # friction use front less rear within which a car is called neutral
LEAN_STEP = 0.003  # least change of it that is called a change
TENTH = 0.1  # [s]
SHOWN = 0.01  # gains below this are not told apart [s]


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelPart:
    """How far the model itself may be wrong about a kind of change."""

    share: float  # of the gain, half width at 90 %
    reason: str
    floor: float = 0.0  # least half width of one run [s]


# Judged, not measured; common practice, no source.
MODEL_PARTS = {
    "mass": ModelPart(share=0.2, reason="weight and its place are modelled directly"),
    "tyre": ModelPart(share=0.3, reason="friction of a tyre that was not measured on this car is a typical value"),
    "wheel": ModelPart(share=0.3, reason="width acts through the tyre, whose answer to it is a typical value"),
    "spring": ModelPart(share=0.4, reason="only the share in roll is modelled; pitch, heave and bumps are not"),
    "bar": ModelPart(share=0.3, reason="grip gained or lost by load transfer hangs on the tyre's load sensitivity"),
    "damper": ModelPart(share=0.5, reason="only the share in roll is modelled; bumps and tyre load control are not"),
    "camber": ModelPart(share=0.4, reason="the tyre's best inclination is a typical value"),
    "alignment": ModelPart(share=0.4, reason="compliance of bushes and links is not modelled"),
    "power": ModelPart(share=0.2, reason="the torque curve is modelled directly"),
    "gearing": ModelPart(share=0.25, reason="shift times and clutch work are typical values"),
    "differential": ModelPart(
        share=0.3, floor=0.3, reason="this level of model does not identify what a differential gains"
    ),
    "brake": ModelPart(share=0.3, reason="pad friction over temperature is not modelled"),
    "air": ModelPart(share=0.4, reason="lift and drag of a change that was not measured are estimates"),
    "driver": ModelPart(share=0.4, reason="typical values for a driver of that level; own logs replace them"),
    "other": ModelPart(share=0.3, reason="a kind of change that the model does not know"),
}

_WORK = "The rule book, the maker's manual and a qualified mechanic decide; torque to the maker's value."
_UNDER = "Never under a car on a jack alone: stands, level ground, chocks."
_TYRE = "Tyre pressure stays within the limits marked by the car's maker and on the tyre."
_WHEEL = "Check clearance at full lock and full travel, and wheel torque cold."
_BRAKE = "Bed new brakes in, and test them at walking speed after any work. Brakes and wheels are hot after a run."
_SPRING = "Compressed springs are dangerous: a qualified mechanic."
CAUTIONS: dict[str, tuple[str, ...]] = {
    "tyre": (_WORK, _TYRE, _WHEEL),
    "wheel": (_WORK, _WHEEL, _UNDER),
    "spring": (_WORK, _UNDER, _SPRING),
    "bar": (_WORK, _UNDER),
    "damper": (_WORK, _UNDER, _SPRING),
    "camber": (_WORK, _UNDER),
    "alignment": (_WORK, _UNDER),
    "differential": (_WORK, _UNDER),
    "brake": (_WORK, _UNDER, _BRAKE),
    "gearing": (_WORK, _UNDER),
    "power": ("The rule book and the road law decide. Fuel and hot exhausts: a qualified mechanic.",),
    "mass": ("Never take out what the rule book asks for. Whatever is left in the car is fixed and shown.",),
    "air": ("What is fitted outside the car must be strong enough and allowed by the rule book.",),
    "driver": ("Build up over several runs, on a closed course. Never practise on public roads.",),
    "other": (_WORK,),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """Something that could be done."""

    name: str
    kind: str
    price: float | None = None
    hours: float | None = None
    note: str = ""
    findings: tuple[Finding, ...] = ()  # about the safety of the changed car

    @property
    def is_proposed(self) -> bool:
        """False where it would leave a car that should not run, such as one that locks its rear axle first."""
        return not has_stop(list(self.findings))


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What an option does on one course. Gains above zero are faster."""

    course: str
    linear: float  # gain by the derivative [s]
    gain: float = np.nan  # gain by solving again; NaN where that was not possible [s]
    closure: float = 0.0  # how far the round trip stays open [s]
    draws: Array = field(default_factory=lambda: np.zeros(0))  # deviations of the gain for the option's own spread [s]
    common: Mapping[str, float] = field(default_factory=dict)  # deviations for one standard deviation of others [s]
    lean: tuple[float, float] = (np.nan, np.nan)  # friction use front less rear, before and after
    own_mesh: bool = False
    stopped: str = ""

    @property
    def is_solved(self) -> bool:
        """Whether there is a gain."""
        return not self.stopped

    @property
    def numerical(self) -> float:
        """Half width of the numerical part. [s]"""
        return max(NUMERICAL_OWN_MESH if self.own_mesh else NUMERICAL, abs(self.closure))


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One option with what it is worth over all courses."""

    option: Option
    effects: tuple[Effect, ...]

    @property
    def solved(self) -> tuple[Effect, ...]:
        """Effects on the courses where a run was found."""
        return tuple(effect for effect in self.effects if effect.is_solved)

    @property
    def gain(self) -> float:
        """Mean gain of the solved courses, equal weights; NaN without one. [s]"""
        return float(np.mean([effect.gain for effect in self.solved])) if self.solved else np.nan

    @property
    def linear(self) -> float:
        """Mean gain by the derivative. [s]"""
        return float(np.mean([effect.linear for effect in self.effects]))

    @property
    def numerical(self) -> float:
        """Half width of the numerical part; not less with more courses, whose errors may be alike. [s]"""
        return max((effect.numerical for effect in self.solved), default=np.nan)

    @property
    def model(self) -> float:
        """Half width of the model part. [s]"""
        part = MODEL_PARTS[self.option.kind]
        return max(max(part.share, LEAST_SHARE) * abs(self.gain), part.floor)

    @property
    def parameter(self) -> tuple[float, float]:
        """Half widths of the parameter part, downwards and upwards, at 90 %. [s]

        Notes
        -----
        The same parameter is off by the same amount on every course: deviations are averaged before they are squared.
        """
        if not self.solved:
            return np.nan, np.nan
        common = TO_90 * float(np.sqrt(sum(value**2 for value in self._common().values())))
        draws = [effect.draws for effect in self.solved if effect.draws.size]
        low, high = (0.0, 0.0) if not draws else np.percentile(np.mean(draws, axis=0), (5.0, 95.0))
        return float(np.hypot(common, min(low, 0.0))), float(np.hypot(common, max(high, 0.0)))

    def _common(self) -> dict[str, float]:
        names = {name for effect in self.solved for name in effect.common}
        return {
            name: float(np.mean([effect.common.get(name, 0.0) for effect in self.solved])) for name in sorted(names)
        }

    @property
    def interval(self) -> tuple[float, float]:
        """90 % interval of the gain: parameter, numerical and model part, taken as independent. [s]"""
        low, high = (float(np.sqrt(part**2 + self.numerical**2 + self.model**2)) for part in self.parameter)
        return self.gain - low, self.gain + high

    @property
    def is_small(self) -> bool:
        """Whether the gain drowns in what the numbers leave open."""
        return abs(self.gain) < max(self.numerical, SHOWN)

    @property
    def price_per_tenth(self) -> float | None:
        """Money for a tenth of a second; None without a price or a gain."""
        if self.option.price is None or self.is_small or not self.gain > 0.0:
            return None
        return self.option.price * TENTH / self.gain

    @property
    def handling(self) -> str:
        """Understeer or oversteer at the limit along the line, in words."""
        before, after = (float(np.mean([effect.lean[k] for effect in self.solved or self.effects])) for k in (0, 1))
        return handling_words(before, after)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to mind before doing it; findings about the changed car first."""
        return (*(finding.message for finding in self.option.findings), *CAUTIONS[self.option.kind])

    @property
    def note(self) -> str:
        """What else a reader has to know about this row."""
        parts = [self.option.note.strip()] if self.option.note else []
        if not self.option.is_proposed:
            parts.append("Not proposed: see the caution.")
        parts += [f"Not solved on {effect.course}: {effect.stopped}" for effect in self.effects if effect.stopped]
        parts += [f"Solved on a mesh of its own on {effect.course}." for effect in self.solved if effect.own_mesh]
        if self.solved:
            parts.append(f"Model: {MODEL_PARTS[self.option.kind].reason}.")
        return " ".join(parts)


def handling_words(before: float, after: float) -> str:
    """How a car behaves at the limit, and what a change does to it.

    Parameters
    ----------
    before, after : float
        Friction use of the front axle less that of the rear. [-]

    Examples
    --------
    >>> handling_words(0.05, 0.08)
    'understeers at the limit, more than before'
    """
    if not np.isfinite(after):
        return "unknown"
    state = "neutral" if abs(after) < NEUTRAL else "understeers" if after > 0 else "oversteers"
    moved = after - before
    if abs(moved) < LEAN_STEP:
        return f"{state} at the limit, as before"
    if state == "neutral":
        return f"neutral at the limit, towards {'understeer' if moved > 0 else 'oversteer'}"
    is_more = (moved > 0) == (after > 0)
    return f"{state} at the limit, {'more' if is_more else 'less'} than before"


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """Ranked rows with the runs they are compared with."""

    base: Mapping[str, float]  # time of each course without a change [s]
    rows: tuple[Row, ...]
    doubts: tuple[str, ...] = ()  # why the runs without a change are not to be relied on

    def as_record(self) -> dict[str, Any]:
        """What `--json` prints; keys carry their units."""
        return {
            "ok": not self.doubts,
            "doubts": list(self.doubts),
            "courses": list(self.base),
            "base_s": dict(self.base),
            "interval": 0.9,
            "changes": [_row_record(row) for row in self.rows],
            "cautions": sorted({caution for row in self.rows for caution in row.cautions}),
        }


def _row_record(row: Row) -> dict[str, Any]:
    low, high = row.interval
    return {
        "name": row.option.name,
        "kind": row.option.kind,
        "gain_s": row.gain,
        "low_s": low,
        "high_s": high,
        "linear_s": row.linear,
        "by_course": {
            effect.course: {
                "gain_s": effect.gain,
                "linear_s": effect.linear,
                "round_trip_s": effect.closure,
                "front_less_rear_before": effect.lean[0],
                "front_less_rear_after": effect.lean[1],
            }
            for effect in row.effects
        },
        "parts_s": {"parameter": max(row.parameter), "numerical": row.numerical, "model": row.model},
        "price": row.option.price,
        "hours": row.option.hours,
        "price_per_tenth": row.price_per_tenth,
        "handling": row.handling,
        "proposed": row.option.is_proposed,
        "cautions": list(row.cautions),
        "note": row.note,
    }


def advise(
    options: Sequence[Option],
    evaluate: Callable[[Sequence[Option]], Iterable[tuple[Effect, ...]]],
    *,
    base: Callable[[], Mapping[str, float]],
) -> Advice:
    """Options ranked by their gain, those that are not proposed or not solved last.

    Parameters
    ----------
    options : sequence of Option
    evaluate : callable
        Gives the effects of each option, one a course, in the order of the options.
    base : callable
        The time of each course without a change, asked for after the evaluation, which may have improved it. [s]
    """
    rows = [Row(option=option, effects=effects) for option, effects in zip(options, evaluate(options), strict=True)]
    return Advice(rows=ranked(rows), base=base())


def ranked(rows: Iterable[Row]) -> tuple[Row, ...]:
    """Proposed before not proposed, solved before not solved, then by gain; equal ones keep their order."""

    def place(row: Row) -> tuple[bool, bool, float]:
        return not row.option.is_proposed, not row.solved, -(row.gain if row.solved else row.linear)

    return tuple(sorted(rows, key=place))
