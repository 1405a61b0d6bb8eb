"""One row of advice: a change with its gain, an honest interval, its price and what it does to the handling.

Knows nothing of the solver: it is given the effect of every change on every course.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from conewise.advisor.kinds import CAUTIONS, FOR_THE_DRIVER, LEAST_SHARE, MODEL_PARTS
from conewise.findings import has_stop
from conewise.quantities import HALF_90

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from conewise.findings import Finding
    from conewise.money import Money

Array = NDArray[np.float64]

NUMERICAL = 0.004  # half width of what mesh and start leave open [s]
NUMERICAL_OWN_MESH = 0.02  # the same where a change needed a mesh of its own [s]
NEUTRAL = 0.02  # friction use front less rear within which a car is called neutral
LEAN_STEP = 0.003  # least change of it that is called a change
TENTH = 0.1  # [s]
SHOWN = 0.01  # gains below this are not told apart [s]
_NO_SECONDS = {
    "restraint": "No seconds before the complete system is confirmed as allowed and fitted by a qualified person.",
    "safety": "A safety item: not judged by seconds.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassEffect:
    """The class of the car with a change, and the factors on raw times before and after."""

    code: str  # empty where no class takes the car
    before: str  # class of the car without the change; empty where none takes it
    reason: str
    index: float = 1.0
    index_before: float = 1.0

    @property
    def is_moved(self) -> bool:
        """Whether the change moves the car to another class, or out of all."""
        return self.code != self.before


@dataclass(frozen=True, slots=True, kw_only=True)
class Handling:
    """What the numbers of a car say about its handling; SI."""

    understeer_gradient: float  # near straight ahead [rad per g]
    brake_front_share: float  # [-]
    critical_deceleration: float  # both axles lock together; above it the rear first [g]
    ride_frequency_front: float  # [Hz]
    ride_frequency_rear: float  # [Hz]
    load_transfer_distribution: float  # front share of the lateral load transfer [-]


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """Something that could be done."""

    name: str
    kind: str
    price: Money | None = None
    hours: float | None = None
    note: str = ""
    findings: tuple[Finding, ...] = ()  # about the safety and the fit of the changed car
    cautions: tuple[str, ...] = ()  # the part's own
    only_gains: bool = False  # compares with nothing that could cost time, so that no gain is below zero
    is_required: bool = False  # found missing at inspection
    has_effect: bool = True  # whether the model knows what it changes
    car_class: ClassEffect | None = None  # None: no rules were given
    handling: tuple[Handling, Handling] | None = None  # without and with it

    @property
    def is_proposed(self) -> bool:
        """False where it would leave a car that should not run, such as one that locks its rear axle first."""
        return not has_stop(list(self.findings))

    @property
    def is_first(self) -> bool:
        """Whether it stands before what is ranked by seconds where a driver has few runs: seat time and safety."""
        return self.kind in FOR_THE_DRIVER


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What an option does on one course. Gains above zero are faster."""

    course: str
    linear: float  # gain by the derivative [s]
    base: float = np.nan  # time without a change [s]
    gain: float = np.nan  # gain by solving again; NaN where that was not possible, or not yet done [s]
    closure: float = 0.0  # how far the round trip stays open [s]
    draws: Array = field(default_factory=lambda: np.zeros(0))  # deviations of the gain for the option's own spread [s]
    common: Mapping[str, float] = field(default_factory=dict)  # deviations for one standard deviation of others [s]
    lean: tuple[float, float] = (np.nan, np.nan)  # friction use front less rear, before and after
    own_mesh: bool = False
    stopped: str = ""

    @property
    def is_solved(self) -> bool:
        """Whether there is a gain by solving."""
        return not np.isnan(self.gain)

    @property
    def is_waiting(self) -> bool:
        """Whether it was not tried to solve it: the slopes alone tell what it gains."""
        return not self.is_solved and not self.stopped

    @property
    def numerical(self) -> float:
        """Half width of the numerical part. [s]"""
        return max(NUMERICAL_OWN_MESH if self.own_mesh else NUMERICAL, abs(self.closure))


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One option with what it is worth over all courses."""

    option: Option
    effects: tuple[Effect, ...]
    weights: Mapping[str, float] = field(default_factory=dict)  # of a course that is not named: 1

    @property
    def solved(self) -> tuple[Effect, ...]:
        """Effects on the courses where a run was found; none before every course was tried."""
        return () if self.is_waiting else tuple(effect for effect in self.effects if effect.is_solved)

    @property
    def is_waiting(self) -> bool:
        """Whether a course was not tried yet, so that only the slopes tell what it gains over all."""
        return any(effect.is_waiting for effect in self.effects)

    @property
    def gain(self) -> float:
        """Weighted mean gain of the solved courses; NaN without one. [s]"""
        return float(self._mean([effect.gain for effect in self.solved])) if self.solved else np.nan

    @property
    def linear(self) -> float:
        """Weighted mean gain by the derivative; NaN where the model does not know what changes. [s]"""
        if not self.effects:
            return np.nan
        return float(np.average([e.linear for e in self.effects], weights=self._of(self.effects)))

    @property
    def indexed(self) -> float:
        """Weighted mean gain in indexed time: raw time by the factor of the class, without and with it. [s]"""
        told = self.option.car_class
        if told is None or not self.solved:
            return self.gain
        indexed = [told.index_before * e.base - told.index * (e.base - e.gain) for e in self.solved]
        return float(self._mean(indexed))

    def _mean(self, values: Any) -> Any:
        """Weighted mean over the solved courses, along the first axis."""
        mean = np.average(np.asarray(values), axis=0, weights=self._of(self.solved))
        return float(mean) if np.ndim(mean) == 0 else mean

    def _of(self, effects: Sequence[Effect]) -> list[float]:
        return [self.weights.get(effect.course, 1.0) for effect in effects]

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
        common = HALF_90 * float(np.sqrt(sum(value**2 for value in self._common().values())))
        draws = [effect.draws for effect in self.solved if effect.draws.size]  # of all courses or of none
        low, high = (0.0, 0.0) if not draws else np.percentile(self._mean(draws), (5.0, 95.0))
        return float(np.hypot(common, min(low, 0.0))), float(np.hypot(common, max(high, 0.0)))

    def _common(self) -> dict[str, float]:
        names = {name for effect in self.solved for name in effect.common}
        return {name: self._mean([effect.common.get(name, 0.0) for effect in self.solved]) for name in sorted(names)}

    @property
    def interval(self) -> tuple[float, float]:
        """90 % interval of the gain: parameter, numerical and model part, taken as independent. [s]

        Where nothing is compared that could cost time, it ends at zero.
        """
        low, high = (float(np.sqrt(part**2 + self.numerical**2 + self.model**2)) for part in self.parameter)
        least = min(self.gain, 0.0) if self.option.only_gains else -np.inf
        return max(self.gain - low, least), self.gain + high

    @property
    def is_small(self) -> bool:
        """Whether the gain drowns in what the numbers leave open."""
        return abs(self.gain) < max(self.numerical, SHOWN)

    @property
    def price_per_tenth(self) -> float | None:
        """Money for a tenth of a second; None without a price or a gain."""
        if self.option.price is None or self.is_small or not self.gain > 0.0:
            return None
        return float(self.option.price.amount) * TENTH / self.gain

    @property
    def handling(self) -> str:
        """Understeer or oversteer at the limit along the line, in words."""
        if not self.option.has_effect:
            return "as before"
        effects = self.solved or self.effects
        leans = [effect.lean for effect in effects]
        before, after = (float(np.average([lean[k] for lean in leans], weights=self._of(effects))) for k in (0, 1))
        return handling_words(before, after)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to mind before doing it; findings about the changed car first."""
        found = (finding.message for finding in self.option.findings)
        return (*found, *self.option.cautions, *CAUTIONS[self.option.kind])

    @property
    def note(self) -> str:
        """What else a reader has to know about this row."""
        parts = [self.option.note.strip()] if self.option.note else []
        if not self.option.is_proposed:
            parts.append("Not proposed: see the caution.")
        if not self.option.has_effect:
            parts.append(_NO_SECONDS.get(self.option.kind, "The model does not know what it changes: no seconds."))
        parts += [f"Not solved on {effect.course}: {effect.stopped}" for effect in self.effects if effect.stopped]
        parts += [f"Solved on a mesh of its own on {effect.course}." for effect in self.solved if effect.own_mesh]
        if self.solved and self.option.has_effect:
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


def ranked(rows: Iterable[Row], *, driver_first: bool = False) -> tuple[Row, ...]:
    """Rows in the order in which they are shown; equal ones keep their order.

    Parameters
    ----------
    rows : iterable of Row
    driver_first : bool, default False
        Whether seat time and safety items stand before what is ranked by seconds.

    Notes
    -----
    What inspection asks for comes first; then proposed before not proposed, with seconds before without, by gain.
    """

    def place(row: Row) -> tuple[bool, bool, bool, bool, float]:
        option = row.option
        gain = row.gain if row.solved else row.linear
        is_behind = driver_first and not option.is_first
        unknown = not row.effects
        return not option.is_required, not option.is_proposed, is_behind, not row.solved, 0.0 if unknown else -gain

    return tuple(sorted(rows, key=place))
