"""The runs of a proof as SVG: every run against its day's pace on the old set-up; old and new by shape; the effect."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.proof.comparison import compared_runs
from conewise.reports.figures import DESK, MapSize
from conewise.reports.svg import points, tag, text
from conewise.reports.traces import nice_ticks

if TYPE_CHECKING:
    from conewise.reports.proof_answer import ProofAnswer

Array = NDArray[np.float64]

_LEFT, _RIGHT, _TOP, _FOOT = 3.6, 0.8, 2.4, 2.6  # margins, over the height of the text
_STEP = 9.0  # least room of a run [px]
_MARK = 5.0  # half size of a run's mark [px]
_FAR = 3.5  # standard deviations beyond which a run stands at the edge
_ALONE = {
    "sheet": "fill:#fff",
    "grid": "stroke:#b9bfc6;stroke-width:1",
    "zero": "stroke:#1a2026;stroke-width:1.5",
    "fit": "fill:none;stroke:#545d67;stroke-width:1.5",
    "effect": "stroke:#b2380b;stroke-width:2;stroke-dasharray:6 4",
    "sure": "fill:#eceae4",
    "old": "fill:#fff;stroke:#1a2026;stroke-width:1.75",
    "new": "fill:#1a2026;stroke:#1a2026;stroke-width:1.75",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """One driver's day in the picture. Arrays have shape (n_runs,).

    late: seconds behind the day's pace on the old set-up; fitted: the same of the model, NaN where there is none
    """

    name: str
    run: Array
    late: Array
    fitted: Array
    is_after: NDArray[np.bool_]
    is_outlying: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """The picture's room, and seconds on it."""

    size: MapSize
    low: float
    high: float

    @property
    def height(self) -> float:
        return min(self.size.most_height, 0.55 * self.size.width + 160.0)

    @property
    def left(self) -> float:
        return _LEFT * self.size.text

    @property
    def right(self) -> float:
        return self.size.width - _RIGHT * self.size.text

    @property
    def bottom(self) -> float:
        return self.height - _FOOT * self.size.text

    @property
    def top(self) -> float:
        return _TOP * self.size.text

    def y(self, seconds: float) -> float:
        """Place of a number of seconds; beyond the ends at the edge."""
        share = (min(max(seconds, self.low), self.high) - self.low) / (self.high - self.low)
        return self.bottom - share * (self.bottom - self.top)


def days_of(answer: ProofAnswer) -> tuple[Day, ...]:
    """The judged drivers' days; where nothing could be judged, every day with a set-up, against its own median."""
    times, effect = answer.times, answer.effect
    compared = compared_runs(times, answer.question) if effect is None else effect.compared
    raw = times.raw_time[compared.row]
    with_setup = np.isin(times.setup[compared.row], [answer.question.before, answer.question.after])
    chosen = compared.is_tester if compared.is_tester.any() else with_setup & (times.setup[compared.row] != "")
    is_new = times.setup[compared.row] == (answer.question.after or None)
    several = len(set(times.driver[compared.row[chosen]].tolist())) > 1
    found = []
    for entry in dict.fromkeys(compared.entry[chosen].tolist()):
        rows = np.flatnonzero((compared.entry == entry) & chosen)
        rows = rows[np.argsort(compared.position[rows], kind="stable")]
        first = int(compared.row[rows[0]])
        pace = np.full(rows.size, np.median(raw[rows])) if effect is None else effect.baseline[rows]
        far = np.zeros(rows.size, dtype=bool) if effect is None else np.abs(effect.away[rows]) > _FAR
        found.append(
            Day(
                name=f"{times.event[first]}, {times.driver[first]}" if several else str(times.event[first]),
                run=times.run[compared.row[rows]].astype(float),
                late=raw[rows] - pace,
                fitted=np.full(rows.size, np.nan) if effect is None else effect.fitted[rows] - pace,
                is_after=np.asarray(is_new[rows], dtype=bool),
                is_outlying=far,
            )
        )
    return tuple(found)


def shown_days(days: tuple[Day, ...], width: float) -> tuple[Day, ...]:
    """The latest days that have room."""
    room = int((width - 60.0) / _STEP)
    kept: list[Day] = []
    for day in reversed(days):
        room -= day.run.size + 1
        if room < 0 and kept:
            break
        kept.insert(0, day)
    return tuple(kept)


def proof_svg(answer: ProofAnswer, size: MapSize = DESK, *, is_alone: bool = True) -> str:
    """The picture of the runs.

    Parameters
    ----------
    answer : ProofAnswer
        The answer.
    size : MapSize
        The room.
    is_alone : bool, default True
        Whether the drawing carries its own colours. On a page they come from the page.

    Returns
    -------
    str
        One `svg` element.
    """
    days = shown_days(days_of(answer), size.width)
    frame = _frame(answer, days, size)
    parts = [tag("rect", class_="sheet", x=0, y=0, width=size.width, height=frame.height)]
    parts += _ground(answer, frame)
    slots = sum(day.run.size for day in days) + len(days)
    step = (frame.right - frame.left) / max(1, slots)
    at = frame.left
    for number, day in enumerate(days, start=1 + len(days_of(answer)) - len(days)):
        width = step * (day.run.size + 1)
        parts += _day(day, number, frame, at=at, step=step)
        at += width
    style = tag("style", _style(size)) if is_alone else ""
    return tag(
        "svg", style, *parts, class_="map runs", xmlns="http://www.w3.org/2000/svg", role="img",
        viewBox=f"0 0 {size.width:g} {frame.height:g}", aria_label="Runs against the day's pace on the old set-up",
    )  # fmt: skip


def _style(size: MapSize) -> str:
    rules = "".join(f".runs .{name}{{{look}}}" for name, look in _ALONE.items())
    return f".runs text{{font:{size.text:g}px system-ui,sans-serif;fill:#1a2026;text-anchor:middle}}{rules}"


def _frame(answer: ProofAnswer, days: tuple[Day, ...], size: MapSize) -> _Frame:
    near = [value for day in days for value in day.late[~day.is_outlying].tolist()] or [0.0]
    if answer.effect is not None:
        near += [*answer.effect.interval, *(value for day in days for value in day.fitted.tolist())]
    ticks = nice_ticks(min(*near, -0.05), max(*near, 0.05), whole=False)
    return _Frame(size=size, low=ticks[0], high=ticks[-1])


def _ground(answer: ProofAnswer, frame: _Frame) -> list[str]:
    """Interval and line of the effect, the scale, and what it measures."""
    left, right, size = frame.left, frame.right, frame.size
    parts = []
    if answer.effect is not None:
        low, high = answer.effect.interval
        top = frame.y(high)
        parts.append(tag("rect", class_="sure", x=left, y=top, width=right - left, height=frame.y(low) - top))
    for tick in nice_ticks(frame.low, frame.high, whole=False):
        y = frame.y(tick)
        name = "zero" if abs(tick) < 1e-9 else "grid"
        label = f"{tick:+.1f}".replace("-", "−") if abs(tick) > 1e-9 else "0"
        if round(tick, 1) != round(tick, 3):
            label = f"{tick:+.2f}".replace("-", "−")
        parts.append(tag("path", class_=name, d=f"M{left:.1f} {y:.1f}H{right:.1f}"))
        parts.append(text(label, left / 2 - 1, y + 0.35 * size.text))
    if answer.effect is not None:
        y = frame.y(answer.effect.effect)
        parts.append(tag("path", class_="effect", d=f"M{left:.1f} {y:.1f}H{right:.1f}"))
    return parts


def _day(day: Day, number: int, frame: _Frame, *, at: float, step: float) -> list[str]:
    """The runs of one day and its number."""
    size = frame.size
    x = at + step * (np.arange(day.run.size) + 1.0)
    parts = [tag("path", class_="grid", d=f"M{at:.1f} {frame.top:.1f}V{frame.bottom:.1f}")]
    if np.isfinite(day.fitted).all() and day.run.size > 1:
        line = points((float(a), frame.y(float(b))) for a, b in zip(x, day.fitted, strict=True))
        parts.append(tag("polyline", class_="fit", points=line))
    for place, late, is_after, is_outlying in zip(x, day.late, day.is_after, day.is_outlying, strict=True):
        parts.append(_mark(float(place), frame.y(float(late)), is_after=bool(is_after), is_outlying=bool(is_outlying)))
    middle = at + step * (day.run.size + 1) / 2
    wanted = size.text * 0.56 * (len(day.name) + 3)
    label = f"{number} {day.name}" if wanted < step * (day.run.size + 1) - 8.0 else str(number)
    if step * (day.run.size + 1) > size.text * 0.7 * len(label):
        parts.append(text(label, middle, frame.bottom + 1.6 * size.text))
    return parts


def _mark(x: float, y: float, *, is_after: bool, is_outlying: bool) -> str:
    """A run: a ring on the old set-up, a filled square on the new one; a triangle where it counts little."""
    name = "new" if is_after else "old"
    if is_outlying:
        corners = [(x - _MARK, y + _MARK), (x + _MARK, y + _MARK), (x, y - _MARK)]
        return tag("polygon", class_=name, points=points(corners))
    if is_after:
        return tag("rect", class_=name, x=x - _MARK, y=y - _MARK, width=2 * _MARK, height=2 * _MARK)
    return tag("circle", class_=name, cx=x, cy=y, r=_MARK)
