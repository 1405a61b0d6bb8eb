"""Where a run's time went: the gap to the best possible run, by feature, in the line and in the speed on it.

    measured - best = (measured - best on the driver's own line) + (best on that line - best on any line)

The identity holds by construction, for the whole run and for every feature.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

LEAST_HALF = 0.01  # half an interval at the least: a recording claims no hundredth of a second [s]


@dataclass(frozen=True, slots=True)
class Interval:
    """A 90% interval. [s]"""

    low: float
    high: float

    @property
    def width(self) -> float:
        """[s]"""
        return self.high - self.low

    def tells(self, part: float) -> bool:
        """Whether a part of the gap is a number: its interval is no wider than it is large. [s]"""
        return max(self.width, 2.0 * LEAST_HALF) <= abs(part)


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureGap:
    """One feature's share of the gap; negative where time was invested that comes back elsewhere."""

    id: str
    kind: str
    start: float  # station [m]
    end: float  # station [m]
    measured: float  # [s]
    best_on_line: float  # fastest on the driver's own line [s]
    best: float  # fastest on any line [s]
    line_interval: Interval
    speed_interval: Interval

    @property
    def line(self) -> float:
        """Lost by the line. [s]"""
        return self.best_on_line - self.best

    @property
    def speed(self) -> float:
        """Lost by the speed on the line. [s]"""
        return self.measured - self.best_on_line

    @property
    def is_line_told(self) -> bool:
        """Whether the recording can tell what the line lost here."""
        return self.line_interval.tells(self.line)

    @property
    def is_speed_told(self) -> bool:
        """Whether the recording can tell what the speed on the line lost here."""
        return self.speed_interval.tells(self.speed)


@dataclass(frozen=True, slots=True, kw_only=True)
class FrictionFound:
    """The friction that the best run is allowed, relative to the car file's, and where it comes from."""

    value: float
    low: float
    high: float  # infinite where only a lower bound is known
    origin: str  # "saturated", "skidpad", "surface", "typical"

    @property
    def is_lower_bound(self) -> bool:
        """Whether no recording showed the tyres at their limit."""
        return self.high == float("inf")

    @property
    def doubt(self) -> float:
        """How far off it may be to the wider side, as a share of it; 0 where only a lower bound is known."""
        return 0.0 if self.is_lower_bound else max(self.high - self.value, self.value - self.low) / self.value


@dataclass(frozen=True, slots=True, kw_only=True)
class Breakdown:
    """The gap of one run, whole and by feature."""

    features: tuple[FeatureGap, ...]
    friction: FrictionFound
    n_paths: int  # paths drawn from the smoother's posterior for the intervals
    line_interval: Interval
    speed_interval: Interval

    @property
    def measured(self) -> float:
        """[s]"""
        return sum(feature.measured for feature in self.features)

    @property
    def best_on_line(self) -> float:
        """[s]"""
        return sum(feature.best_on_line for feature in self.features)

    @property
    def tells_line(self) -> bool:
        """Whether the recording can carry a line at all, so that the parts are numbers."""
        return isfinite(self.best_on_line)

    @property
    def best(self) -> float:
        """[s]"""
        return sum(feature.best for feature in self.features)

    @property
    def gap(self) -> float:
        """[s]"""
        return self.measured - self.best
