"""Values that a table repeats until the next one comes."""

from __future__ import annotations

import numpy as np
import pytest

from conewise.logs.held import fix_interval, new_values

TIME = np.arange(400) * 0.02  # 50 rows a second
FIX = np.arange(400) // 5  # ten fixes a second


def test_the_rate_of_the_fixes_is_found():
    assert fix_interval(TIME, [[FIX.astype(float)], [FIX // 2.0]]) == pytest.approx(0.1)


def test_a_column_that_changes_with_every_row_is_not_held():
    assert fix_interval(TIME, [[np.sin(TIME)]]) is None


def test_every_fix_is_kept_once_where_it_came():
    rows = new_values(TIME, [FIX.astype(float)], interval=0.1)
    assert rows.tolist() == list(range(0, 400, 5))


def test_a_car_that_stands_is_measured_too():
    place = np.where(TIME < 3.0, FIX, 30).astype(float)
    rows = new_values(TIME, [place], interval=0.1)
    assert rows.size == pytest.approx(80, abs=2)
    assert np.diff(TIME[rows]).max() < 0.16


def test_a_fix_that_came_late_is_not_made_up():
    place = FIX.astype(float)
    place[50:52] = place[49]  # two rows late
    assert new_values(TIME, [place], interval=0.1).size == 80
