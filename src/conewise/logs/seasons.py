"""Many runs: what a driver learned over a day, and where the time goes over a season, by kind of stretch."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeGuard

import numpy as np
from numpy.typing import NDArray

from conewise.course.layout import FeatureKind
from conewise.errors import InputError
from conewise.runs import feature_results

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.course.geometry import CourseGeometry, FeatureSpan
    from conewise.runs import Trace

Array = NDArray[np.float64]
StretchKind = Literal["launch", "slalom", "sweeper", "hairpin", "straight"]
STRETCH_KINDS: tuple[StretchKind, ...] = ("launch", "slalom", "sweeper", "hairpin", "straight")

CONFIDENCE = 0.9  # of the interval of the trend
LEAST_RUNS = 4  # for a trend: the order of fewer is chance in more than 1 - CONFIDENCE of all days without one
STRAIGHT_TURN = np.radians(25.0)  # a stretch that turns less is straight; common practice, no source
STRAIGHT_RADIUS = 40.0  # and nowhere tighter than this [m]; common practice, no source
HAIRPIN_TURN = np.radians(120.0)  # a stretch that turns more is a hairpin; common practice, no source
_OF_DIFFERENCES = 0.9539  # median of the differences of two normal numbers over their standard deviation

_OWN_KIND: dict[FeatureKind, StretchKind] = {
    FeatureKind.START: "launch",
    FeatureKind.SLALOM: "slalom",
    FeatureKind.OFFSET_GATE: "slalom",
    FeatureKind.SPLIT_GATE: "slalom",
    FeatureKind.SWEEPER: "sweeper",
    FeatureKind.HAIRPIN: "hairpin",
}


class RunOrderError(InputError):
    """Times of a day that cannot be put in order."""

    code = "run-order"
    default_hint = "Give one number from 1, one time and one count of cones for every run, in the order driven."

    def __init__(self, what: str) -> None:
        super().__init__(what, where="runs of the day")


@dataclass(frozen=True, slots=True, kw_only=True)
class DayOfRuns:
    """What the runs of one driver in one car on one course say together.

    best: least raw time [s]
    gain_per_doubling: time gained each time that the number of runs doubles; None with fewer than `LEAST_RUNS` [s]
    gain_low, gain_high: its interval, which holds it in 90 of 100 days or more [s]
    spread: standard deviation about the trend, robust; None with fewer than `LEAST_RUNS` [s]
    cones: hit in all runs
    n_clean: runs without a cone
    """

    n_runs: int
    best: float
    gain_per_doubling: float | None
    gain_low: float | None
    gain_high: float | None
    spread: float | None
    cones: int
    n_clean: int

    @property
    def is_still_learning(self) -> bool | None:
        """Whether the interval of the gain lies above zero; None without a trend."""
        return None if self.gain_low is None else self.gain_low > 0.0


def day_of_runs(numbers: Sequence[int], times: Sequence[float], cones: Sequence[int] | None = None) -> DayOfRuns:
    """Learning, spread and cones over a day.

    Parameters
    ----------
    numbers : Sequence[int]
        Which try of the day each run was, from 1; broken-off tries count, they teach too.
    times : Sequence[float]
        Raw times without penalties. [s]
    cones : Sequence[int], optional
        Hit in each run.

    Raises
    ------
    RunOrderError
        Where there is no run, or numbers and times do not go together.

    Notes
    -----
    The trend is a straight line in the logarithm of the run number, fitted by the median of all slopes (Theil-Sen),
    so that one spoilt run does not bend it. Practice follows a power law of trials: Newell and Rosenbloom, Mechanisms
    of skill acquisition and the law of practice, 1981 (from memory); for small gains the law is this line.

    The interval is Sen's (Estimates of the regression coefficient based on Kendall's tau, 1968, from memory) with the
    exact chances of Kendall's count in place of the normal law, so that it holds for few runs and errors of any law.
    The spread is the median of all differences between the runs once the trend is taken off (Shamos, 1976, from
    memory): of 4 to 30 runs of a normal law 92 to 99% of the standard deviation on average.
    """
    hit = [0] * len(times) if cones is None else list(cones)
    if not times or len(numbers) != len(times) or len(hit) != len(times):
        raise RunOrderError(f"There are {len(numbers)} numbers, {len(times)} times and {len(hit)} counts of cones.")
    if min(numbers) < 1 or len(set(numbers)) != len(numbers):
        raise RunOrderError("A run number is below 1 or given twice.")
    doublings, seconds = np.log2(np.asarray(numbers, dtype=float)), np.asarray(times, dtype=float)
    gain = low = high = spread = None
    if len(times) >= LEAST_RUNS:
        one, other = np.triu_indices(len(times), 1)
        gains = np.sort((seconds[one] - seconds[other]) / (doublings[other] - doublings[one]))
        left_out = _left_out(len(times))
        gain, low, high = float(np.median(gains)), float(gains[left_out]), float(gains[-1 - left_out])
        left = seconds + gain * doublings
        spread = float(np.median(np.abs(left[one] - left[other]))) / _OF_DIFFERENCES
    return DayOfRuns(
        n_runs=len(times),
        best=float(seconds.min()),
        gain_per_doubling=gain,
        gain_low=low,
        gain_high=high,
        spread=spread,
        cones=sum(hit),
        n_clean=sum(count == 0 for count in hit),
    )


def _left_out(n_runs: int) -> int:
    """How many slopes the interval leaves out on either side.

    As many lie below the true one as a random order of the runs has inversions (Kendall's count).
    """
    inversions = np.ones(1)
    for n in range(2, n_runs + 1):
        inversions = np.convolve(inversions, np.full(n, 1.0 / n))
    return int(np.searchsorted(np.cumsum(inversions), (1.0 - CONFIDENCE) / 2.0, side="right")) - 1


def stretch_kind(span: FeatureSpan, geometry: CourseGeometry) -> StretchKind:
    """What kind of driving a feature asks for: its own kind, or what the path does there.

    The start is the launch; offset and split gates are slaloms. Gates, boxes, walls, single cones and the finish are
    straights where the path turns by less than 25 degrees and is nowhere tighter than 40 m, hairpins where it turns by
    more than 120 degrees, and sweepers between.
    """
    if span.kind in _OWN_KIND:
        return _OWN_KIND[span.kind]
    stations = np.linspace(span.start, span.end, max(int(span.end - span.start), 4))
    points = geometry.path.at(stations)
    turn = abs(float(points.heading[-1] - points.heading[0]))
    if turn < STRAIGHT_TURN and float(np.abs(points.curvature).max()) < 1.0 / STRAIGHT_RADIUS:
        return "straight"
    return "hairpin" if turn > HAIRPIN_TURN else "sweeper"


def is_stretch_kind(word: str) -> TypeGuard[StretchKind]:
    """Whether a word is one of `STRETCH_KINDS`."""
    return word in STRETCH_KINDS


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """One feature in one run, with what it could have been.

    event: day and course
    time: [s]
    reference: of the same feature in the run that it is held against, such as the predicted one [s]
    """

    event: str
    kind: StretchKind
    time: float
    reference: float


@dataclass(frozen=True, slots=True, kw_only=True)
class KindOfStretch:
    """Where the time goes in one kind of stretch.

    loss: time less reference, mean of a run [s]
    share: loss over reference [-]
    share_spread: standard deviation of the share from event to event; None with one event
    """

    kind: StretchKind
    n_events: int
    n_passes: int
    loss: float
    share: float
    share_spread: float | None


def passes_of(trace: Trace, reference: Trace, geometry: CourseGeometry, *, event: str) -> tuple[Pass, ...]:
    """Every feature of a run beside the same of a reference run, both along the path of the geometry."""
    mine, best = (
        feature_results(geometry, station=t.front_station, elapsed=t.time, speed=t.speed) for t in (trace, reference)
    )
    return tuple(
        Pass(event=event, kind=stretch_kind(span, geometry), time=a.time, reference=b.time)
        for span, a, b in zip(geometry.spans, mine, best, strict=True)
    )


def season(runs: Sequence[Sequence[Pass]]) -> tuple[KindOfStretch, ...]:
    """Where the time goes by kind of stretch, over any number of runs at any number of events.

    Parameters
    ----------
    runs : Sequence[Sequence[Pass]]
        The passes of each run, as `passes_of` gives them.

    Returns
    -------
    tuple[KindOfStretch, ...]
        Greatest loss of a run first; kinds that were never driven are left out.
    """
    everything = [p for run in runs for p in run]
    answers = []
    for kind in STRETCH_KINDS:
        mine = [p for p in everything if p.kind == kind]
        if not mine:
            continue
        events = sorted({p.event for p in mine})
        shares = [_share([p for p in mine if p.event == event]) for event in events]
        answers.append(
            KindOfStretch(
                kind=kind,
                n_events=len(events),
                n_passes=len(mine),
                loss=sum(p.time - p.reference for p in mine) / len(runs),
                share=_share(mine),
                share_spread=float(np.std(shares, ddof=1)) if len(events) > 1 else None,
            )
        )
    return tuple(sorted(answers, key=lambda answer: -answer.loss))


def _share(passes: list[Pass]) -> float:
    return sum(p.time for p in passes) / sum(p.reference for p in passes) - 1.0
