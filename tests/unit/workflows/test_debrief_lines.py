"""What drawn lines and an unsure friction do to the intervals of a breakdown; no solve."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from conewise.logs.breakdown import FrictionFound
from conewise.logs.friction import raised
from conewise.solver.speed_profile import FrictionCircle
from conewise.workflows.debrief_lines import Spread, quasi_steady_times
from conewise.workflows.debrief_runs import NUMERICAL, interval_widths
from tests.debriefs import driven_run

SURE = FrictionFound(value=1.0, low=1.0, high=1.0, origin="saturated")
SPREAD = Spread(
    on_line=np.full((9, 2), 3.0), later=np.zeros((9, 2)), by_friction=np.array([[-2.0, -1.0], [-1.9, -1.0]])
)


def test_an_unsure_friction_widens_the_speed_far_more_than_the_line():
    unsure = FrictionFound(value=0.8, low=0.76, high=0.84, origin="skidpad")
    sure = interval_widths(SPREAD, SURE)
    line, speed = interval_widths(SPREAD, unsure)
    assert sure[0][:2] == pytest.approx(1.860 * NUMERICAL, rel=1e-3)  # Student's t table, 8 degrees of freedom, 95%
    assert speed[:2] == pytest.approx(np.hypot(sure[1][:2], [0.1, 0.05]))  # 5% of 2 s and of 1 s
    assert line[0] == pytest.approx(np.hypot(sure[0][0], 0.05 * 0.1))
    assert line[1] == pytest.approx(sure[0][1])
    assert speed[2] == pytest.approx(np.hypot(sure[1][2], 0.15))


def test_a_friction_that_is_surer_to_one_side_counts_to_the_other():
    """One that was raised to what the run shows cannot be less, and can be as much more as before."""
    known = FrictionFound(value=0.8, low=0.76, high=0.84, origin="skidpad")
    shown = raised(known, 0.85)
    assert (shown.low, shown.high) == pytest.approx((0.85, 0.89))
    widths = [
        interval_widths(SPREAD, friction)[1] for friction in (replace(known, value=0.85, low=0.81, high=0.89), shown)
    ]
    assert widths[1] == pytest.approx(widths[0])


def test_a_lower_bound_says_nothing_of_the_width():
    bound = replace(SURE, high=np.inf, origin="typical")
    assert np.array(interval_widths(SPREAD, bound)) == pytest.approx(np.array(interval_widths(SPREAD, SURE)))


def test_times_at_the_limit_follow_the_friction():
    """Where friction alone limits, times go with its root: v^2 = mu g r, and so does every change of speed."""
    geometry, _, _, trace = driven_run()
    still = replace(trace, speed=np.maximum(trace.speed, 1.0))
    line = trace.lateral_offset
    slow, fast = (
        quasi_steady_times(geometry, still, line=line, limits=FrictionCircle(friction=mu)) for mu in (0.8, 0.9)
    )
    assert np.sum(slow) / np.sum(fast) == pytest.approx(np.sqrt(0.9 / 0.8), rel=0.02)  # all start at the same speed
