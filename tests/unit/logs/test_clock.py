"""Clocks: what a time column says, and what is done about times that do not run."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from conewise.logs.clock import LogClockError, clock_seconds, in_order, past_midnight, seconds_of
from conewise.logs.columns import Column


def ordered(time):
    return in_order(np.asarray(time, dtype=float), lambda row: f"line {row + 2}")


def said(result):
    return [(finding.code, finding.where.partition(",")[0]) for finding in result.findings]


REGULAR = np.arange(20) * 0.1


def test_times_in_order_stay_as_they_are():
    result = ordered(REGULAR)
    assert result.time == pytest.approx(REGULAR)
    assert said(result) == []


@pytest.mark.parametrize(
    ("row", "value", "dropped"), [(7, 0.05, 7), (7, 500.0, 7), (0, 5.0, 0), (19, -3.0, 19)], ids=str
)
def test_a_single_stray_stamp_is_left_out(row, value, dropped):
    time = REGULAR.copy()
    time[row] = value
    result = ordered(time)
    if row in {0, 19}:  # at an end nothing says that it is the stray one: the clock is taken as set back
        assert said(result)[0][0] in {"clock-back", "time-out-of-order"}
        return
    assert sorted(set(range(20)) - set(result.keep)) == [dropped]
    assert said(result) == [("time-out-of-order", f"line {dropped + 2}")]


def test_a_stamp_that_comes_again_is_left_out():
    time = REGULAR.copy()
    time[5] = time[4]
    result = ordered(time)
    assert 5 not in result.keep
    assert ("time-repeated", "line 7") in said(result)


def test_a_clock_that_is_set_back_a_little_runs_on_in_one_step():
    time = np.concatenate([REGULAR, REGULAR + 1.9 - 18.0])  # leap seconds learned
    result = ordered(time)
    assert np.diff(result.time) == pytest.approx(np.full(39, 0.1))
    assert said(result) == [("clock-back", "line 22")]


def test_pieces_joined_in_the_wrong_order_are_laid_apart():
    result = ordered(np.concatenate([REGULAR + 3000.0, REGULAR]))
    assert result.time[20] - result.time[19] == pytest.approx(10.0)
    assert said(result) == [("clock-back", "line 22"), ("recording-paused", "line 21")]


def test_a_clock_coarser_than_the_rows_is_spread():
    result = ordered(np.floor(np.arange(100) / 10.0))
    assert np.diff(result.time) == pytest.approx(np.full(99, 0.1))
    assert said(result) == [("clock-coarse", "line 3")]


def test_lost_rows_are_counted_and_placed():
    result = ordered(np.delete(np.arange(100) * 0.01, slice(40, 60)))
    assert said(result) == [("rows-lost", "line 41")]
    assert "1 place, about 20 rows; the longest gap is 0.21 s" in result.findings[0].message


def test_pauses_between_runs_are_a_note_and_no_loss():
    time = np.concatenate([np.arange(100) * 0.01, 180.0 + np.arange(100) * 0.01, 400.0 + np.arange(100) * 0.01])
    (finding,) = ordered(np.delete(time, slice(240, 241))).findings
    assert (finding.severity, finding.code) == ("note", "recording-paused")
    assert "pauses 2 times, 219 s at the longest, as between runs" in finding.message
    lost, paused = sorted(ordered(np.delete(time, slice(240, 260))).findings, key=lambda f: f.code, reverse=True)
    assert (paused.severity, lost.severity) == ("note", "warning")
    assert "1 place, about 20 rows; the longest gap is 0.21 s" in lost.message


def test_every_row_that_is_left_out_is_counted():
    """What a stamp ahead of its time hides goes with it; counts and rows used are all the rows."""
    time = np.arange(60) * 0.1
    time[[7]] = np.nan
    time[20] = 3.05  # ahead
    time[40] = 1.0  # back
    time[50] = time[49]
    result = ordered(time)
    counts = [int(finding.message.split()[0]) for finding in result.findings if "left out" in finding.message]
    assert {finding.code for finding in result.findings} >= {"time-missing", "time-out-of-order", "time-repeated"}
    assert sum(counts) + result.time.size == time.size
    assert all(" of " in finding.message for finding in result.findings if "left out" in finding.message)


def test_rows_without_a_time_are_left_out():
    time = REGULAR.copy()
    time[[3, 4]] = np.nan
    result = ordered(time)
    assert result.keep.size == 18
    assert said(result) == [("time-missing", "line 5")]


@pytest.mark.parametrize(
    "time", [[np.nan, 1.0], [np.nan] * 5, np.tile([3.0, 1.0, 2.0], 30)], ids=["one", "none", "wild"]
)
def test_what_is_no_clock_is_refused(time):
    with pytest.raises(LogClockError):
        ordered(time)


@given(st.lists(st.floats(-1e9, 1e9, allow_nan=False) | st.just(float("nan")), max_size=60))
def test_whatever_comes_in_times_come_out_rising_or_are_refused(time):
    try:
        result = ordered(time)
    except LogClockError:
        return
    assert (np.diff(result.time) >= 0.0).all()
    assert (np.diff(result.keep) > 0).all()
    assert result.time.size == result.keep.size <= len(time)


@pytest.mark.parametrize(
    ("values", "unit", "step", "origin"),
    [
        ([0.0, 0.5], "s", 0.5, None),
        ([0.0, 500.0], "ms", 0.5, None),
        ([1.0, 1.5], "min", 30.0, None),
        ([1.7e12, 1.7e12 + 500], "epoch ms", 0.5, 1.7e9),
        ([1.7e15, 1.7e15 + 5e5], "epoch us", 0.5, 1.7e9),
        ([235959.5, 0.5], "hhmmss", 1.0, None),
        ([23595950, 50], "hhmmsscc", 1.0, None),
        ([235959500, 500], "hhmmsszzz", 1.0, None),
    ],
)
def test_seconds_of_a_time_column(values, unit, step, origin):
    seconds, zero = seconds_of(Column(name="t", unit="", values=np.array(values, dtype=float)), unit)
    assert seconds[1] - seconds[0] == pytest.approx(step, abs=1e-9)
    assert zero == (None if origin is None else pytest.approx(origin, abs=1e-6))


def test_digits_that_are_no_time_of_day_are_not_read():
    assert np.isnan(clock_seconds(np.array([126000.0, 250000.0, -1.0]), "hhmmss")).all()


def test_midnight_is_passed_as_often_as_it_comes():
    assert np.diff(past_midnight(np.array([86399.0, 0.0, 86399.0, 1.0]))) == pytest.approx([1.0, 86399.0, 2.0])
