"""Suspension formulas against handbook values; see CITATION.md. Closed forms say so."""

import numpy as np
import pytest

from conewise.cars.estimate import helical_spring_rate
from conewise.quantities import GRAVITY
from conewise.vehicle import suspension
from conewise.vehicle.derived import load_transfer_distribution, static_stability
from conewise.vehicle.motion import CarState, roll_arm, wheel_loads
from tests.cars import SETS, parameter_set, published_set

LB_IN = 175.126835


def test_helical_spring():
    # d 12 mm, D 100 mm, 6 coils, 79.3 GPa: 34257.6 N/m = 195.62 lb/in (formula from the page)
    found = helical_spring_rate(0.012, 0.100, 6.0)
    assert found == pytest.approx(34257.6, rel=1e-6)
    assert found / LB_IN == pytest.approx(195.62, abs=0.005)


def test_the_music_wire_spring_of_the_handbook():
    # Shigley ch. 10, example 10-1 (from memory): 0.037 in wire, 7/16 in outside, 10.5 coils, 11.85 Mpsi: 4.13 lbf/in,
    # with D rounded to 0.400 in as the book has it
    pascal = LB_IN / 0.0254
    found = helical_spring_rate(0.037 * 0.0254, 0.400 * 0.0254, 10.5, shear_modulus=11.85e6 * pascal)
    assert found / LB_IN == pytest.approx(4.13, abs=0.005)


def test_wheel_rate_and_ride_rate():
    # 40 kN/m at 0.70: 19.60 kN/m; with a tyre of 200 kN/m in series 17.851 kN/m (closed form)
    rate = suspension.wheel_rate(40e3, 0.70)
    assert rate == pytest.approx(19600.0, rel=1e-12)
    assert suspension.in_series(rate, 200e3) == pytest.approx(17851.0, rel=1e-4)


@pytest.mark.parametrize(("inches", "hertz"), [(10.0, 0.989), (5.0, 1.399)])
def test_frequency_of_a_static_deflection(inches, hertz):
    rate_over_mass = GRAVITY / (inches * 0.0254)
    found = suspension.natural_frequency(rate_over_mass, 1.0)
    assert found == pytest.approx(hertz, abs=5e-4)
    assert found * 60 == pytest.approx(188 / np.sqrt(inches), rel=0.003)  # the rule of 188 is rounded up from 187.6


def test_frequency_that_a_calculator_page_prints_wrong():
    # 500 lb/in wheel rate under 900 lb: 2.331 Hz, not 1.5
    found = suspension.natural_frequency(500 * LB_IN, 900 * 0.45359237)
    assert found == pytest.approx(2.331, abs=5e-4)


def test_critical_damping():
    # 300 kg on 19.6 kN/m: 4849.7; 0.7 of it 3394.8 at the wheel, 6928.2 at a damper with 0.7 (closed form)
    critical = suspension.critical_damping(19.6e3, 300.0)
    assert critical == pytest.approx(4849.7, abs=0.1)
    assert suspension.wheel_rate(6928.2, 0.7) / critical == pytest.approx(0.7, rel=1e-4)


def test_solid_bar():
    # 25 mm, 0.90 m, arm 0.25 m: 3379.0 N m/rad; 54.06 kN/m at one end with the other held (formula from the page)
    torsion = suspension.bar_torsional_stiffness(0.025, 0.9)
    assert torsion == pytest.approx(3379.0, rel=1e-5)
    assert torsion / 0.25**2 == pytest.approx(54.06e3, rel=1e-4)


def test_hollow_against_solid_bar():
    hollow = suspension.bar_torsional_stiffness(0.026, 1.0, 0.020)
    assert hollow / suspension.bar_torsional_stiffness(0.021, 1.0) == pytest.approx(1.527, abs=5e-4)
    ratio = suspension.bar_torsional_stiffness(0.025, 1.0) / suspension.bar_torsional_stiffness(0.022, 1.0)
    assert ratio == pytest.approx(1.6675, abs=1e-4)  # (25/22)^4, closed form


def test_a_bar_with_its_ends_at_the_wheels_works_like_two_springs():
    # both ends loaded in opposite directions: end rate 2 k / a2 each way, as axle springs k t2 / 2 (closed form)
    torsion, arm, track = 3379.0, 0.25, 1.5
    at_wheels = suspension.bar_roll_stiffness(torsion, arm=arm, motion_ratio=1.0, track=track)
    assert at_wheels == pytest.approx(suspension.axle_roll_stiffness(2 * torsion / arm**2, track), rel=1e-12)


def test_roll_stiffness_of_springs():
    # 19.6 kN/m, 1.5 m: 22050 N m/rad = 384.85 N m/deg (closed form)
    stiffness = suspension.axle_roll_stiffness(19.6e3, 1.5)
    assert stiffness == pytest.approx(22050.0, rel=1e-12)
    assert np.deg2rad(stiffness) == pytest.approx(384.85, abs=0.01)


def test_tyres_in_series_take_their_share_of_the_roll():
    total, share = suspension.body_to_road(30e3, 170e3)
    assert 1 / total == pytest.approx(1 / 30e3 + 1 / 170e3, rel=1e-12)
    assert share * total * (1 / total) == pytest.approx(total / 30e3, rel=1e-12)


@pytest.mark.parametrize("number", SETS)
def test_steady_load_transfers_sum_to_the_overturning_moment(number):
    """Lateral transfers times tracks make m a_y h and the shift of the sprung mass (moment balance)."""
    p = parameter_set(number)
    a_y = 2.0
    arm = roll_arm(p)[0]
    stiffness = p.roll_stiffness_front + p.roll_stiffness_rear
    roll = p.sprung_mass * arm * a_y / (stiffness - p.sprung_mass * p.gravity * arm)
    state = CarState(v_x=15.0, v_y=0.0, yaw_rate=0.1, roll=roll, roll_rate=0.0, road_wheel_angle=0.0, command=0.0)
    left_front, right_front, left_rear, right_rear = wheel_loads(0.0, a_y, state, p)
    moment = (right_front - left_front) / 2 * p.track_front + (right_rear - left_rear) / 2 * p.track_rear
    wanted = p.mass * a_y * p.cg_height + p.sprung_mass * p.gravity * arm * roll
    assert moment == pytest.approx(wanted, rel=2e-3)  # lift-off is smoothed over 120 N
    front = (right_front - left_front) / (right_front - left_front + right_rear - left_rear)
    assert front == pytest.approx(load_transfer_distribution(p), rel=5e-3)


@pytest.mark.parametrize("number", SETS)
def test_static_stability_of_the_published_sets(number):
    # T / (2 h): the mean of cars is 1.41, of utility vehicles 1.17 (NHTSA); set 3 is a van
    s = published_set(number)
    assert static_stability(parameter_set(number)) == pytest.approx((s.T_f + s.T_r) / 4 / s.h_cg, rel=1e-12)
    assert 1.0 < static_stability(parameter_set(number)) < 1.6
