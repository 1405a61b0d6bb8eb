"""Tyre forces: friction, stiffness, inclination, and what is left beside a longitudinal force."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from conewise.vehicle.motion import tyres
from conewise.vehicle.tyre_force import (
    ELLIPSE_SOFTENING,
    LEAST_FRICTION,
    cornering_stiffness,
    inclination_factor,
    lateral_force,
    lateral_share,
    load_factor,
    magic_formula,
    peak_slip,
)
from tests.model_cars import rear_drive

TYRE = tyres(rear_drive())[0]
F0 = TYRE.reference_load


@given(st.floats(1.05, 1.9), st.floats(-3.0, 0.6))
def test_the_peak_of_the_curve_is_where_it_is_said_to_be(C, E):
    peak = float(peak_slip(C, E))
    found = minimize_scalar(
        lambda x: -float(magic_formula(x, B=1.0, C=C, D=1.0, E=E)), bounds=(0.0, 3.0 * peak), options={"xatol": 1e-9}
    )
    assert magic_formula(peak, B=1.0, C=C, D=1.0, E=E) == pytest.approx(1.0, abs=1e-6)
    assert -found.fun <= 1.0 + 1e-12


def test_friction_falls_with_load_down_to_a_floor():
    assert load_factor(F0, TYRE) == pytest.approx(1.0, abs=1e-3)
    assert load_factor(2.0 * F0, TYRE) == pytest.approx(1.0 - TYRE.load_sensitivity, abs=1e-3)
    assert load_factor(50.0 * F0, TYRE) == pytest.approx(LEAST_FRICTION, abs=1e-3)


def test_a_pair_of_tyres_loses_by_load_transfer():
    # mu = a - b F on an axle with loads F -+ dF loses b dF2 / (F (a - b F)) of its force (closed form)
    moved = 0.4 * F0
    mu = TYRE.friction_lateral
    b = mu * TYRE.load_sensitivity / F0
    even = 2.0 * mu * load_factor(F0, TYRE) * F0
    uneven = sum(mu * load_factor(F, TYRE) * F for F in (F0 - moved, F0 + moved))
    assert 1.0 - uneven / even == pytest.approx(b * moved**2 / (F0 * mu), rel=1e-3)


def test_the_slope_at_the_origin_is_the_cornering_stiffness():
    slope = lateral_force(1e-6, F0, TYRE.friction_lateral, TYRE) / 1e-6
    D = TYRE.friction_lateral * F0
    assert slope == pytest.approx(cornering_stiffness(F0, TYRE) * D / (D + 50.0), rel=1e-4)


def test_the_stiffness_peaks_at_the_load_it_is_given_for():
    loads = np.linspace(0.2, 4.0, 400) * F0
    stiffness = cornering_stiffness(loads, TYRE)
    assert loads[np.argmax(stiffness)] == pytest.approx(TYRE.stiffness_load * F0, rel=0.01)
    assert stiffness.max() == pytest.approx(TYRE.stiffness_peak * F0, rel=1e-4)


@pytest.mark.parametrize(("use", "left"), [(0.3, 0.95394), (0.6, 0.8), (0.8, 0.6)])
def test_the_friction_ellipse_leaves_what_a_circle_leaves(use, left):
    assert lateral_share(use) == pytest.approx(left, abs=1e-4)
    assert lateral_share(-use) == lateral_share(use)


def test_beyond_its_limit_a_wheel_has_hardly_any_lateral_force():
    assert lateral_share(0.0) == pytest.approx(1.0, rel=1e-12)
    assert lateral_share(1.0) == pytest.approx(np.sqrt(ELLIPSE_SOFTENING / 2.0), rel=2e-5)  # all is scaled to be 1 at 0
    assert lateral_share(1.3) < 0.01


def test_inclination_is_signed_into_the_turn():
    best = TYRE.best_inclination
    assert inclination_factor(best, 0.1, TYRE) == pytest.approx(1.0, abs=1e-5)  # leaning left in a left turn
    assert inclination_factor(-best, -0.1, TYRE) == pytest.approx(1.0, abs=1e-5)  # leaning right in a right turn
    upright, outward = inclination_factor(0.0, 0.1, TYRE), inclination_factor(-best, 0.1, TYRE)
    assert outward < upright < 1.0
    assert 1.0 - outward == pytest.approx(4.0 * (1.0 - upright), rel=0.05)  # it falls with the square


@given(st.floats(-1.2, 1.2), st.floats(0.0, 12e3))
def test_the_lateral_force_is_odd_and_within_its_friction(slip, load):
    friction = TYRE.friction_lateral
    force = lateral_force(slip, load, friction, TYRE)
    assert abs(force) <= friction * load + 1e-9
    assert lateral_force(-slip, load, friction, TYRE) == pytest.approx(-force, abs=1e-9)
