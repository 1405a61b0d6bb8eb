"""Two runs station by station, and the best of a driver's own features, with what joining them may hide."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from conewise.errors import InputError
from conewise.runs import feature_results

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.course.geometry import CourseGeometry
    from conewise.runs import FeatureResult, Trace

Array = NDArray[np.float64]

LEAST_PULL = 2.0  # of a car that makes up a difference of speed, where the runs show less [m/s2]
PULL_SHARE = 0.9  # share of the run's accelerations below the one with which it can make up a difference


class DifferentPathsError(InputError):
    """Two traces that do not lie along the same path."""

    code = "different-paths"
    default_hint = "Lay both runs along the same reference path."

    def __init__(self, first: str, second: str, *, lengths: tuple[float, float]) -> None:
        super().__init__(
            f"'{first}' lies along a path of {lengths[0]:.1f} m, '{second}' along one of {lengths[1]:.1f} m.",
            where=f"{first}, {second}",
        )


class NoRunsError(InputError):
    """Nothing to compare."""

    code = "no-runs"
    default_hint = "Give at least one run that reached the finish."

    def __init__(self) -> None:
        super().__init__("There is no finished run to compare.", where="runs")


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where the two cars are when their fronts are at one station; what a cursor shows. First run, second run."""

    station: float
    x: tuple[float, float]
    y: tuple[float, float]
    speed: tuple[float, float]
    time: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """A first run against a second one. Arrays have shape (n_stations,).

    station: of the fronts of the cars, from the start beam to the finish beam [m]
    time: by how much the first is later than the second; what it loses rises [s]
    deviation: of that, nought at the start beam: from the starts and from the positions of both, which are independent
        from run to run [s]
    speed: first less second [m/s]
    lateral_offset: first less second, left positive [m]
    """

    first: Trace
    second: Trace
    station: Array
    time: Array
    deviation: Array
    speed: Array
    lateral_offset: Array

    def at(self, station: float) -> Place:
        """Both cars with their fronts at a station. [m]"""
        pairs = {
            name: tuple(
                float(np.interp(station, trace.front_station, getattr(trace, name)))
                for trace in (self.first, self.second)
            )
            for name in ("x", "y", "speed", "time")
        }
        return Place(station=station, **pairs)  # type: ignore[arg-type]

    def deviation_between(self, begin: float, end: float) -> float:
        """Standard deviation of what the first loses from one station of the fronts to another. [s]"""
        return float(np.hypot(self.first.deviation_between(begin, end), self.second.deviation_between(begin, end)))

    def by_feature(self, geometry: CourseGeometry) -> tuple[tuple[str, float], ...]:
        """Id of every feature and the time that the first run loses in it; sums to the difference of the runs. [s]"""
        return tuple(
            (span.id, float(np.diff(np.interp([span.start, span.end], self.station, self.time))[0]))
            for span in geometry.spans
        )


def compare(first: Trace, second: Trace) -> Comparison:
    """Time difference by station of any two runs along one path, driven or predicted.

    Parameters
    ----------
    first, second : Trace

    Returns
    -------
    Comparison
        On the stations of both.

    Raises
    ------
    DifferentPathsError
        Where the traces end at different stations.
    """
    ends = float(first.front_station[-1]), float(second.front_station[-1])
    if abs(ends[0] - ends[1]) > 0.01:
        raise DifferentPathsError(first.name, second.name, lengths=ends)
    station = np.union1d(first.front_station, second.front_station)
    station = station[np.concatenate([[True], np.diff(station) > 1e-6])]

    def both(name: str) -> tuple[Array, Array]:
        a, b = (np.interp(station, t.front_station, getattr(t, name)) for t in (first, second))
        return a, b

    time, speed, offset = (both(n) for n in ("time", "speed", "lateral_offset"))
    return Comparison(
        first=first,
        second=second,
        station=station,
        time=time[0] - time[1],
        deviation=np.hypot(first.clock_deviation(station), second.clock_deviation(station)),
        speed=speed[0] - speed[1],
        lateral_offset=offset[0] - offset[1],
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Join:
    """Where the best of one feature is followed by the best of the next from another run.

    speed_gap: entry speed that the next needs less the exit speed that the one before gives [m/s]
    offset_gap: sideways, left positive [m]
    loss: least time to make up the difference of speed [s]
    """

    station: float
    before: str
    after: str
    speed_gap: float
    offset_gap: float
    loss: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BestFeature:
    """The fastest pass of one feature among the runs."""

    id: str
    kind: str
    time: float  # [s]
    run: str
    entry_speed: float  # [m/s]
    exit_speed: float  # [m/s]
    lost_by_best_run: float  # what the fastest whole run loses here [s]


@dataclass(frozen=True, slots=True, kw_only=True)
class BestFeatures:
    """The sum of the best own features, and what makes it optimistic.

    fastest: time of the fastest whole run [s]
    total: sum of the best features [s]
    joins: where they do not fit together
    luck: by how much the least of several times, each as unsure as they are, lies below the true one on average [s]
    joined: fastest chain of features with the loss at every join counted; between `total` and `fastest` [s]
    """

    features: tuple[BestFeature, ...]
    fastest: float
    total: float
    joins: tuple[Join, ...]
    luck: float
    joined: float

    @property
    def optimistic_by(self) -> float:
        """What making up the speeds would cost at the joins, and luck. [s]"""
        return sum(join.loss for join in self.joins) + self.luck


def best_features(traces: Sequence[Trace], geometry: CourseGeometry) -> BestFeatures:
    """The fastest pass of every feature among runs on one course.

    Parameters
    ----------
    traces : Sequence[Trace]
        Of one driver in one car, along the path of the geometry.
    geometry : CourseGeometry

    Raises
    ------
    NoRunsError
        Where there is no trace.

    Notes
    -----
    A feature entered faster than the one before it was left was paid for there: braking later, a wider exit. The least
    loss at a join is that of making up the difference of speed at the pull that the runs show, dv^2 / (2 a v): the
    time lost against the higher speed while it is made up. What another place or direction costs is not in it.
    """
    if not traces:
        raise NoRunsError
    table = [feature_results(geometry, station=t.front_station, elapsed=t.time, speed=t.speed) for t in traces]
    times = np.array([[feature.time for feature in row] for row in table])
    fastest = int(np.argmin(times.sum(axis=1)))
    chosen = [int(k) for k in np.argmin(times, axis=0)]
    pull = _pulls(traces)
    joins = [
        _join(traces, table, border=i + 1, runs=(a, b), pull=pull)
        for i, (a, b) in enumerate(pairwise(chosen))
        if a != b
    ]
    return BestFeatures(
        features=tuple(
            _best(table[run][i], traces[run].name, float(times[fastest, i])) for i, run in enumerate(chosen)
        ),
        fastest=float(times[fastest].sum()),
        total=float(times[chosen, np.arange(times.shape[1])].sum()),
        joins=tuple(joins),
        luck=_luck(traces, table),
        joined=_chain(traces, table, times, pull),
    )


def _best(feature: FeatureResult, run: str, time_of_best_run: float) -> BestFeature:
    return BestFeature(
        id=feature.id,
        kind=feature.kind,
        time=feature.time,
        run=run,
        entry_speed=feature.entry_speed,
        exit_speed=feature.exit_speed,
        lost_by_best_run=time_of_best_run - feature.time,
    )


def _pulls(traces: Sequence[Trace]) -> tuple[float, float]:
    """Accelerations with which the runs gain and lose speed when they do so in earnest. [m/s2]"""
    along = np.concatenate([t.longitudinal_acceleration for t in traces])
    gains, brakes = along[along > 0.0], -along[along < 0.0]
    return (
        max(float(np.quantile(gains, PULL_SHARE)) if gains.size else 0.0, LEAST_PULL),
        max(float(np.quantile(brakes, PULL_SHARE)) if brakes.size else 0.0, LEAST_PULL),
    )


def _join(
    traces: Sequence[Trace],
    table: list[tuple[FeatureResult, ...]],
    *,
    border: int,
    runs: tuple[int, int],
    pull: tuple[float, float],
) -> Join:
    """The border before feature number `border`, from one run to another."""
    before, after = table[runs[0]][border - 1], table[runs[1]][border]
    gap = after.entry_speed - before.exit_speed
    higher = max(after.entry_speed, before.exit_speed, 0.5)
    offsets = [float(np.interp(after.start, traces[k].front_station, traces[k].lateral_offset)) for k in runs]
    return Join(
        station=after.start,
        before=traces[runs[0]].name,
        after=traces[runs[1]].name,
        speed_gap=gap,
        offset_gap=offsets[1] - offsets[0],
        loss=gap**2 / (2.0 * (pull[0] if gap > 0.0 else pull[1]) * higher),
    )


def _chain(
    traces: Sequence[Trace], table: list[tuple[FeatureResult, ...]], times: Array, pull: tuple[float, float]
) -> float:
    """Time of the fastest chain of features with the losses at its joins. [s]"""
    cost = times[:, 0].copy()
    for border in range(1, times.shape[1]):
        loss = np.array(
            [
                [
                    0.0 if a == b else _join(traces, table, border=border, runs=(a, b), pull=pull).loss
                    for b in range(len(traces))
                ]
                for a in range(len(traces))
            ]
        )
        cost = np.min(cost[:, None] + loss, axis=0) + times[:, border]
    return float(cost.min())


def _luck(traces: Sequence[Trace], table: list[tuple[FeatureResult, ...]]) -> float:
    """How far below its mean the least of several equally unsure times lies, summed over the features. [s]"""
    if len(traces) < 2:
        return 0.0
    grid = np.linspace(-8.0, 8.0, 3201)
    density = np.exp(-(grid**2) / 2.0) / np.sqrt(2.0 * np.pi)
    below = float(np.trapezoid(grid * len(traces) * density * ndtr(-grid) ** (len(traces) - 1), grid))
    unsure = 0.0
    for i in range(len(table[0])):
        each = [t.deviation_between(row[i].start, row[i].end) for t, row in zip(traces, table, strict=True)]
        unsure += float(np.mean(each))
    return -below * unsure
