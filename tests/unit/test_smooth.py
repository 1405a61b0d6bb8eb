"""The stand-in for a clip that takes nothing off a small value: its limits, its order, its slope."""

from __future__ import annotations

import casadi as ca
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from conewise.smooth import saturated

LIMITS = st.floats(0.1, 1e4)
SHARES = st.floats(-20.0, 20.0)


@given(SHARES, LIMITS)
def test_it_stays_within_the_limit_and_keeps_the_sign(share, limit):
    found = saturated(share * limit, limit)
    assert abs(found) <= limit * (1.0 + 1e-4)  # the 1e-6 under the root: 5e-5 of a limit of 0.1
    assert abs(found) <= abs(share * limit)
    assert found == -saturated(-share * limit, limit)


@pytest.mark.parametrize(
    ("share", "left"),
    # (1 + s^8)^(-1/8) by hand: s = 0.5: (1 + 1/256)^(-1/8) = 0.99951; s = 1: 2^(-1/8) = 0.91700; s = 2: 0.99951 / 2
    [(0.5, 0.99951), (1.0, 0.91700), (2.0, 0.49976), (10.0, 0.1)],
)
def test_how_much_is_left_of_a_value(share, left):
    assert saturated(share * 50.0, 50.0) / (share * 50.0) == pytest.approx(left, abs=1e-5)


@given(LIMITS)
def test_more_in_is_never_less_out(limit):
    values = saturated(np.linspace(-5.0, 5.0, 401) * limit, limit)
    assert np.all(np.diff(values) > 0.0)


@given(st.floats(-3.0, 3.0), LIMITS)
def test_the_slope_is_that_of_a_finite_difference(share, limit):
    """The exact derivative, as the solver takes it, beside a central difference of the arithmetic."""
    x, symbol = share * limit, ca.SX.sym("x")
    slope = ca.Function("slope", [symbol], [ca.jacobian(saturated(symbol, limit), symbol)])
    h = 1e-4 * limit
    central = (saturated(x + h, limit) - saturated(x - h, limit)) / (2.0 * h)
    exact = float(slope(x))
    assert exact == pytest.approx(central, abs=2e-6)
    assert 0.0 < exact <= 1.0 + 1e-9


def test_a_limit_of_nothing_leaves_next_to_nothing_and_harms_nobody():
    assert abs(saturated(100.0, 0.0)) < 2e-3
    assert saturated(0.0, 0.0) == 0.0
