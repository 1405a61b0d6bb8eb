"""Did the change work? The effect on the times with its interval and probability, or why the times cannot tell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from conewise.findings import Finding
from conewise.proof import untold
from conewise.proof.comparison import compared_runs, numbered
from conewise.proof.day_to_day import day_to_day_setting, days_of, run_model, steady_entries
from conewise.proof.same_day import (
    CHANGE,
    DRIFT,
    FADE_RATES,
    LEARNING,
    PASSENGER,
    SURFACE,
    has_surface,
    n_days_on_both,
    on_both,
    same_day_settings,
    terms_of,
)
from conewise.proof.untold import LEAST_FREEDOM, Untold
from conewise.proof.weighing import weighed_fit

if TYPE_CHECKING:
    from conewise.proof.comparison import Compared, Question
    from conewise.proof.mixture import TMixture
    from conewise.proof.times import Times
    from conewise.proof.weighing import Weighed

Array = NDArray[np.float64]
Basis = Literal["same-day", "other-drivers"]

FAR = 3.5  # standard deviations from the fit beyond which a run is named; common practice, no source
_MOST_NAMED = 8

ORDER = "run-order"
SETTLED = 3  # attempts after which the first run is compared with a later one
TERMS = {
    ORDER: "first run of a day against the fourth (learning, tyres, surface)",
    PASSENGER: "with a passenger",
    SURFACE: "surface warmer by 1 °C",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """Something else that moved the times: what it is, and by how many seconds."""

    name: str
    label: str
    seconds: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What the change did, after less before: below zero is faster.

    share: the effect as the logarithm of the ratio of times
    days: typical raw time of each day of the judged drivers, as if on the old set-up, in driving order [s]
    basis: "same-day": both set-ups on the same course and day; "other-drivers": gaps to them from day to day
    level: probability of the interval
    spread: standard deviation of a run of the judged drivers; of a day's gap where the basis is other drivers [s]
    compared: the runs used; `fitted` and `baseline`, shape (n_runs,), are the times that the model gives them, and
        would give their entry on the old set-up on average [s]; `away` their distance from it in standard deviations
    n_days, n_drivers: days, and judged drivers, that tell the effect; with both set-ups where the basis is one day
    """

    share: TMixture
    days: tuple[float, ...]
    basis: Basis
    level: float
    spread: float
    terms: tuple[Term, ...]
    compared: Compared
    fitted: Array
    baseline: Array
    away: Array
    n_days: int
    n_drivers: int
    findings: tuple[Finding, ...] = ()

    @property
    def reference_time(self) -> float:
        """Raw time for which seconds are said: the geometric mean of `days`, so that each day counts once. [s]"""
        return float(np.exp(np.mean(np.log(self.days))))

    def seconds(self, share: float) -> float:
        """A change of the logarithm of the time in seconds at the reference time."""
        return self.reference_time * float(np.expm1(share))

    @property
    def ratio(self) -> float:
        """The median as a share of the time; the same on a course of any length. [-]"""
        return float(np.expm1(self.share.median))

    @property
    def effect(self) -> float:
        """The median. [s]"""
        return self.seconds(self.share.median)

    @property
    def interval(self) -> tuple[float, float]:
        """Low and high end. [s]"""
        low, high = self.share.interval(self.level)
        return self.seconds(low), self.seconds(high)

    @property
    def probability(self) -> float:
        """Probability that the change made the times shorter. [-]"""
        return self.share.probability_below(0.0)


def effect_of(times: Times, question: Question, *, level: float = 0.9) -> Effect | Untold:
    """What the change did to the raw times, or why they cannot tell.

    Parameters
    ----------
    times : Times
        All runs; see `conewise.proof.times_file.read_times`.
    question : Question
        The set-ups; see `conewise.proof.comparison.question_of`.
    level : float, default 0.9
        Probability of the interval.

    Returns
    -------
    Effect or Untold

    Notes
    -----
    Two roads. Runs of one driver on both set-ups on one day are compared with each other where the order of the runs
    can be told from the change. Else the driver's gap to drivers who changed nothing is compared between days. Cones
    and penalties never enter. docs/models/proof.md has the equations and how often the interval holds.
    """
    compared = compared_runs(times, question)
    nothing = untold.nothing_to_compare(compared, question)
    if nothing is not None:
        return nothing
    found = _same_day(compared, times, level)
    if isinstance(found, Effect):
        return found
    steady = _day_to_day(compared, times, level)
    if isinstance(steady, Effect) or n_days_on_both(compared) == 0:
        return steady
    return found


def _same_day(compared: Compared, times: Times, level: float) -> Effect | Untold:
    """The effect within days: by the judged drivers' own runs where they suffice, else beside all others'."""
    own = _same_day_on(compared.where(compared.is_tester), times, level)
    return own if isinstance(own, Effect) else _same_day_on(compared, times, level)


def _same_day_on(compared: Compared, times: Times, level: float) -> Effect | Untold:
    """The effect within days by these runs."""
    terms = terms_of(compared, with_surface=True)
    findings = []
    n_left = compared.log_time.size - len(terms) - int(compared.entry.max()) - 1
    if SURFACE in terms and n_left < LEAST_FREEDOM + 1:
        terms = terms_of(compared, with_surface=False)
        words = "The temperature of the surface is left out: the runs are too few to tell what it does."
        findings.append(Finding("note", "surface-unused", words, times.file))
    elif np.isfinite(compared.surface).any() and not has_surface(compared):
        words = "The temperature of the surface is left out: it is not noted for every run, or does not differ."
        findings.append(Finding("note", "surface-unused", words, times.file))
    reason = untold.untold_same_day(compared, terms)
    if reason is not None:
        return reason
    weighed = weighed_fit(same_day_settings(compared, terms), compared.unit)
    best = weighed.best
    change = float(best.fit.coefficients[int(best.fit.weight.argmax()), 0])
    without = best.fit.fitted - change * compared.is_after
    judged = np.zeros(weighed.variance.size, dtype=bool)
    judged[compared.unit[compared.is_tester]] = True
    road = _Road(
        basis="same-day",
        compared=compared,
        weighed=weighed,
        runs=(weighed, terms),
        spread=_spread(weighed, judged),
        fitted=np.exp(best.fit.fitted),
        baseline=np.exp((np.bincount(compared.entry, without) / np.bincount(compared.entry))[compared.entry]),
        away=best.away,
        told_by=on_both(compared),
        findings=tuple(findings),
    )
    return _effect(road, times, level)


def _day_to_day(compared: Compared, times: Times, level: float) -> Effect | Untold:
    """The effect between days."""
    steady = steady_entries(compared)
    both = {bool(after) for after in steady.is_after[steady.is_tester]}
    if len(both) < 2:
        return untold.event_and_change()
    model = run_model(steady)
    days = days_of(steady, model)
    reason = untold.untold_day_to_day(days.is_after, unit=days.unit, event=days.event, is_tester=days.is_tester)
    if reason is not None:
        return reason
    weighed = weighed_fit([day_to_day_setting(days)], days.unit, tuning=np.inf)  # a median is robust
    best, entry = weighed.best.fit, steady.entry
    change = float(best.coefficients[int(best.weight.argmax()), 0])
    fitted, away = best.fitted[entry], np.zeros(entry.size)
    if model is not None:
        inner = model[0].best.fit.fitted
        fitted = fitted + inner - (np.bincount(entry, inner) / np.bincount(entry))[entry]
        away = model[0].best.away
    judged = np.zeros(weighed.variance.size, dtype=bool)
    judged[days.unit[days.is_tester]] = True
    return _effect(
        _Road(
            basis="other-drivers",
            compared=steady,
            weighed=weighed,
            runs=model,
            spread=_spread(weighed, judged),
            fitted=np.exp(fitted),
            baseline=np.exp(best.fitted - change * days.is_after)[entry],
            away=away,
            told_by=steady.is_tester,
            findings=(),
        ),
        times,
        level,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Road:
    """One way to the effect.

    runs: the model of the runs with its terms, where there is one
    told_by: the runs whose days and drivers tell the effect, shape (n_runs,)
    """

    basis: Basis
    compared: Compared
    weighed: Weighed
    runs: tuple[Weighed, tuple[str, ...]] | None
    spread: float
    fitted: Array
    baseline: Array
    away: Array
    told_by: NDArray[np.bool_]
    findings: tuple[Finding, ...]


def _effect(road: _Road, times: Times, level: float) -> Effect:
    """The effect with the days that its seconds are said for."""
    compared = road.compared
    days = _typical_times(compared, road.baseline)
    reference = float(np.exp(np.mean(np.log(days))))
    return Effect(
        share=road.weighed.coefficient(0),
        days=days,
        basis=road.basis,
        level=level,
        spread=reference * road.spread,
        terms=() if road.runs is None else _terms(*road.runs, reference=reference, level=level),
        compared=compared,
        fitted=road.fitted,
        baseline=road.baseline,
        away=road.away,
        n_days=int(np.unique(compared.event[road.told_by]).size),
        n_drivers=int(np.unique(compared.unit[road.told_by]).size),
        findings=(*road.findings, *_far_runs(road, times)),
    )


def _typical_times(compared: Compared, baseline: Array) -> tuple[float, ...]:
    """The typical time of each day of the judged drivers, of whom each counts once a day. [s]"""
    first = np.unique(compared.entry[compared.is_tester], return_index=True)[1]
    level = np.log(baseline[compared.is_tester][first])
    event = numbered(compared.event[compared.is_tester][first])
    return tuple(np.exp(np.bincount(event, level) / np.bincount(event)).tolist())


def _spread(weighed: Weighed, judged: NDArray[np.bool_]) -> float:
    """Standard deviation of a row of the judged drivers, by driver; in logarithms."""
    best = weighed.best.fit
    return float(np.sqrt(np.mean(weighed.variance[judged]) * np.average(best.variance, weights=best.weight)))


def _terms(weighed: Weighed, names: tuple[str, ...], *, reference: float, level: float) -> tuple[Term, ...]:
    """What else moved the times."""
    directions = {ORDER: np.zeros((len(FADE_RATES), len(names)))}
    for column, name in enumerate(names):
        if name == LEARNING:
            directions[ORDER][:, column] = 1.0 - np.array(FADE_RATES) ** SETTLED
        elif name == DRIFT:
            directions[ORDER][:, column] = -float(SETTLED)
        elif name != CHANGE:
            directions[name] = np.eye(len(names))[column]
    found = []
    for name, direction in directions.items():
        known = weighed.combination(direction)
        low, high = known.interval(level)
        middle, low, high = (reference * float(np.expm1(value)) for value in (known.median, low, high))
        found.append(Term(name=name, label=TERMS[name], seconds=middle, low=low, high=high))
    return tuple(found)


def _far_runs(road: _Road, times: Times) -> list[Finding]:
    """Runs that lie far from everything else of their driver's day."""
    order = np.argsort(-np.abs(road.away), kind="stable")
    far = [index for index in order.tolist() if abs(road.away[index]) > FAR]
    findings = []
    for index in far[:_MOST_NAMED]:
        row = int(road.compared.row[index])
        seconds = float(times.raw_time[row] - road.fitted[index])
        words = (
            f"Run {times.run[row]} of {times.driver[row]}, {times.event[row]}, is {abs(seconds):.2f} s"
            f" {'slower' if seconds > 0.0 else 'faster'} than the rest of that day says, and counts little."
        )
        findings.append(Finding("note", "run-far", words, f"{times.file}, line {times.line[row]}"))
    if len(far) > _MOST_NAMED:
        findings.append(Finding("note", "run-far", f"{len(far) - _MOST_NAMED} more runs count little.", times.file))
    return findings
