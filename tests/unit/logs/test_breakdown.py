"""What a breakdown tells of one feature."""

from __future__ import annotations

import numpy as np
import pytest

from conewise.logs.breakdown import FeatureGap, Interval


@pytest.mark.parametrize(
    ("line", "speed", "told"),
    [(0.1, 0.1, (True, True)), (0.5, 0.1, (False, True)), (0.1, 0.5, (True, False)), (0.5, 0.5, (False, False))],
)
def test_each_part_is_told_by_its_own_interval(line, speed, told):
    """Three tenths in the line and four in the speed; intervals of a fifth and of a whole second."""
    gap = FeatureGap(
        id="gate", kind="gate", start=0.0, end=10.0, measured=2.7, best_on_line=2.3, best=2.0,
        line_interval=Interval(low=0.3 - line, high=0.3 + line),
        speed_interval=Interval(low=0.4 - speed, high=0.4 + speed),
    )  # fmt: skip
    assert (gap.is_line_told, gap.is_speed_told) == told


def test_what_is_no_number_is_not_told():
    assert not Interval(low=-np.inf, high=np.inf).tells(np.nan)


@pytest.mark.parametrize(("seconds", "told"), [(0.004, False), (0.019, False), (0.021, True), (-0.021, True)])
def test_nothing_is_told_to_less_than_a_hundredth(seconds, told):
    """However narrow the interval: what is printed is no narrower than a hundredth to either side."""
    assert Interval(low=seconds - 0.001, high=seconds + 0.001).tells(seconds) == told
