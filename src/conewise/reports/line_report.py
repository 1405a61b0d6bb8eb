"""The report of `conewise line`: one HTML file that asks nothing of any other place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from conewise.findings import by_severity, in_system
from conewise.reports import figures, page, sentences, traces
from conewise.reports.page import rounded
from conewise.reports.units import in_g, signed, step_text

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from conewise.reports.answer import LineAnswer
    from conewise.reports.units import Units

_N_DEAREST = 10
_N_USEFUL = 12
_N_KEY_SPEEDS = 4
_MARK_ROOM = 7.0  # between two marks of one row of the time ruler [%]
_MARK_ROOM_HAND = 16.0  # the same on a narrow page


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A pace on the time ruler."""

    text: str
    percent: float
    row: int  # of its name, counted from the ruler upwards
    row_hand: int  # the same on a narrow page


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One sensitivity as a bar around zero; places in percent of the scale."""

    name: str
    step: str
    effect: str
    interval: str
    per_percent: str
    left: float
    width: float
    low: float
    high: float
    is_faster: bool


def line_html(answer: LineAnswer, units: Units) -> str:
    """The whole report.

    Parameters
    ----------
    answer : LineAnswer
        The answer of a solved run.
    units : Units
        Units shown.

    Returns
    -------
    str
        One HTML page with its style, its script and its data inside.
    """
    return page.rendered(
        "line.html.j2",
        lambda size: figures.map_svg(answer, units, size, is_alone=False),
        answer=answer,
        solution=answer.solution,
        units=units,
        say=sentences,
        signed=signed,
        figure=page.along_figure(answer, traces.traces(answer, units), units),
        dearest=answer.dearest_cones[:_N_DEAREST],
        others=answer.dearest_cones[_N_DEAREST:],
        margins={row.cone: row.margin for row in answer.margins.margins} if answer.margins else {},
        late={price.feature: price for price in answer.slow_in},
        key_features=_key_features(answer),
        ruler=_ruler(answer),
        bars=_bars(answer, units),
        findings=by_severity(list(in_system(answer.solution.findings, units.name))),
        data=_data(answer, units),
    )


def _key_features(answer: LineAnswer) -> list[str]:
    """Features whose speeds the build-up table shows: the slowest ones at full pace, in driving order."""
    if not answer.build_up:
        return []
    fullest = max(answer.build_up, key=lambda row: row.pace)
    slowest = sorted(fullest.speeds, key=lambda key: key.speed)[:_N_KEY_SPEEDS]
    names = {key.feature for key in slowest}
    return [key.feature for key in fullest.speeds if key.feature in names]


def _ruler(answer: LineAnswer) -> dict[str, Any] | None:
    """The build-up on a scale of seconds."""
    if not answer.build_up:
        return None
    times = [row.time for row in answer.build_up]
    step = next((s for s in (1, 2, 5, 10, 20) if (max(times) - min(times)) / s <= 12), 50)
    low = float(np.floor(min(times) / step) * step)
    high = float(np.ceil(max(times) / step) * step)
    span = max(high - low, 1e-9)
    ordered = sorted(answer.build_up, key=lambda row: row.time)
    places = [100.0 * (row.time - low) / span for row in ordered]
    marks = [
        Mark(text=f"{row.pace:.2f}", percent=percent, row=desk, row_hand=hand)
        for row, percent, desk, hand in zip(
            ordered, places, _rows(places, _MARK_ROOM), _rows(places, _MARK_ROOM_HAND), strict=True
        )
    ]
    n = round(span / step)
    every = max(1, int(np.ceil(n / 6)))
    ticks = [
        {"text": f"{low + i * step:.0f}" if i % every == 0 else "", "percent": 100.0 * i / n} for i in range(n + 1)
    ]
    n_rows = {"desk": 1 + max(mark.row for mark in marks), "hand": 1 + max(mark.row_hand for mark in marks)}
    return {"ticks": ticks, "marks": marks, "rows": n_rows}


def _rows(places: list[float], room: float) -> list[int]:
    """The lowest row in which each name keeps its distance from those before it."""
    reached: list[float] = []
    rows = []
    for place in places:
        row = next((k for k, last in enumerate(reached) if place - last >= room), len(reached))
        reached[row : row + 1] = [place]
        rows.append(row)
    return rows


def _bars(answer: LineAnswer, units: Units) -> dict[str, Any]:
    n_first = min(_N_USEFUL, len(answer.useful_gradients))
    gradients = (*answer.useful_gradients, *answer.other_gradients)
    intervals = [answer.interval(gradient) for gradient in gradients]
    reach = max((max(abs(low), abs(high)) for low, high in intervals), default=1.0)
    scale = max(abs(tick) for tick in traces.nice_ticks(-reach, reach))

    def place(value: float) -> float:
        return 50.0 + 50.0 * value / scale

    bars = []
    for gradient, (low, high) in zip(gradients, intervals, strict=True):
        effect, percent = gradient.s_per_step, gradient.s_per_percent
        bars.append(
            Bar(
                name=gradient.name,
                step=step_text(gradient, units),
                effect=signed(effect, 3),
                interval=f"{signed(low, 3)} to {signed(high, 3)}",
                per_percent="" if percent is None else signed(percent, 3),
                left=min(50.0, place(effect)),
                width=abs(place(effect) - 50.0),
                low=place(low),
                high=place(high),
                is_faster=effect < 0.0,
            )
        )
    first, others = bars[:n_first], sorted(bars[n_first:], key=lambda bar: -bar.width)
    return {"first": first, "others": others, "scale": f"{scale:g}"}


def _data(answer: LineAnswer, units: Units) -> dict[str, Any]:
    """What the script needs for the cursor, in the units shown."""
    solution = answer.solution
    return page.cursor_data(answer, units) | {
        "ax": rounded(in_g(1.0) * solution.ax, 2),
        "ay": rounded(in_g(1.0) * solution.ay, 2),
        "gear": solution.gear.tolist(),
        "front": rounded(_percent(solution.friction_use_front), 0),
        "rear": rounded(_percent(solution.friction_use_rear), 0),
        "command": rounded(_percent(solution.command), 0),
    }


def _percent(values: NDArray[Any] | None) -> NDArray[Any] | None:
    return None if values is None else 100.0 * values
