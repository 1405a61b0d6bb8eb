"""Plots along the course: ticks that enclose, curves that stay inside, numbers that have room."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from conewise.reports import traces
from conewise.reports.units import METRIC, US
from tests.reports_fixture import fallback_answer, made_up_answer


@given(st.floats(-1e4, 1e4), st.floats(1e-3, 1e4))
def test_ticks_enclose_the_range_with_few_numbers(low, span):
    ticks = traces.nice_ticks(low, low + span)
    slack = 1e-6 * max(1.0, abs(low), span)  # ticks are held to 1e-9 of their step
    assert ticks[0] <= low + slack
    assert ticks[-1] >= low + span - slack
    assert 2 <= len(ticks) <= 5


def test_curves_stay_inside_their_plot():
    for trace in traces.traces(made_up_answer(), METRIC):
        for curve in trace.curves:
            numbers = [float(number) for number in re.findall(r"(?<=[ V])-?[\d.]+", curve.path)]
            assert min(numbers) >= 0
            assert max(numbers) <= 100


def test_the_curve_has_the_values():
    answer = made_up_answer()
    speed = traces.traces(answer, METRIC)[0]
    heights = np.array([float(y) for y in re.findall(r" ([\d.]+)", speed.curves[0].path)])
    top = float(speed.ticks[-1].text)
    assert (1 - heights / 100) * top == pytest.approx(
        answer.solution.speed * 3.6, abs=0.06 * top / 100 + 1e-9
    )  # 0.1 px


def test_a_level_without_pedals_has_no_pedal_trace():
    keys = {trace.key for trace in traces.traces(fallback_answer(), METRIC)}
    assert keys == {"speed", "ax", "ay", "gear"}


def test_stations_are_round_in_the_units_shown():
    assert [tick.text for tick in traces.station_ticks(made_up_answer(), METRIC)][:3] == ["0", "100", "200"]
    assert [tick.text for tick in traces.station_ticks(made_up_answer(), US)][:3] == ["0", "500", "1000"]


def test_bands_cover_the_course():
    bands = traces.bands(made_up_answer())
    assert bands[0].left == pytest.approx(0, abs=1e-9)
    assert sum(band.width for band in bands) == pytest.approx(100)
    assert sum(band.is_shown_on_hand for band in bands) < sum(band.is_shown_on_desk for band in bands)
