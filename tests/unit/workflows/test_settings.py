"""What `settings` reads and refuses, the car at every position, and the bounds; nothing is solved."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

import conewise.demo
from conewise.advisor.rows import Effect, Option, Row
from conewise.cars.adjustable import AlsoMoved, Setting
from conewise.cars.adjustable_file import read_settings
from conewise.cars.typical import numbers
from conewise.quantities import Origin, Sourced
from conewise.vehicle.build import model_parameters
from conewise.vehicle.lock_order import critical_with_engine, peak_deceleration
from conewise.workflows import setting_search, settings
from conewise.workflows.advise_question import CourseTwiceError, WeightsError, WorkersError
from conewise.workflows.line import DriverUnknownError, PaceRangeError, SurfaceNameError
from conewise.workflows.setting_bounds import BRAKE_MARGIN, bounds_of
from conewise.workflows.setting_positions import (
    PressureOutsideLimitsError,
    SettingRangeError,
    space_of,
    usual_settings,
    value_now,
)
from tests.cars import demo_car

DEMO = Path(conewise.demo.__file__).parent
COURSE, CAR = DEMO / "courses" / "harbour-yard.toml", DEMO / "cars" / "marigold.toml"
RANGES = DEMO / "settings" / "marigold.toml"
MARIGOLD = demo_car("marigold")
BAR = 1e5
DAY = dt.date(2026, 5, 1)


def asked(**others):
    return settings.SettingsQuestion(
        **({"courses": (COURSE,), "car": CAR, "ranges": RANGES, "workers": 1, "day": DAY} | others)
    )


@pytest.mark.parametrize(
    ("others", "error"),
    [
        ({"workers": 0}, WorkersError),
        ({"pace": 1.2}, PaceRangeError),
        ({"surface": "ice"}, SurfaceNameError),
        ({"courses": (COURSE, COURSE)}, CourseTwiceError),
        ({"driver": "nobody.toml"}, DriverUnknownError),
        ({"weights": (1.0, 2.0)}, WeightsError),
        ({"weights": (0.0,)}, WeightsError),
        ({"weights": (float("nan"),)}, WeightsError),
    ],
)
def test_what_cannot_be_used_is_refused_before_anything_is_solved(others, error):
    with pytest.raises(error):
        settings.answer_settings(asked(**others), progress=str)


def test_weights_are_shares():
    other = DEMO / "courses" / "old-mill-airfield.toml"
    assert settings.read_question(asked(courses=(COURSE, other))).weights == (0.5, 0.5)
    assert settings.read_question(asked(courses=(COURSE, other), weights=(1.0, 3.0))).weights == (0.25, 0.75)


def test_without_ranges_only_the_pressures_are_looked_at_and_that_is_said():
    found = settings.read_question(asked(ranges=None))
    assert [a.name for a in found.space.adjustables] == ["front tyre pressure", "rear tyre pressure"]
    assert found.notes


def test_a_car_without_marked_limits_has_nothing_to_set_without_ranges(tmp_path):
    with pytest.raises(settings.NothingToSetError, match="no setting") as caught:
        settings.read_question(asked(car=DEMO / "cars" / "pepper.toml", ranges=None))
    assert "pressure" in caught.value.where


def spaced(car=MARIGOLD, *, given=None):
    return space_of(car, read_settings(RANGES) if given is None else given)


def test_the_car_as_it_is_is_one_of_the_positions():
    space = spaced()
    assert numbers(space.car_at(space.now)) == pytest.approx(numbers(MARIGOLD), rel=1e-12)


def test_a_position_moves_its_field_by_its_steps():
    space = spaced()
    k = [a.name for a in space.adjustables].index("front camber")
    moved = (*space.now[:k], space.now[k] + 2, *space.now[k + 1 :])
    car = space.car_at(moved)
    assert car.value("front.camber") == pytest.approx(MARIGOLD.value("front.camber") + 0.5 * 0.0174532925, rel=1e-6)
    assert car.value("rear.camber") == MARIGOLD.value("rear.camber")


def test_no_position_is_outside_its_range():
    for adjustable in spaced().adjustables:
        ends = [adjustable.value_at(0), adjustable.value_at(len(adjustable.shifts) - 1)]
        low, high = adjustable.setting.low, adjustable.setting.high
        if not adjustable.setting.values:
            assert low - 1e-9 <= ends[0] < ends[1] <= high + 1e-9


def test_the_brake_balance_of_parts_is_one_that_can_be_moved():
    space = spaced()
    k = [a.name for a in space.adjustables].index("brake balance")
    share = value_now(MARIGOLD, "brakes.front_share")
    assert share == pytest.approx(model_parameters(MARIGOLD).brake_front_share)
    moved = (*space.now[:k], space.now[k] + 1, *space.now[k + 1 :])
    p = model_parameters(space.car_at(moved))
    assert p.brake_front_share == pytest.approx(share + 0.01)
    assert p.brake_force_limit == pytest.approx(model_parameters(MARIGOLD).brake_force_limit)


def test_a_bar_given_by_its_shape_can_be_set_by_its_stiffness():
    now = value_now(MARIGOLD, "front.bar_stiffness")
    row = Setting(name="bar", fields=("front.bar_stiffness",), values=(0.8 * now, now, 1.2 * now))
    space = spaced(given=[row])
    assert value_now(space.car_at((2,)), "front.bar_stiffness") == pytest.approx(1.2 * now)


def test_what_hangs_on_a_click_moves_with_it():
    height = Setting(
        name="ride height",
        fields=("body.cg_height",),
        low=0.435,
        high=0.455,
        step=0.005,
        also=(AlsoMoved(field="front.roll_centre", per_step=0.008),),
    )
    space = spaced(given=[height])
    lower = space.car_at((space.now[0] - 2,))
    assert lower.value("body.cg_height") == pytest.approx(MARIGOLD.value("body.cg_height") - 0.010)
    assert lower.value("front.roll_centre") == pytest.approx(MARIGOLD.value("front.roll_centre") - 0.016)


def with_pressures(**values):
    told = {
        f"front.tyre.{name}": Sourced(value=value, uncertainty=0.0, origin=Origin.MEASURED)
        for name, value in values.items()
    }
    return MARIGOLD.with_values(told)


def test_no_pressure_outside_its_marked_limits_is_a_position():
    now = MARIGOLD.value("front.tyre.pressure")
    tight = with_pressures(pressure_low=now - 0.15 * BAR, pressure_high=now + 0.05 * BAR)
    space = space_of(tight, usual_settings())
    front = space.adjustables[0]
    assert [round(front.value_at(k) - now) for k in range(len(front.shifts))] == [-10000, 0]
    assert front.low_end == front.high_end == "marked limit"


def test_ranges_do_not_reach_over_marked_limits():
    now = MARIGOLD.value("front.tyre.pressure")
    tight = with_pressures(pressure_low=now, pressure_high=now + 0.2 * BAR)
    wide = Setting(name="p", fields=("front.tyre.pressure",), low=now - BAR, high=now + BAR, step=0.1 * BAR)
    (found,) = space_of(tight, [wide]).adjustables
    assert found.value_at(0) == pytest.approx(now)
    assert found.value_at(len(found.shifts) - 1) == pytest.approx(now + 0.2 * BAR)


@pytest.mark.parametrize("missing", ["pressure", "pressure_low", "pressure_high"])
def test_a_pressure_without_limits_is_not_moved_and_that_is_said(missing):
    space = space_of(MARIGOLD.with_values({f"front.tyre.{missing}": None}), usual_settings())
    assert [a.name for a in space.adjustables] == ["rear tyre pressure"]
    assert missing in space.not_moved[0].reason


def test_a_pressure_outside_its_limits_is_put_right_first():
    now = MARIGOLD.value("front.tyre.pressure")
    with pytest.raises(PressureOutsideLimitsError, match="outside its marked limits"):
        space_of(with_pressures(pressure_low=now + 0.1 * BAR), usual_settings())


def test_a_car_outside_its_range_is_refused_with_place_and_value():
    far = Setting(name="camber", fields=("front.camber",), low=-0.02, high=0.0, step=0.005, where="ranges.toml, line 3")
    with pytest.raises(SettingRangeError, match=r"-2\.2 deg") as caught:
        spaced(given=[far])
    assert caught.value.where == "ranges.toml, line 3"
    holes = Setting(name="bar", fields=("front.bar_arm",), values=(0.20, 0.22, 0.25), where="ranges.toml, line 9")
    with pytest.raises(SettingRangeError, match=r"0\.23 m"):
        spaced(given=[holes])


def test_draws_move_the_car_only_where_a_setting_moved():
    space = spaced()
    still = space.car_at(space.now, dict.fromkeys(space.draws, 1.0))
    assert numbers(still) == pytest.approx(numbers(MARIGOLD), rel=1e-12)
    k = [a.name for a in space.adjustables].index("front tyre pressure")
    moved = (*space.now[:k], space.now[k] + 3, *space.now[k + 1 :])
    usual, other = (space.car_at(moved, drawn) for drawn in ({}, {"pressure slope front": 1.0}))
    assert other.value("front.tyre.friction") > usual.value("front.tyre.friction")


def held(car, level, **settings_given):
    row = Setting(name="brake balance", fields=("brakes.front_share",), **settings_given)
    space = space_of(car, [row])
    found = bounds_of(lambda position: model_parameters(space.car_at(position)), space=space, level=level, surface=1.0)
    return space, {bound.name: bound for bound in found}


def test_no_brake_balance_that_locks_the_rear_first_is_allowed():
    space, bounds = held(MARIGOLD, "expert", low=0.68, high=0.82, step=0.01)
    bound = bounds["lock order of the brakes"].bound
    assert bound.holds(space.now)
    assert not bound.holds((space.now[0] - 1,))  # less to spare than the margin, and less than now
    assert all(bound.holds((k,)) for k in range(space.now[0], space.last[0] + 1))


def test_a_car_that_locks_its_rear_first_may_not_stay_as_it_is():
    share = Sourced(value=0.70, uncertainty=0.0, origin=Origin.MEASURED)
    space, bounds = held(MARIGOLD.with_values({"brakes.front_share": share}), "expert", low=0.68, high=0.82, step=0.01)
    bound = bounds["lock order of the brakes"]
    assert bound.least == 0.0
    assert not bound.bound.holds(space.now)
    assert bound.bound.holds(space.last)


FIRST_STOP = "lock order at the first stop"


def test_in_gear_with_cold_front_pads_the_rear_never_locks_first_where_a_setting_reaches_that():
    space, bounds = held(MARIGOLD, "expert", low=0.72, high=0.82, step=0.01)
    bound = bounds[FIRST_STOP]
    cold = MARIGOLD.value("front.brake.pad_friction_cold") / MARIGOLD.value("front.brake.pad_friction")
    assert bound.least == 0.0
    assert not bound.bound.holds(space.now)
    for k in range(space.last[0] + 1):
        p = model_parameters(space.car_at((k,)))
        colder = p.brake_front_share * cold / (p.brake_front_share * cold + 1.0 - p.brake_front_share)
        never = critical_with_engine(replace(p, brake_front_share=colder)) >= peak_deceleration(p)
        assert bound.bound.holds((k,)) is never


def test_where_no_setting_mends_the_first_stop_it_is_no_worse_than_now():
    space, bounds = held(MARIGOLD, "expert", low=0.70, high=0.78, step=0.01)
    bound = bounds[FIRST_STOP]
    assert bound.least == bound.at(space.now) < 0.0
    assert [bound.bound.holds((k,)) for k in range(space.last[0] + 1)] == [
        k >= space.now[0] for k in range(space.last[0] + 1)
    ]


def test_a_car_with_abs_is_not_moved_for_the_first_stop_but_never_made_worse():
    space, bounds = held(demo_car("boulder"), "expert", low=0.70, high=0.90, step=0.01)
    bound = bounds[FIRST_STOP]
    assert bound.least == bound.at(space.now) < 0.0
    assert not bound.bound.holds((space.now[0] - 1,))


def test_accepted_steps_never_add_up_below_where_the_car_began():
    """Every proposal becomes the car of the next question; the bounds of the first one still hold."""
    car = MARIGOLD
    _, first = held(car, "expert", low=0.70, high=0.80, step=0.0005)
    least = {name: bound.least for name, bound in first.items()}
    for _ in range(5):
        space, bounds = held(car, "expert", low=0.70, high=0.80, step=0.0005)
        position = next((k,) for k in range(space.last[0] + 1) if all(b.bound.holds((k,)) for b in bounds.values()))
        car = space.car_at(position)
        for name, bound in bounds.items():
            assert bound.at(position) >= least[name] - 1e-9


def test_with_much_to_spare_the_margin_stays():
    share = Sourced(value=0.80, uncertainty=0.0, origin=Origin.MEASURED)
    _, bounds = held(MARIGOLD.with_values({"brakes.front_share": share}), "expert", low=0.70, high=0.82, step=0.01)
    assert bounds["lock order of the brakes"].least == BRAKE_MARGIN


class MadeUp:
    """A search for one setting whose solves are made up: gains by position, and what a bound allows."""

    def __init__(self, *, gains, stopped=(), forbidden=()):
        self.gains, self.stopped, self.forbidden = gains, stopped, forbidden
        self.known = {}

    def is_allowed(self, at):
        return at not in self.forbidden

    def solved(self, positions):
        return [SimpleNamespace(stopped="gate-2" if at in self.stopped else "") for at in positions]

    def joint_kind(self, _before, _after):
        return "bar"

    def row(self, before, after, *, kind, name):
        gain, spread = (self.gains[after][k] - self.gains[before][k] for k in (0, 1))
        effect = Effect(course="all", linear=gain, gain=gain, common={"a": spread})
        return Row(option=Option(name=name, kind=kind), effects=(effect,))

    def told(self, peak):
        row = SimpleNamespace(setting=SimpleNamespace(kind="bar"), name="bar")
        space = SimpleNamespace(adjustables=(row, row), now=(0, 0))
        look = setting_search._Look(
            asked=SimpleNamespace(space=space), solves=self, search=self, held=(), start=(0, 0), peak=peak
        )
        return look._told()


SURE = {(0, 0): (0.0, 0.0), (1, 0): (0.10, 0.01), (0, 1): (0.05, 0.05), (1, 1): (0.15, 0.06)}


def test_a_move_that_cannot_be_told_is_taken_back_and_the_sure_one_stays():
    assert MadeUp(gains=SURE).told((1, 1)) == (1, 0)


def test_a_gain_under_a_hundredth_is_no_reason_to_move():
    small = {at: (0.08 * gain, 0.0) for at, (gain, _) in SURE.items()}
    assert MadeUp(gains=small).told((1, 1)) == (0, 0)


def test_moves_that_a_bound_ties_together_are_judged_together():
    tied = MadeUp(gains=SURE | {(1, 1): (0.02, 0.06)}, forbidden=[(1, 0), (0, 1)])
    assert tied.told((1, 1)) == (0, 0)
    assert MadeUp(gains=SURE | {(1, 1): (0.5, 0.06)}, forbidden=[(1, 0), (0, 1)]).told((1, 1)) == (1, 1)


def test_what_cannot_be_compared_is_not_told():
    assert MadeUp(gains=SURE, stopped=[(1, 0)]).told((1, 1)) == (0, 0)


def test_understeer_is_held_for_those_who_need_it():
    levels = {level: set(held(MARIGOLD, level, low=0.72, high=0.8, step=0.01)[1]) for level in ("novice", "expert")}
    assert levels["novice"] - levels["expert"] == {"understeer"}
