"""A run, the best on its own line and the best on any line, side by side on one station axis."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from conewise.logs.measures import BRAKING, PEDAL, low_points

if TYPE_CHECKING:
    from conewise.logs.breakdown import Breakdown, FeatureGap
    from conewise.logs.measures import Measures
    from conewise.runs import Trace

Array = NDArray[np.float64]

STEP = 0.5  # of the axis [m]
SMOOTHING = 1.5  # standard deviation of the kernel over which speeds and accelerations are averaged [m]

_ARRAYS = (
    "time",
    "lateral_offset",
    "x",
    "y",
    "speed",
    "heading",
    "longitudinal_acceleration",
    "lateral_acceleration",
    "station_deviation",
    "lateral_offset_deviation",
    "speed_deviation",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Corner:
    """A place where the best run is slowest; indices into the axis.

    top: fastest place before it
    braking: where the best run begins to brake for it; `top` where it does not brake
    slowest: the place itself
    side: +1 for a turn to the left
    feature: to which it belongs
    """

    top: int
    braking: int
    slowest: int
    side: float
    feature: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreeRuns:
    """Three runs of one car at the same stations of its reference point, and what else is known of the first.

    station: shape (n_stations,) [m]
    both_pedals: shape (n_stations,), one where both pedals are down, zero where not or not recorded
    corners: of the best run, in driving order
    """

    breakdown: Breakdown
    driven: Trace
    on_line: Trace
    best: Trace
    measures: Measures | None
    station: Array
    both_pedals: Array
    corners: tuple[Corner, ...]

    @property
    def doubt(self) -> Array:
        """Standard deviation of the driven speed beside the fastest on the line, shape (n_stations,). [m/s]"""
        return np.hypot(self.driven.speed_deviation, self.on_line.speed_deviation)

    def index(self, station: float) -> int:
        """The place on the axis nearest to a station. [m]"""
        return int(np.clip(np.searchsorted(self.station, station), 0, self.station.size - 1))

    def feature_at(self, index: int) -> FeatureGap:
        """To which feature a place belongs, by the front of the car."""
        return _feature_at(self.breakdown, float(self.driven.front_station[index]))

    def lost(self, run: Trace, against: Trace, *, begin: int, end: int) -> float:
        """What one run loses against another between two places. [s]"""
        difference = run.time - against.time
        return float(difference[end] - difference[begin])


def three_runs(
    breakdown: Breakdown, *, driven: Trace, on_line: Trace, best: Trace, measures: Measures | None = None
) -> ThreeRuns:
    """Three runs along one path on one axis, speeds and accelerations averaged over `SMOOTHING`."""
    low = max(trace.station[0] for trace in (driven, on_line, best))
    high = min(trace.station[-1] for trace in (driven, on_line, best))
    station = np.linspace(low, high, max(int(np.ceil((high - low) / STEP)) + 1, 2))
    runs = [_at(trace, station) for trace in (driven, on_line, best)]
    return ThreeRuns(
        breakdown=breakdown,
        driven=runs[0],
        on_line=runs[1],
        best=runs[2],
        measures=measures,
        station=station,
        both_pedals=_both_pedals(driven, measures, station),
        corners=_corners(runs[2], breakdown),
    )


def smoothed(values: Array) -> Array:
    """Averaged over `SMOOTHING`."""
    return np.asarray(gaussian_filter1d(values, SMOOTHING / STEP, mode="nearest"))


def _at(trace: Trace, station: Array) -> Trace:
    then = {name: np.interp(station, trace.station, getattr(trace, name)) for name in _ARRAYS}
    for name in ("speed", "longitudinal_acceleration", "lateral_acceleration"):
        then[name] = smoothed(then[name])
    return replace(trace, station=station, **then)


def _both_pedals(driven: Trace, measures: Measures | None, station: Array) -> Array:
    if measures is None or measures.pedals is None:
        return np.zeros_like(station)
    both = (measures.pedals.throttle > PEDAL) & (measures.pedals.brake > PEDAL)
    return np.asarray(np.interp(station, driven.station, both.astype(float)))


def _corners(best: Trace, breakdown: Breakdown) -> tuple[Corner, ...]:
    answers, before = [], 0
    for low in low_points(best.speed):
        top = before + int(np.argmax(best.speed[before : low + 1]))
        braking = np.flatnonzero(best.longitudinal_acceleration[top : low + 1] < -BRAKING)
        answers.append(
            Corner(
                top=top,
                braking=top + int(braking[0]) if braking.size else top,
                slowest=low,
                side=float(np.sign(np.sum(best.lateral_acceleration[max(low - 6, 0) : low + 7]))) or 1.0,
                feature=_feature_at(breakdown, float(best.front_station[low])).id,
            )
        )
        before = low
    return tuple(answers)


def _feature_at(breakdown: Breakdown, station: float) -> FeatureGap:
    return next((gap for gap in breakdown.features if station < gap.end), breakdown.features[-1])
