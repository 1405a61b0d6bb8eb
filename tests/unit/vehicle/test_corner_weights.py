"""Corner weights: shares, and moves checked against a car on four springs that is solved from scratch."""

import numpy as np
import pytest

from conewise.quantities import GRAVITY
from conewise.vehicle.corner_weights import corner_balance, perch_moves, twist_pattern

READINGS = np.array([300.0, 260.0, 250.0, 270.0])
TRACKS = (1.42, 1.50)
RATES = np.array([30e3, 30e3, 24e3, 24e3])
RATIOS = np.array([0.66, 0.66, 0.9, 0.9])


def loads_on_springs(perches):
    """Loads of a rigid body on four springs, from its heave, pitch and roll; perches are raised by so much."""
    wheelbase = 2.4
    x = np.array([1.15, 1.15, 1.15 - wheelbase, 1.15 - wheelbase])
    y = np.array([TRACKS[0], -TRACKS[0], TRACKS[1], -TRACKS[1]]) / 2
    shape = np.array([np.ones(4), x, y]).T  # height of the body at each wheel by heave, pitch, roll
    longer = perches / RATIOS  # as seen at the wheel
    free = READINGS * GRAVITY  # loads before the moves
    stiffness = shape.T @ (RATES[:, None] * shape)
    body = np.linalg.solve(stiffness, shape.T @ (RATES * longer))
    return (free + RATES * (longer - shape @ body)) / GRAVITY, body


def moves(cross_weight):
    balance = corner_balance(READINGS, spread=1.0)
    return perch_moves(balance, ride_rates=RATES, motion_ratios=RATIOS, tracks=TRACKS, cross_weight=cross_weight)


def test_shares():
    balance = corner_balance(READINGS, spread=1.0)
    assert balance.total == 1080.0
    assert balance.front_share == pytest.approx(560 / 1080, rel=1e-12)
    assert balance.left_share == pytest.approx(550 / 1080, rel=1e-12)
    assert balance.cross_weight == pytest.approx(510 / 1080, rel=1e-12)


def test_uncertainty_of_the_cross_weight(rng):
    balance = corner_balance(READINGS, spread=1.5)
    drawn = READINGS + 1.5 * rng.standard_normal((20000, 4))
    cross = (drawn[:, 1] + drawn[:, 2]) / drawn.sum(axis=1)
    assert balance.cross_spread == pytest.approx(cross.std(), rel=0.03)  # 20000 draws: half a percent, six times


def test_a_twist_leaves_sum_axles_and_roll_moment_alone():
    pattern = twist_pattern(TRACKS)
    assert pattern.sum() == pytest.approx(0.0, abs=1e-15)
    assert pattern[0] + pattern[1] == pytest.approx(0.0, abs=1e-15)
    assert (pattern[0] - pattern[1]) * TRACKS[0] == pytest.approx(-(pattern[2] - pattern[3]) * TRACKS[1], rel=1e-12)


@pytest.mark.parametrize("wanted", [0.48, 0.50, 0.51])
def test_all_four_perches_reach_the_cross_weight_and_keep_the_ride_height(wanted):
    found = moves(wanted)
    loads, body = loads_on_springs(found.together)
    assert loads == pytest.approx(READINGS + found.load_change, rel=1e-9)
    assert (loads[1] + loads[2]) / loads.sum() == pytest.approx(wanted, rel=1e-9)
    assert body == pytest.approx(np.zeros(3), abs=1e-12)


@pytest.mark.parametrize("corner", range(4))
def test_one_perch_alone_does_the_same_to_the_loads(corner):
    found = moves(0.50)
    perches = np.zeros(4)
    perches[corner] = found.alone[corner]
    loads, body = loads_on_springs(perches)
    assert loads == pytest.approx(READINGS + found.load_change, rel=1e-9)
    assert np.abs(body).max() > 1e-4  # the car no longer stands as before


def test_a_perch_lifts_its_own_corner():
    perches = np.array([0.0, 0.005, 0.0, 0.0])
    loads, body = loads_on_springs(perches)
    assert loads[1] > READINGS[1]
    assert body[0] > 0


def test_the_example_of_a_page():
    # page "The Hows and Whys of Cornerweights": 52.8 % of 1364 lb left and 49.0 % of 1191 lb right stand in front;
    # after the moves 694, 606, 670, 585 lb. It moves loads by shares of the sides, so it is near only: 1 %
    before = np.array([0.528 * 1364, 0.490 * 1191, 0.472 * 1364, 0.510 * 1191])
    balance = corner_balance(before, spread=1.0)
    found = perch_moves(balance, ride_rates=RATES, motion_ratios=RATIOS, tracks=(1.5, 1.5), cross_weight=0.5)
    assert before + found.load_change == pytest.approx([694, 606, 670, 585], rel=0.01)
