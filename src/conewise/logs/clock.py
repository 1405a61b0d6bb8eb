"""Clocks of recordings: from what a time column holds to seconds, with the date where it is told."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from conewise.errors import ByFace, InputError
from conewise.findings import Finding
from conewise.logs.units import CLOCKS, EPOCHS, plain_unit, seconds_in

if TYPE_CHECKING:
    from collections.abc import Callable

    from conewise.logs.columns import Array, Column

_DAY = 86400.0
_MOST_BACKWARD = 0.2  # share of steps that may go back before the column is no clock
_CORRECTION = 60.0  # a receiver that learns the leap seconds sets its clock back by less [s]
_BETWEEN_PIECES = 10.0  # laid between recordings that were joined in the wrong order; their distance is not known [s]
_PAUSE = 10.0  # a longer step is a pause of the recorder, as between runs; common practice, no source [s]
_LOST = 3.5  # a step of so many usual ones is a gap


class LogClockError(InputError):
    """The times of a log cannot be used: there are none, or they do not run."""

    code = "log-clock"
    default_hint = ByFace(
        "Export the recording again with a column of the time, in rows that follow one another, and name that column "
        "and its unit in the header: time (s).",
        typed="Name the column of the time with its unit: --map 'COLUMN=time:s' (or ms, epoch ms, hhmmss, ...).",
    )

    def __init__(self, problem: str, *, where: str) -> None:
        super().__init__(problem, where=where)


@dataclass(frozen=True, slots=True)
class Ordered:
    """Times that never fall.

    keep: rows that are used, in order; shape (n_kept,)
    time: of those rows [s]
    """

    keep: np.ndarray[tuple[int], np.dtype[np.intp]]
    time: Array
    findings: tuple[Finding, ...]


def seconds_of(column: Column, unit: str) -> tuple[Array, float | None]:
    """Seconds of a time column, and the POSIX time at zero of those seconds where it tells the date.

    Parameters
    ----------
    column : Column
        The column of the time.
    unit : str
        "s", "ms", "epoch ms", "hhmmss", ... ; not looked at where the form tells more.

    Returns
    -------
    seconds : Array, shape (n_rows,)
        Since a zero of their own. A clock that passes midnight runs on. [s]
    origin : float or None
        POSIX time of that zero. [s]
    """
    values = column.values
    finite = values[np.isfinite(values)]
    first = float(finite[0]) if finite.size else 0.0
    if column.form == "datetime":
        return values - first, first
    if column.form == "clock":
        return past_midnight(values), None
    unit = plain_unit(unit) if unit not in EPOCHS else unit
    if unit in CLOCKS:
        return past_midnight(clock_seconds(values, unit)), None
    size = seconds_in(unit) or 1.0
    if unit in EPOCHS:
        return (values - first) * size, first * size
    return values * size, None


def clock_seconds(values: Array, unit: str) -> Array:
    """Seconds since midnight of a time of day written in digits; NaN where the digits are no time of day."""
    scaled = values / {"hhmmss": 1.0, "hhmmsscc": 100.0, "hhmmsszzz": 1000.0}[unit]
    hour = np.floor(scaled / 10000.0)
    minute = np.floor((scaled - 10000.0 * hour) / 100.0)
    second = scaled - 10000.0 * hour - 100.0 * minute
    ok = (hour >= 0) & (hour < 24) & (minute < 60) & (second < 61)
    return np.where(ok, 3600.0 * hour + 60.0 * minute + second, np.nan)


def past_midnight(clock: Array) -> Array:
    """A clock of 24 hours that runs on past midnight. [s]"""
    known = np.isfinite(clock)
    days = np.zeros(clock.shape)
    days[known] = np.cumsum(np.diff(clock[known], prepend=clock[known][:1]) < -0.5 * _DAY)
    return np.asarray(clock + _DAY * days)


def moment(origin: float | None, seconds: float) -> datetime | None:
    """Date and time so many seconds after a POSIX time; None where that is not known or beyond the calendar."""
    if origin is None or not 0.0 <= origin + seconds < 4.0e9:
        return None
    return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=origin + seconds)


def in_order(time: Array, place: Callable[[int], str]) -> Ordered:
    """Rows whose times run forward, and what was wrong with the others.

    Parameters
    ----------
    time : Array, shape (n_rows,)
        As recorded; NaN where a row has none. [s]
    place : callable
        Row -> where it stands.

    Notes
    -----
    Single stamps that run ahead or back are left out. Where the clock is set back for good, what follows is laid behind
    what came before. Stamps that repeat in runs belong to a clock coarser than the rows: such rows are spread evenly;
    else a stamp that comes again is left out.

    Raises
    ------
    LogClockError
        If fewer than two rows have a time, or the times run back too often to be a clock.
    """
    rows = np.flatnonzero(np.isfinite(time))
    findings = []
    if rows.size < time.size:
        first = int(np.flatnonzero(~np.isfinite(time))[0])
        text = f"{of_all(time.size - rows.size, time.size, 'row')} without a time, left out."
        findings.append(Finding("warning", "time-missing", text, place(first)))
    if rows.size < 2:
        raise LogClockError("Fewer than two rows have a time.", where=place(0))
    backward = np.diff(time[rows]) < 0.0
    if backward.sum() > max(3, _MOST_BACKWARD * rows.size):
        raise LogClockError("The times run backward again and again.", where=place(int(rows[np.argmax(backward)])))
    rows, seconds, found = _forward(rows, time[rows], place)
    findings += found
    rows, seconds, found = _distinct(rows, seconds, place)
    return Ordered(rows, seconds, tuple(findings + found + _gaps(rows, seconds, place)))


def of_all(count: int, whole: int, what: str) -> str:
    """So many of so many.

    Examples
    --------
    >>> of_all(3, 1200, "row")
    '3 of 1200 rows'
    """
    return f"{count} of {whole} {what}s"


def _forward(rows: np.ndarray, seconds: Array, place: Callable[[int], str]) -> tuple[np.ndarray, Array, list[Finding]]:
    """Without single stamps ahead or back; behind one another where the clock was set back."""
    findings = []
    drop = np.zeros(rows.size, dtype=bool)
    shift = np.zeros(rows.size)
    step = _usual_step(seconds)
    for index in np.flatnonzero(np.diff(seconds) < 0.0) + 1:
        if drop[index]:
            continue
        before = index - 2 if index >= 2 else None
        if (
            before is not None
            and seconds[before] < seconds[index]
            and seconds[index - 1] - seconds[before] > 2.0 * step
        ):
            bad = index - 1  # one stamp ahead of its time
        elif index + 1 < rows.size and seconds[index + 1] > seconds[index - 1]:
            bad = index  # one stamp behind its time
        else:
            jump = seconds[index - 1] - seconds[index]
            pause = step if jump < _CORRECTION else _BETWEEN_PIECES
            shift[index:] += jump + pause
            text = f"The clock goes back by {jump:.3f} s; what follows is laid {pause:.3g} s behind what came before."
            findings.append(Finding("warning", "clock-back", text, place(int(rows[index]))))
            continue
        drop[bad] = True
    seconds = seconds + shift
    keep = ~drop
    keep[keep] = seconds[keep] >= np.maximum.accumulate(seconds[keep])
    if not keep.all():
        text = f"{of_all(int((~keep).sum()), rows.size, 'row')} with a time stamp out of order, left out."
        findings.append(Finding("warning", "time-out-of-order", text, place(int(rows[np.argmin(keep)]))))
    return rows[keep], seconds[keep], findings


def _usual_step(seconds: Array) -> float:
    steps = np.diff(seconds)
    steps = steps[steps > 0.0]
    return float(np.median(steps)) if steps.size else 1.0


def _distinct(rows: np.ndarray, seconds: Array, place: Callable[[int], str]) -> tuple[np.ndarray, Array, list[Finding]]:
    """Stamps that come again: spread where the clock is coarse, left out where they are few."""
    again = np.diff(seconds, prepend=-np.inf) == 0.0
    n_again = int(again.sum())
    if n_again == 0:
        return rows, seconds, []
    where = place(int(rows[np.argmax(again)]))
    starts = np.flatnonzero(~again)
    if starts.size > 2 and n_again > 0.5 * rows.size:
        ends = np.append(starts[1:], rows.size)
        last = seconds[starts[-1]] + _usual_step(seconds[starts])
        spread = np.interp(np.arange(rows.size), np.append(starts, ends[-1]), np.append(seconds[starts], last))
        text = (
            f"The clock is coarser than the rows ({rows.size / starts.size:.1f} rows a stamp): they are spread evenly."
        )
        return rows, spread, [Finding("warning", "clock-coarse", text, where)]
    text = f"{of_all(n_again, rows.size, 'row')} with the time stamp of the row before, left out."
    return rows[~again], seconds[~again], [Finding("warning", "time-repeated", text, where)]


def _gaps(rows: np.ndarray, seconds: Array, place: Callable[[int], str]) -> list[Finding]:
    """Steps much longer than usual: pauses of the recording, as between runs, and rows that are lost."""
    steps = np.diff(seconds)
    usual = _usual_step(seconds)
    wide = np.flatnonzero(steps > max(_LOST * usual, usual + 1e-3))
    pauses, wide = wide[steps[wide] >= _PAUSE], wide[steps[wide] < _PAUSE]
    findings = []
    if pauses.size:
        longest = int(pauses[np.argmax(steps[pauses])])
        times = "once" if pauses.size == 1 else f"{pauses.size} times"
        text = f"The recording pauses {times}, {steps[longest]:.0f} s at the longest, as between runs."
        where = f"{place(int(rows[longest]))}, at {seconds[longest] - seconds[0]:.2f} s"
        findings.append(Finding("note", "recording-paused", text, where))
    if wide.size == 0:
        return findings
    at = int(wide[np.argmax(steps[wide])])
    missing = round(float(steps[wide].sum()) / usual) - wide.size
    text = (
        f"Rows are lost in {wide.size} {'place' if wide.size == 1 else 'places'}, about {missing} rows; "
        f"the longest gap is {steps[at]:.2f} s, the usual step {usual:.3g} s."
    )
    where = f"{place(int(rows[at]))}, at {seconds[at] - seconds[0]:.2f} s"
    return [*findings, Finding("warning", "rows-lost", text, where)]
