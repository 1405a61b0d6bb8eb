"""Gears along a run: where they change, what a change costs, what holding one means."""

import numpy as np
import pytest

from conewise.solver.gears import (
    GearPlan,
    change_speeds,
    holding,
    interrupted,
    limiter_speeds,
    moved_changes,
    n_gears,
    shifting,
    single_changes,
    wheel_speed_factor,
)
from conewise.vehicle import drivetrain
from tests.cars import DEMO_NAMES, demo_car
from tests.model_cars import rear_drive
from tests.solved import build

CAR = rear_drive()
CARS = (CAR, *(build.model_parameters(demo_car(name)) for name in DEMO_NAMES))
STEP = np.full(199, 0.5)
UP = np.linspace(3.0, 30.0, 200)
GAP = 0.25


def idle_time(plan, speed, step):
    """Time without drive, by the trapezoid of the transcription. [s]"""
    times = 2.0 * step / (speed[:-1] + speed[1:])
    return float(np.sum(times * (2.0 - plan.drive[:-1] - plan.drive[1:])) / 2.0)


def pull(p, gear, speed):
    turning = speed * wheel_speed_factor(p) * p.gear_ratios[gear - 1]
    return drivetrain.full_torque(drivetrain.clutched_speed(turning, p), p) * p.gear_ratios[gear - 1]


def test_the_limiter_is_reached_at_ratio_and_radius():
    # v = w r / i (closed form)
    assert limiter_speeds(CAR)[0] == pytest.approx(733.0 * 0.29 / 13.0)
    assert n_gears(CAR) == 5
    assert n_gears(rear_drive(gear_ratios=(9.0,) * 8)) == 1


@pytest.mark.parametrize("p", CARS)
def test_a_higher_gear_is_taken_where_it_pulls_harder_or_at_the_limiter(p):
    speeds, limits = change_speeds(p), limiter_speeds(p)
    assert np.all(np.diff(speeds) > 0.0)
    for k, v in enumerate(speeds):
        assert v <= limits[k]
        if v < 0.99 * limits[k]:
            assert pull(p, k + 2, v) > pull(p, k + 1, v)
            assert pull(p, k + 2, 0.97 * v) < pull(p, k + 1, 0.97 * v)


@pytest.mark.parametrize("p", CARS)
def test_speeding_up_takes_the_gears_one_by_one(p):
    plan = shifting(UP, STEP, p, shift_time=GAP)
    assert plan.gear[0] == 1
    assert set(np.diff(plan.gear)) <= {0, 1}
    assert np.all(limiter_speeds(p)[plan.gear - 1] + 0.2 >= UP)


def test_slowing_down_does_not_go_below_the_lowest_gear():
    there_and_back = np.concatenate([UP, UP[::-1]])
    step = np.full(399, 0.5)
    second, first = (shifting(there_and_back, step, CAR, shift_time=GAP, lowest=k) for k in (2, 1))
    assert second.gear[-1] == 2
    assert first.gear[-1] == 1
    change = np.flatnonzero(np.diff(first.gear[200:]) < 0)[0] + 200
    upward = np.flatnonzero(np.diff(first.gear[:200]) > 0)[-1]
    assert there_and_back[change] < there_and_back[upward]  # no hunting between two gears at one speed


def test_an_upshift_is_a_gap_without_drive_of_the_given_time():
    for gap in (0.12, 0.3):
        plan = shifting(UP, STEP, CAR, shift_time=gap)
        changes = np.flatnonzero(np.diff(plan.gear) > 0)
        assert len(changes) >= 2
        assert idle_time(plan, UP, STEP) == pytest.approx(gap * len(changes), rel=1e-9)
    free = shifting(UP, STEP, CAR, shift_time=0.0)
    assert free.drive.min() == 1.0


def test_the_gap_lasts_as_long_on_any_mesh():
    fine_step = np.full(797, 0.125)
    fine = shifting(np.linspace(3.0, 30.0, 798), fine_step, CAR, shift_time=GAP)
    coarse = shifting(UP, STEP, CAR, shift_time=GAP)
    assert idle_time(fine, np.linspace(3.0, 30.0, 798), fine_step) == pytest.approx(
        idle_time(coarse, UP, STEP), rel=1e-9
    )


def test_holding_keeps_the_gear_once_it_is_reached():
    there_and_back = np.concatenate([UP[:100], UP[:100][::-1]])
    plan = holding(there_and_back, STEP, CAR, hold=2, shift_time=GAP)
    assert plan.gear[0] == 1
    reached = int(np.argmax(plan.gear == 2))
    assert np.all(plan.gear[reached:] == 2)
    assert plan.drive.min() == 0.0


def test_plans_compare_by_what_they_say():
    plan = GearPlan(gear=np.array([1, 2]), drive=np.array([1.0, 0.0]))
    assert plan.same_as(GearPlan(gear=np.array([1, 2]), drive=np.array([1.0, 0.0])))
    assert not plan.same_as(GearPlan(gear=np.array([1, 2]), drive=np.array([1.0, 1.0])))
    assert not plan.same_as(GearPlan(gear=np.array([1, 1]), drive=np.array([1.0, 0.0])))


def test_moved_changes_are_one_change_up_a_node_sooner_or_later():
    gear = np.array([1, 1, 1, 2, 2, 2, 1, 1, 2, 2, 2, 2])
    now = interrupted(gear, UP[:12], STEP[:11], shift_time=GAP)
    moved = [interrupted(other, UP[:12], STEP[:11], shift_time=GAP) for other in moved_changes(now.gear)]
    assert ["".join(str(g) for g in plan.gear) for plan in moved] == [
        "112222112222", "111122112222", "111222122222", "111222111222",
    ]  # fmt: skip
    for plan in moved:
        first = np.flatnonzero(np.diff(plan.gear) > 0)[0] + 1
        assert plan.drive[first] < 1.0  # the gap moves with its change
    assert now.gear.tolist() == [1, 1, 1, 2, 2, 2, 1, 1, 2, 2, 2, 2]


def test_single_changes_follow_the_other_plan_on_one_stretch_each():
    now = GearPlan(gear=np.repeat([1, 2], 100), drive=np.ones(200))
    asked = GearPlan(gear=np.repeat([1, 2, 3, 2], [80, 60, 30, 30]), drive=np.ones(200))
    early, high = (interrupted(gear, UP, STEP, shift_time=GAP) for gear in single_changes(now.gear, asked.gear))
    assert early.gear == pytest.approx(np.repeat([1, 2], [80, 120]))
    assert high.gear == pytest.approx(np.repeat([1, 2, 3, 2], [100, 40, 30, 30]))
    assert idle_time(high, UP, STEP) == pytest.approx(2 * GAP, abs=1e-9)


def test_one_difference_is_no_single_change():
    now = GearPlan(gear=np.repeat([1, 2], 100), drive=np.ones(200))
    asked = GearPlan(gear=np.repeat([1, 2], [80, 120]), drive=np.ones(200))
    assert single_changes(now.gear, asked.gear) == ()
