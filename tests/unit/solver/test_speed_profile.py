"""The speed profile on a line: what it refuses, what it says, and the laws that it keeps."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from conewise.errors import InputError
from conewise.solver.speed_profile import FrictionCircle, LineError, speed_profile

STATION = np.linspace(0.0, 200.0, 401)
SLALOM = 0.05 * np.sin(STATION / 8.0)
CAR = FrictionCircle(friction=1.0, specific_power=120.0, drag=3e-4)


@pytest.mark.parametrize(
    ("station", "curvature", "says"),
    [
        ([0.0, 1.0, 1.0], [0.0, 0.0, 0.0], "do not rise"),
        ([0.0, 1.0, np.nan], [0.0, 0.0, 0.0], "not a number"),
        ([0.0, 1.0], [0.0, np.inf], "not a number"),
        ([0.0, 1.0], [0.0], "2 stations, 1 curvatures"),
        ([0.0], [0.0], "1 stations"),
    ],
)
def test_refuses_lines_that_are_none(station, curvature, says):
    with pytest.raises(LineError, match=says) as caught:
        speed_profile(np.array(station), np.array(curvature), CAR)
    assert isinstance(caught.value, InputError)
    assert caught.value.hint


def test_names_the_first_station_that_is_wrong():
    with pytest.raises(LineError) as caught:
        speed_profile(np.array([0.0, 1.0, 0.5, 2.0]), np.zeros(4), CAR)
    assert caught.value.where == "station 2"


def test_keeps_to_the_friction_circle_and_the_power():
    profile = speed_profile(STATION, SLALOM, CAR, start_speed=0.0)
    pull = np.diff(profile.speed**2) / 2.0 / np.diff(STATION)
    middle = (profile.speed[1:] ** 2 + profile.speed[:-1] ** 2) / 2.0
    lateral = (SLALOM[1:] + SLALOM[:-1]) / 2.0 * middle
    assert np.hypot(pull + 3e-4 * middle, lateral).max() < 9.80665 * 1.01  # 0.5 m steps
    assert np.all(pull[5:] * np.sqrt(middle[5:]) < 120.0 * 1.01)  # the first metres are steep


def test_accelerations_are_those_of_the_speed():
    profile = speed_profile(STATION, SLALOM, CAR, start_speed=5.0)
    assert profile.longitudinal == pytest.approx(np.gradient(profile.speed**2 / 2.0, STATION), abs=1e-9)
    assert profile.lateral == pytest.approx(SLALOM * profile.speed**2)
    assert profile.elapsed[0] == 0.0
    assert profile.time == profile.elapsed[-1]


def test_says_what_limits():
    profile = speed_profile(STATION, SLALOM, CAR, start_speed=0.0, end_speed=3.0)
    assert len(profile.limited_by) == STATION.size
    assert set(profile.limited_by) == {"grip", "power", "brakes"}
    assert profile.limited_by[-2] == "brakes"


def test_a_start_above_what_the_line_allows_is_lowered():
    profile = speed_profile(STATION, np.full(401, 0.1), CAR, start_speed=50.0)
    assert profile.speed[0] == pytest.approx(np.sqrt(98.0665))


@settings(max_examples=30, deadline=None)
@given(friction=st.floats(0.4, 1.6), more=st.floats(1.0, 1.5), power=st.floats(30.0, 400.0), start=st.floats(0.0, 20.0))
def test_more_of_anything_is_never_slower(friction, more, power, start):
    def run(friction, power):
        return speed_profile(
            STATION, SLALOM, FrictionCircle(friction=friction, specific_power=power), start_speed=start
        )

    base = run(friction, power)
    for better in (run(friction * more, power), run(friction, power * more)):
        assert better.time <= base.time + 1e-9
        assert np.all(better.speed >= base.speed - 1e-9)


@settings(max_examples=20, deadline=None)
@given(scale=st.floats(0.3, 3.0))
def test_time_scales_with_the_root_of_friction(scale):
    # without power and drag every speed grows with sqrt(mu)
    base = speed_profile(STATION, SLALOM, FrictionCircle(friction=1.0), start_speed=0.0)
    other = speed_profile(STATION, SLALOM, FrictionCircle(friction=scale), start_speed=0.0)
    assert other.time * np.sqrt(scale) == pytest.approx(base.time, rel=1e-9)  # roots near the limit amplify rounding


def test_left_and_right_are_alike():
    left = speed_profile(STATION, SLALOM, CAR, start_speed=4.0)
    right = speed_profile(STATION, -SLALOM, CAR, start_speed=4.0)
    assert np.array_equal(left.speed, right.speed)


def test_a_free_run_without_drag_reverses():
    circle = FrictionCircle(friction=1.0)
    there = speed_profile(STATION, SLALOM, circle, start_speed=6.0, end_speed=3.0)
    back = speed_profile(STATION, SLALOM[::-1].copy(), circle, start_speed=3.0, end_speed=6.0)
    assert back.time == pytest.approx(there.time, rel=1e-4)  # the clamp of forward and backward differs within a step


def test_a_slippery_surface_is_a_smaller_circle():
    wet = speed_profile(
        STATION, SLALOM, FrictionCircle(friction=1.0), start_speed=0.0, surface=np.full(STATION.size, 0.6)
    )
    other = speed_profile(STATION, SLALOM, FrictionCircle(friction=0.6), start_speed=0.0)
    assert wet.speed == pytest.approx(other.speed, rel=1e-9)


def test_a_damp_patch_costs_time_only_about_itself():
    surface = np.where((STATION > 90.0) & (STATION < 110.0), 0.7, 1.0)
    dry = speed_profile(STATION, SLALOM, CAR, start_speed=5.0)
    damp = speed_profile(STATION, SLALOM, CAR, start_speed=5.0, surface=surface)
    assert damp.time > dry.time
    assert damp.speed[:80] == pytest.approx(dry.speed[:80])


def test_refuses_a_surface_without_friction():
    with pytest.raises(LineError, match="without friction"):
        speed_profile(STATION, SLALOM, CAR, surface=np.zeros(STATION.size))
