"""The g-g-V envelope: shape, order, and agreement with the friction circle where the car is one."""

from dataclasses import replace

import numpy as np
import pytest

from conewise.errors import InfeasibleError
from conewise.solver.envelope import Envelope, NoEnvelopeError, known_envelope
from conewise.solver.speed_profile import speed_profile
from conewise.vehicle.steady_state import trim
from tests.model_cars import rear_drive

CAR = rear_drive()


@pytest.fixture(scope="module")
def envelope():
    return Envelope.from_parameters(CAR)


def test_tables_have_one_shape(envelope):
    n = envelope.speed.size
    assert np.diff(envelope.speed) == pytest.approx(envelope.speed[1] - envelope.speed[0])
    for table in (envelope.drive, envelope.brake, envelope.power):
        assert table.shape == (n, envelope.shares.size)
    assert envelope.shares[0] == 0.0
    assert envelope.shares[-1] == 1.0


def test_nothing_is_left_at_the_lateral_limit(envelope):
    assert np.all(envelope.drive[:, -1] == 0.0)
    assert np.all(envelope.brake[:, -1] == 0.0)
    assert np.all(np.diff(envelope.drive, axis=1) <= 0.0)
    assert np.all(np.diff(envelope.brake, axis=1) <= 0.0)


def test_points_inside_can_be_held(envelope):
    i, k = 3, 4  # a table entry is found along another way than the trim, to within a few percent
    for table, sign in ((envelope.drive, 1.0), (envelope.brake, -1.0)):
        held = trim(
            CAR,
            float(envelope.speed[i]),
            along=sign * 0.95 * float(table[i, k]),
            across=float(envelope.lateral[i] * envelope.shares[k]),
        )
        assert held.motion.residual_x == pytest.approx(0.0, abs=1e-5)


def test_power_limits_fast_and_grip_slow(envelope):
    assert np.isfinite(envelope.power[-1, 0])
    strong = Envelope.from_parameters(replace(CAR, torque=tuple(4.0 * c for c in CAR.torque)))
    assert np.isinf(strong.power[0, 0])
    assert strong.drive[0, 0] == pytest.approx(0.5 * 9.81 * 1.2, rel=0.35)  # rear drive, about half the weight


def test_braking_uses_the_friction(envelope):
    # anti-lock brakes hold 95% of each wheel's friction; drag and rolling resistance help
    slow = int(np.argmin(np.abs(envelope.speed - 21.0)))
    assert 0.85 * 1.12 * 9.81 < envelope.brake[slow, 0] < 1.02 * 1.12 * 9.81


def test_the_lateral_limit_falls_with_longitudinal_acceleration(envelope):
    speed = float(envelope.speed[2])
    asked = np.array([-8.0, -4.0, 0.0, 2.0, 3.0])
    limits = envelope.lateral_limit(speed, asked)
    assert limits[2] == pytest.approx(envelope.lateral[2])
    assert limits[0] < limits[1] < limits[2] > limits[3] > limits[4]
    assert envelope.lateral_limit(speed, 15.0) == 0.0


@pytest.mark.parametrize(
    ("edits", "side"),
    [
        ({"surface": 0.95}, "less"),
        ({"surface": 1.05}, "more"),
        ({"lift_area_front": 0.6, "lift_area_rear": 0.6}, "more"),
    ],
)
def test_grip_and_downforce_widen_it(envelope, edits, side):
    other = Envelope.from_parameters(replace(CAR, **edits), envelope.speed)
    difference = (other.lateral - envelope.lateral)[1:8]
    assert np.all(difference > 0.0) if side == "more" else np.all(difference < 0.0)


def test_a_profile_says_what_limits(envelope):
    station = np.linspace(0.0, 400.0, 801)
    curvature = np.where((station > 150.0) & (station < 180.0), 1.0 / 15.0, 0.0)
    profile = speed_profile(station, curvature, envelope, start_speed=10.0)
    assert set(profile.limited_by) == {"grip", "power", "brakes"}
    middle = int(np.argmin(np.abs(station - 165.0)))
    limit = float(envelope.lateral_limit(profile.speed[middle], 0.0))
    assert profile.lateral[middle] == pytest.approx(limit, rel=1e-6)


def test_an_envelope_is_kept_for_its_car_wherever_it_starts(envelope):
    known = known_envelope(CAR)
    for name in ("speed", "lateral", "drive", "brake", "power"):
        assert np.array_equal(getattr(known, name), getattr(envelope, name))
    elsewhere = replace(CAR, staging=float(CAR.staging) + 1.0, start_friction=0.7, start_pull=-0.2)
    assert known_envelope(elsewhere) is known
    lighter = known_envelope(replace(CAR, mass=0.9 * CAR.mass))
    assert np.all(lighter.drive[:, 0] > known.drive[:, 0])


def test_a_car_without_power_has_none():
    with pytest.raises(NoEnvelopeError, match="cannot hold") as caught:
        Envelope.from_parameters(replace(CAR, torque=tuple(0.0 for _ in CAR.torque)))
    assert isinstance(caught.value, InfeasibleError)


def test_power_beyond_reach_is_refused_by_name():
    with pytest.raises(NoEnvelopeError, match=r"65\.0 m/s"):
        Envelope.from_parameters(CAR, np.linspace(20.0, 80.0, 5))
