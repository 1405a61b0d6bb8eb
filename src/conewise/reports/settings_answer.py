"""The whole answer of `conewise settings`: the best combination, what a click off costs, what the bounds cost."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from conewise.errors import ConvergenceError
from conewise.quantities import in_unit, show
from conewise.reports.units import signed

if TYPE_CHECKING:
    from conewise.findings import Finding
    from conewise.quantities import Dimension, System

SHOWN = 0.01  # times below this are not told apart [s]

Verdict = Literal["moved", "as it is", "hardly matters", "cannot tell"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain:
    """Seconds gained, above zero is faster, with their 90 % interval."""

    value: float  # [s]
    low: float
    high: float

    @property
    def is_told(self) -> bool:
        """Whether the sign is sure."""
        return self.low > 0.0 or self.high < 0.0

    @property
    def is_small(self) -> bool:
        """Whether it is under a hundredth, however it turns out."""
        return max(abs(self.low), abs(self.high)) < SHOWN

    @property
    def words(self) -> str:
        """For a table: "+0.12 s", "under 0.01 s", "cannot tell: −0.05 to +0.07 s"."""
        if not np.isfinite(self.value):
            return "not solved"
        if self.is_small or (self.is_told and abs(self.value) < SHOWN):
            return "under 0.01 s"
        if not self.is_told:
            return f"cannot tell: {signed(self.low, 2)} to {signed(self.high, 2)} s"
        return f"{signed(self.value, 2)} s"

    @property
    def turned(self) -> Gain:
        """The same as a cost: above zero is slower."""
        return Gain(value=-self.value, low=-self.high, high=-self.low)

    def as_record(self, name: str) -> dict[str, float]:
        """Keys such as `gain_s`, `gain_low_s`, `gain_high_s`."""
        return {f"{name}_s": self.value, f"{name}_low_s": self.low, f"{name}_high_s": self.high}


@dataclass(frozen=True, slots=True, kw_only=True)
class OneClick:
    """What one click off the best position costs in one direction."""

    cost: Gain | None = None  # above zero is slower; None where there is none
    reason: str = ""  # why there is none: the end of the range, a bound, a run that was not found

    @property
    def words(self) -> str:
        """For a table."""
        return self.reason if self.cost is None else self.cost.words

    def as_record(self) -> dict[str, Any]:
        """For JSON."""
        unknown = dict.fromkeys(("cost_s", "cost_low_s", "cost_high_s"))
        return {**(unknown if self.cost is None else self.cost.as_record("cost")), "reason": self.reason}


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingRow:
    """One setting. Values in SI of `dimension`."""

    name: str
    kind: str
    field: str
    dimension: Dimension
    unit: str  # in which JSON states it
    now: float
    best: float
    low: float  # ends of its range
    high: float
    clicks: int  # from now to best, up positive
    leaning: float  # where the model alone would set it, told or not
    verdict: Verdict
    alone: Gain | None = None  # of this setting alone, the others as they are now
    in_company: Gain | None = None  # of this setting, the others at their best
    up: OneClick = OneClick()
    down: OneClick = OneClick()
    note: str = ""

    def shown(self, value: float, system: System) -> str:
        """A value of it as a person reads it."""
        if self.dimension == "ratio":
            return f"{value:.3f}"
        if self.dimension == "angle":
            return f"{in_unit(value, 'angle', 'deg'):.2f} deg".replace("-", "−")
        return show(value, self.dimension, system).replace("-", "−")

    def as_record(self) -> dict[str, Any]:
        """For JSON."""

        def stated(value: float) -> float:
            return in_unit(value, self.dimension, self.unit)

        return {
            "name": self.name,
            "kind": self.kind,
            "field": self.field,
            "unit": self.unit,
            "now": stated(self.now),
            "best": stated(self.best),
            "low": stated(self.low),
            "high": stated(self.high),
            "clicks": self.clicks,
            "model_leans_to": stated(self.leaning),
            "verdict": self.verdict,
            "alone": None if self.alone is None else self.alone.as_record("gain"),
            "in_company": None if self.in_company is None else self.in_company.as_record("gain"),
            "one_click_up": self.up.as_record(),
            "one_click_down": self.down.as_record(),
            "note": self.note,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class BoundRow:
    """One bound: what it asks for, how much is left, and what it costs."""

    name: str
    asks: str  # in words
    before: float  # of what it holds
    after: float
    least: float  # that it asks for
    unit: str
    digits: int
    is_safety: bool = True
    cost: float | None = None  # time that would be saved without it; None where it does not bind [s]

    @property
    def cost_words(self) -> str:
        """What it costs, as information."""
        if self.cost is None:
            return "costs nothing here"
        if self.cost < SHOWN:
            return "costs under 0.01 s"
        kept = " It is kept all the same." if self.is_safety else ""
        return f"costs about {self.cost:.2f} s.{kept}"

    def number(self, value: float) -> str:
        """A value of it with its unit."""
        if not np.isfinite(value):
            return "none"
        return f"{value:.{self.digits}f} {self.unit}".replace("-", "−").strip()

    def as_record(self) -> dict[str, Any]:
        """For JSON."""
        return {
            "name": self.name,
            "asks": self.asks,
            "unit": self.unit,
            "before": self.before,
            "after": self.after,
            "least": self.least,
            "binds": self.cost is not None,
            "cost_s": self.cost,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class RangeEnd:
    """A setting that stands at an end of its range and would go on."""

    name: str
    end: str  # "its range" or "marked limit"
    cost: float  # what one more click would gain by the slope [s]

    @property
    def words(self) -> str:
        """What the end costs, as information."""
        return f"{self.name} stands at its end ({self.end}); by its slope one more click would gain {self.cost:.2f} s."


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseTime:
    """One course."""

    name: str
    weight: float  # share; all sum to 1
    now: float  # [s]
    best: float  # [s]


@dataclass(frozen=True, slots=True, kw_only=True)
class HandlingLine:
    """One line about the handling, before and after."""

    name: str
    before: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingsAnswer:
    """The answer to "which settings for these courses, and how much do they matter?"."""

    car: str
    driver: str
    surface: float
    courses: tuple[CourseTime, ...]
    rows: tuple[SettingRow, ...]
    not_moved: tuple[tuple[str, str], ...]  # name and reason
    bounds: tuple[BoundRow, ...]
    range_ends: tuple[RangeEnd, ...]
    together: Gain | None  # None where every setting stays
    handling: tuple[HandlingLine, ...]
    cautions: tuple[str, ...]
    findings: tuple[Finding, ...] = ()
    notes: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    n_solves: int = 0
    leaning: Gain | None = None  # of the model's own best over what can be told
    repaired: str = ""  # why a setting had to move before anything was sought

    @property
    def headline(self) -> str:
        """The answer in one sentence."""
        moved = [row for row in self.rows if row.verdict == "moved"]
        if not moved or self.together is None:
            return "No change of these settings gains time that can be told: leave them as they are."
        names = ", ".join(row.name for row in moved)
        if self.repaired and not self.together.low > 0.0:
            return f"Move {names}: {self.repaired}"
        low, high = signed(self.together.low, 2), signed(self.together.high, 2)
        return f"Move {names}: {self.together.words} a run (90 % interval {low} to {high} s)."

    def leaning_words(self, system: System) -> str:
        """Where the model leans without being able to tell; empty where it does not."""
        leans = [row for row in self.rows if row.leaning != row.best]
        if self.leaning is None or self.leaning.value < SHOWN or not leans:
            return ""
        places = ", ".join(f"{row.name} {row.shown(row.leaning, system)}" for row in leans)
        low, high = signed(self.leaning.low, 2), signed(self.leaning.high, 2)
        sure = "" if self.leaning.is_told else ", which cannot be told"
        return (
            f"Worth a test with times: the model leans to {places}; {low} to {high} s a run together{sure}, and no "
            "single one of these moves can be told."
        )

    @property
    def exit_code(self) -> int:
        """What a command leaves with: 6 where a run failed one of its checks, else 0."""
        return ConvergenceError.exit_code if self.doubts else 0

    def as_record(self) -> dict[str, Any]:
        """What `--json` prints; keys carry their units, settings theirs in `unit`."""
        gain = {"gain_s": 0.0, "gain_low_s": 0.0, "gain_high_s": 0.0}
        return {
            "ok": not self.doubts,
            "doubts": list(self.doubts),
            "sentence": self.headline,
            "interval": 0.9,
            **(gain if self.together is None else self.together.as_record("gain")),
            "courses": [{"name": c.name, "weight": c.weight, "now_s": c.now, "best_s": c.best} for c in self.courses],
            "surface": self.surface,
            "settings": [row.as_record() for row in self.rows],
            "not_moved": [{"name": name, "reason": reason} for name, reason in self.not_moved],
            "bounds": [bound.as_record() for bound in self.bounds],
            "leaning": None if self.leaning is None else self.leaning.as_record("gain"),
            "range_ends": [{"name": e.name, "end": e.end, "one_click_more_s": e.cost} for e in self.range_ends],
            "handling": [{"name": h.name, "before": h.before, "after": h.after} for h in self.handling],
            "findings": [
                {"severity": f.severity, "code": f.code, "message": f.message, "where": f.where} for f in self.findings
            ],
            "notes": list(self.notes),
            "cautions": list(self.cautions),
            "solves": self.n_solves,
        }
