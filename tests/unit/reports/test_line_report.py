"""What the report computes for its figures."""

from __future__ import annotations

import pytest

from conewise.reports.line_report import _rows


@pytest.mark.parametrize(
    ("places", "room", "rows"),
    [
        ([0.0, 10.0, 20.0], 7.0, [0, 0, 0]),
        ([0.0, 3.0, 6.0, 20.0], 7.0, [0, 1, 2, 0]),
        ([0.0, 3.0, 7.0], 7.0, [0, 1, 0]),
        ([], 7.0, []),
    ],
)
def test_names_that_would_meet_stand_in_rows_of_their_own(places, room, rows):
    assert _rows(places, room) == rows
