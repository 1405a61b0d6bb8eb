"""Room around a wheel: measured gaps less what the new wheel takes; what is not known is open."""

import pytest

from conewise.cars.fit_case import GAPS, FitState
from conewise.cars.fit_room import LEAST, present_items, room_items
from tests.cars import demo_car
from tests.fits import case, state_of


def test_the_wheel_that_is_on_still_fits():
    items = room_items(case(new_wheel=False, new_tyre=False))
    assert {item.code for item in items} == {"strut-gap", "fender-gap", "full-lock-gap", "full-bump-gap"}
    assert {item.state for item in items} == {FitState.FITS}


def test_nothing_measured_is_nothing_known():
    items = room_items(case("16x7 +40", "205/50R16 87V", car=demo_car("pepper")))
    assert {item.code for item in items} == {f"{name.replace('_', '-')}-gap" for name in GAPS}
    assert {item.state for item in items} == {FitState.OPEN}
    assert all(item.is_safety and item.needs for item in items)


def test_the_rear_axle_is_not_steered():
    assert "full-lock-gap" not in {item.code for item in room_items(case(axle="rear"))}


@pytest.mark.parametrize(
    ("offset", "strut", "fender"),
    # strut 24 mm and fender 22 mm are measured; the same wheel with another offset moves both by the difference
    [(28, "fits", "fits"), (58, "no", "fits"), (-2, "fits", "no"), (17, "fits", "open"), (42, "open", "fits")],
)
def test_an_offset_takes_from_one_side_what_it_gives_the_other(offset, strut, fender):
    items = room_items(case(f"15x8 {offset:+d}"))
    assert (state_of(items, "strut-gap"), state_of(items, "fender-gap")) == (strut, fender)


def test_a_taller_tyre_takes_room_at_bump_and_lock():
    items = room_items(case(new_wheel=False, tyre="205/60R15 91V"))  # 20.5 mm more radius, 20 and 16 mm measured
    assert state_of(items, "full-lock-gap") == "open"
    assert state_of(items, "full-bump-gap") == "open"


def test_a_smaller_wheel_set_in_the_same_place_takes_nothing():
    items = room_items(case(new_wheel=False, tyre="195/50R15 82V"))
    assert state_of(items, "full-lock-gap") == "fits"


@pytest.mark.parametrize("name", GAPS)
def test_a_gap_measured_with_the_new_wheel_on_decides(name):
    code = f"{name.replace('_', '-')}-gap"
    for gap, state in ((0.0, "no"), (LEAST[name] + 0.003, "fits")):
        assert state_of(room_items(case("15x9 -20", "245/40R15", gaps={name: gap})), code) == state


@pytest.mark.parametrize(("gap_mm", "state"), [(4.9, "no"), (5.0, "fits")])
def test_a_gap_that_was_tried_is_never_open(gap_mm, state):
    assert state_of(room_items(case(gaps={"strut": gap_mm / 1e3})), "strut-gap") == state


def test_a_smaller_tyre_further_out_may_pass_under_the_fender():
    # 23 mm out of 22 leave nothing sideways, but the tyre is 40 mm lower: only trying tells
    assert state_of(room_items(case("15x8 +5", "205/30R15")), "fender-gap") == "open"
    assert state_of(room_items(case("15x8 -5", "205/50R15")), "fender-gap") == "no"


def test_a_small_rim_over_a_large_caliper():
    # the caliper reaches 158 mm; a 12 in rim has at most 152.4 mm less its own thickness
    assert state_of(room_items(case("12x6 +28", "165/60R12")), "caliper-gap") == "no"
    assert state_of(room_items(case("15x8 +28")), "caliper-gap") == "open"


def test_the_same_wheel_needs_no_new_look_at_the_caliper():
    assert "caliper-gap" not in {item.code for item in room_items(case(new_wheel=False))}


def test_a_typical_present_wheel_is_said():
    items = present_items(case("16x7 +40", "205/50R16", car=demo_car("pepper")))
    assert [item.state for item in items] == [FitState.OPEN]
    assert "wheel width and wheel offset are typical values" in items[0].message
    assert present_items(case()) == []
