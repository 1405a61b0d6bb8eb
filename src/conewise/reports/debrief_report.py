"""The report of a debrief: one HTML file that asks nothing of any other place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from conewise.findings import by_severity
from conewise.logs.breakdown import LEAST_HALF
from conewise.logs.compare import compare
from conewise.quantities import HALF_90
from conewise.reports import debrief_words, page, sentences, traces
from conewise.reports.comparison_record import feature_differences
from conewise.reports.debrief_map import debrief_map, driven_answer
from conewise.reports.page import rounded
from conewise.reports.units import signed

if TYPE_CHECKING:
    from conewise.logs.breakdown import FeatureGap, Interval
    from conewise.logs.compare import Comparison
    from conewise.reports.debrief_answer import DebriefAnswer
    from conewise.reports.units import Units
    from conewise.runs import Trace

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part of a gap as it is printed; no interval where it cannot be told."""

    text: str
    interval: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GapRow:
    """One feature of the table; no parts where two runs are only compared.

    within: half the 90% interval of what was lost, by the measured times; empty where nothing tells it
    """

    name: str
    driven: str
    other: str
    lost: str
    within: str
    parts: tuple[Part, ...]


def debrief_html(answer: DebriefAnswer, units: Units) -> str:
    """The whole report of a run beside the best possible one, or of any two runs.

    Parameters
    ----------
    answer : DebriefAnswer
        The answer; without a breakdown the page compares two runs and names no cause.
    units : Units
        Units shown.

    Returns
    -------
    str
        One HTML page with its style, its script and its data inside.
    """
    drawn = driven_answer(answer)
    difference = compare(answer.driven, answer.other)
    focus, *others = answer.focuses or (None,)
    names = {feature.id: sentences.feature_name(feature) for feature in drawn.solution.features}
    return page.rendered(
        "debrief.html.j2",
        lambda size: debrief_map(answer, drawn, units, size=size),
        answer=answer,
        breakdown=answer.breakdown,
        units=units,
        say=debrief_words,
        cautions=sentences.CAUTIONS,
        kicker=_kicker(answer),
        focus=focus,
        also_seen=others,
        names=names,
        figure=page.along_figure(drawn, _plots(answer, difference, units), units),
        rows=gap_rows(answer),
        facts=recording_facts(answer, units),
        findings=by_severity(list(answer.findings)),
        data=page.cursor_data(drawn, units) | _beside(answer, difference, units),
    )


def _kicker(answer: DebriefAnswer) -> str:
    if answer.breakdown is not None:
        return "Behind the best possible run"
    return f"{'Slower' if answer.gap >= 0.0 else 'Faster'} than {answer.other.name}"


def _plots(answer: DebriefAnswer, difference: Comparison, units: Units) -> tuple[traces.Trace, ...]:
    """Speeds of the runs, and by how much the run is later than the others."""
    station = answer.driven.front_station
    along = (station - station[0]) / (station[-1] - station[0])
    speeds = {answer.driven.name: answer.driven.speed, answer.other.name: _at(station, answer.other, "speed")}
    later = {answer.other.name: _time(difference, station)}
    title = f"Time by which {answer.driven.name} is later than"
    if answer.on_line is not None:
        speeds[answer.on_line.name] = _at(station, answer.on_line, "speed")
        later[answer.on_line.name] = _time(compare(answer.driven, answer.on_line), station)
    else:
        title += f" {answer.other.name}"
    speed_axis = traces.Axis(key="speed", title="Speed", unit=units.speed_unit, has_floor=True)
    shown = {name: speed * units.speed_factor for name, speed in speeds.items()}
    return (
        traces.plot(speed_axis, along, shown),
        traces.plot(traces.Axis(key="later", title=title, unit="s"), along, later, styles=traces.STYLES[1:]),
    )


def _at(station: Array, trace: Trace, name: str) -> Array:
    return np.asarray(np.interp(station, trace.front_station, getattr(trace, name)))


def _time(difference: Comparison, station: Array) -> Array:
    return np.asarray(np.interp(station, difference.station, difference.time))


def gap_rows(answer: DebriefAnswer) -> list[GapRow]:
    """The table by feature, as page and printed sheet have it."""
    names = {feature.id: sentences.feature_name(feature) for feature in driven_answer(answer).solution.features}
    if answer.breakdown is None:
        return [
            _row(names[one.id], (one.first, one.second), deviation=one.deviation) for one in feature_differences(answer)
        ]
    doubts = answer.time_deviations
    return [
        _row(names[gap.id], (gap.measured, gap.best), deviation=doubts.get(gap.id), parts=_parts(gap))
        for gap in answer.breakdown.features
    ]


def _row(name: str, times: tuple[float, float], *, deviation: float | None, parts: tuple[Part, ...] = ()) -> GapRow:
    driven, other = times
    return GapRow(
        name=name,
        driven=f"{driven:.2f}",
        other=f"{other:.2f}",
        lost=signed(driven - other, 2),
        within="" if deviation is None else debrief_words.within(deviation),
        parts=parts,
    )


def _parts(gap: FeatureGap) -> tuple[Part, ...]:
    """Line and speed."""
    return _part(gap.line, gap.line_interval), _part(gap.speed, gap.speed_interval)


def _part(seconds: float, interval: Interval) -> Part:
    if not interval.tells(seconds):
        return Part(text=debrief_words.CANNOT_TELL, interval="")
    low, high = min(interval.low, seconds - LEAST_HALF), max(interval.high, seconds + LEAST_HALF)
    return Part(text=signed(seconds, 2), interval=f"{signed(low, 2)} to {signed(high, 2)}")


def recording_facts(answer: DebriefAnswer, units: Units) -> list[tuple[str, str]]:
    """What the recording is like: label and value with unit."""
    rows = []
    if answer.told is not None:
        rows.append((f"Recording {answer.told.file}", f"run {answer.told.run} of {len(answer.told.tries)}"))
        rows.append(("Time, 90% interval", f"{answer.told.time:.2f} ±{HALF_90 * answer.told.time_deviation:.2f} s"))
    if answer.position_rate > 0.0:
        rows.append(("Positions a second", f"{answer.position_rate:.3g}"))
    across = HALF_90 * float(np.median(answer.driven.lateral_offset_deviation))
    if across > 0.0:
        rows.append(("Position across the course, 90% interval", f"±{units.margin(across)} {units.margin_unit}"))
        speed = HALF_90 * float(np.median(answer.driven.speed_deviation))
        rows.append(("Speed, 90% interval", f"±{units.speed(speed)} {units.speed_unit}"))
    return rows


def _beside(answer: DebriefAnswer, difference: Comparison, units: Units) -> dict[str, Any]:
    """What the cursor shows of the other run."""
    station = answer.driven.front_station
    return {
        "beside": {
            "x": rounded(_at(station, answer.other, "x"), 2),
            "y": rounded(_at(station, answer.other, "y"), 2),
            "v": rounded(_at(station, answer.other, "speed") * units.speed_factor, 1),
        },
        "later": rounded(_time(difference, station), 3),
    }
