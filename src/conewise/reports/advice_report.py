"""The report of `conewise advise`: one HTML file that asks nothing of any other place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from conewise.findings import by_severity
from conewise.quantities import in_unit
from conewise.reports import advice_words, page
from conewise.reports.units import signed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.advisor.advice import Advice, Package
    from conewise.advisor.rows import Handling, Row

_FULL = 100.0  # a chart is so many percent wide
_STEPS = (1.0, 2.0, 5.0)  # ends of a scale, times a power of ten


@dataclass(frozen=True, slots=True, kw_only=True)
class GainBar:
    """One row of the chart of gains; places in percent of its width."""

    name: str
    kind: str
    gain: str
    interval: str
    start: float
    size: float
    low: float
    high: float
    is_gain: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class GainChart:
    """Gains with their intervals on one scale."""

    title: str
    note: str
    bars: tuple[GainBar, ...]
    zero: float
    ends: tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class StepBar:
    """One step of a package: what it adds to the steps before; places in percent."""

    what: str
    gain: str
    price: str
    hours: str
    reason: str
    start: float
    size: float
    is_gain: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class HandlingRow:
    """What a change does to the handling; a number that stays as it was is empty."""

    name: str
    words: str
    numbers: tuple[str, ...]


def advice_html(advice: Advice) -> str:
    """The whole report of an advice.

    Parameters
    ----------
    advice : Advice

    Returns
    -------
    str
        One HTML page with its style and its script inside.
    """
    packages = advice.packages
    return page.rendered(
        "advice.html.j2",
        None,
        advice=advice,
        best=advice.best,
        say=advice_words,
        charts=_charts(advice.rows),
        packages=[] if packages is None else [(package, _steps(package)) for package in packages.packages],
        handling=_handling(advice.rows),
        is_weighted=len(set(advice.weights.values())) > 1,
        findings=by_severity([*advice.findings, *(() if packages is None else packages.findings)]),
    )


def _charts(rows: Sequence[Row]) -> list[GainChart]:
    """The car's changes on one scale and the driver's on another, whose gains are larger by far."""
    groups = (
        ("Changes to the car", [row for row in rows if not row.option.is_first]),
        ("Driver and seat time", [row for row in rows if row.option.is_first]),
    )
    return [_chart(title, [row for row in told if row.solved]) for title, told in groups if any(r.solved for r in told)]


def _chart(title: str, rows: Sequence[Row]) -> GainChart:
    intervals = [row.interval for row in rows]
    low = min(0.0, *(_down(interval[0]) for interval in intervals))
    high = max(0.0, *(-_down(-interval[1]) for interval in intervals))
    width = max(high - low, 0.01)

    def place(value: float) -> float:
        return float(_FULL * np.clip((value - low) / width, 0.0, 1.0))

    bars = [
        GainBar(
            name=row.option.name,
            kind=row.option.kind if row.option.is_proposed else f"{row.option.kind}, not proposed",
            gain=advice_words.gain(row),
            interval=advice_words.interval(row),
            start=min(place(row.gain), place(0.0)),
            size=abs(place(row.gain) - place(0.0)),
            low=place(row.interval[0]),
            high=place(row.interval[1]),
            is_gain=row.gain >= 0.0,
        )
        for row in rows
    ]
    note = "Seconds gained a run; the thin line is the 90% interval."
    return GainChart(title=title, note=note, bars=tuple(bars), zero=place(0.0), ends=(signed(low, 2), signed(high, 2)))


def _down(value: float) -> float:
    """The end of a scale at or below a value: 1, 2 or 5 times a power of ten."""
    if value >= 0.0:
        return 0.0
    power = 10.0 ** np.floor(np.log10(-value))
    return -float(next((step * power for step in _STEPS if step * power >= -value), 10.0 * power))


def _steps(package: Package) -> list[StepBar]:
    """Steps on the scale of the whole package: each bar begins where the one before ended."""
    ends = np.concatenate([[0.0], np.cumsum([step.gain for step in package.steps])])
    low, high = float(ends.min()), float(ends.max())
    places = _FULL * (ends - low) / max(high - low, 0.01)
    return [
        StepBar(
            what=" + ".join(step.names),
            gain=advice_words.seconds(step.gain),
            price=str(step.price),
            hours="" if step.hours is None else f"{step.hours:g}",
            reason=step.reason,
            start=float(min(places[k], places[k + 1])),
            size=float(abs(places[k + 1] - places[k])),
            is_gain=step.gain >= 0.0,
        )
        for k, step in enumerate(package.steps)
    ]


def _handling(rows: Sequence[Row]) -> list[HandlingRow]:
    told: list[tuple[Row, Any]] = [
        (row, row.option.handling) for row in rows if row.option.handling is not None and not row.option.is_first
    ]
    if not told:
        return []
    first = HandlingRow(name="As it stands", words="", numbers=handling_numbers(told[0][1][0]))
    return [
        first,
        *(
            HandlingRow(name=row.option.name, words=row.handling, numbers=handling_numbers(after, before))
            for row, (before, after) in told
        ),
    ]


def handling_numbers(handling: Handling, before: Handling | None = None) -> tuple[str, ...]:
    """Understeer gradient, front share of the brakes, ride frequencies front and rear; empty where as before."""
    pairs = [
        (f"{in_unit(h.understeer_gradient, 'angle', 'deg'):.2f}", f"{h.brake_front_share:.3f}",
         f"{h.ride_frequency_front:.2f}", f"{h.ride_frequency_rear:.2f}")
        for h in (handling, before) if h is not None
    ]  # fmt: skip
    if len(pairs) == 1:
        return pairs[0]
    return tuple("" if new == old else new for new, old in zip(*pairs, strict=True))
