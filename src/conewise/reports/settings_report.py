"""The report of a search for settings: one HTML file that asks nothing of any other place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.findings import by_severity
from conewise.reports import page

if TYPE_CHECKING:
    from conewise.reports.settings_answer import SettingRow, SettingsAnswer
    from conewise.reports.units import Units


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownRow:
    """One setting as it is printed."""

    name: str
    now: str
    best: str
    is_moved: bool
    alone: str
    up: str
    down: str
    note: str
    at_now: float  # place of the values on the bar of its range [%]
    at_best: float
    span: str


def settings_html(answer: SettingsAnswer, units: Units) -> str:
    """The whole answer of a search for settings.

    Parameters
    ----------
    answer : SettingsAnswer
    units : Units
        Units shown.

    Returns
    -------
    str
        One HTML page with its style and its script inside.
    """
    return page.rendered(
        "settings.html.j2",
        None,
        answer=answer,
        units=units,
        rows=tuple(_shown(row, units) for row in answer.rows),
        leaning=answer.leaning_words(units.name),
        findings=by_severity(list(answer.findings)),
    )


def _shown(row: SettingRow, units: Units) -> ShownRow:
    def text(value: float) -> str:
        return row.shown(value, units.name)

    def place(value: float) -> float:
        return round(100.0 * (value - row.low) / (row.high - row.low), 1)

    is_moved = row.verdict == "moved"
    return ShownRow(
        name=row.name,
        now=text(row.now),
        best=text(row.best) if is_moved else row.verdict,
        is_moved=is_moved,
        alone="" if row.alone is None else row.alone.words,
        up=row.up.words,
        down=row.down.words,
        note=row.note,
        at_now=place(row.now),
        at_best=place(row.best),
        span=_span(text(row.low), text(row.high)),
    )


def _span(low: str, high: str) -> str:
    """Both ends of a range, the unit once where it is the same."""
    number, _, unit = low.partition(" ")
    return f"{number} to {high}" if high.endswith(f" {unit}") else f"{low} to {high}"
