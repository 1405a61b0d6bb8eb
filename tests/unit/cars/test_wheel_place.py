"""Where wheels lie: shifts in closed form, and what they are sure to."""

import math

import pytest

from conewise.cars.tyre_size import tyre_size, wheel_size
from conewise.cars.wheel_place import guessed, present_place, shift, wheel_place
from tests.cars import demo_car

TYRE = tyre_size("225/45R17 91W")


def place(code, tyre=TYRE, **others):
    return wheel_place(wheel_size(code), tyre, **others)


@pytest.mark.parametrize(
    ("old", "new", "outer", "inner", "track"),
    [
        # "Wheel offset" calculator page, worked example: 7.5J ET38 to 8J ET25
        ("17x7.5 +38", "17x8 +25", 19.35, -6.65, 26.0),
        # outer dW/2 - dET, inner dW/2 + dET, track -2 dET: closed form
        ("17x7 +45", "17x8 +35", 22.70, 2.70, 20.0),
        ("17x8 +35", "17x7 +45", -22.70, -2.70, -20.0),
        ("17x8 +35", "17x8 +35", 0.0, 0.0, 0.0),
    ],
)
def test_shifts_of_the_rim(old, new, outer, inner, track):
    to = shift(place(old), place(new))
    assert [to.outer * 1e3, to.inner * 1e3, to.track * 1e3] == pytest.approx([outer, inner, track], abs=0.006)


def test_a_spacer_lowers_the_offset_by_its_thickness():
    # "a spacer of t mm lowers ET by t": calculator page on offset and fitment
    spaced, other = place("17x8 +35", spacer=0.010), place("17x8 +25")
    assert (spaced.outer_seat, spaced.inner_seat) == pytest.approx((other.outer_seat, other.inner_seat))
    assert shift(place("17x8 +35"), spaced).track == pytest.approx(0.020)


def test_a_wider_tyre_reaches_out_on_both_sides():
    to = shift(place("17x8 +35"), place("17x8 +35", tyre_size("245/45R17")))
    # section + 20 mm; measuring rims 7.5 and 8.0 in: 0.4 of half an inch less on the same rim
    assert to.tyre_outer * 1e3 == pytest.approx((20 - 5.08) / 2, abs=0.01)
    assert to.tyre_inner == pytest.approx(to.tyre_outer)
    assert to.outer == 0.0
    assert to.towards_fender == to.tyre_outer
    assert to.radial * 1e3 == pytest.approx(9.0)  # 20 mm of 45 %
    assert to.reach == pytest.approx(math.hypot(to.tyre_outer, to.radial))


def test_mirror_back_and_forth():
    old, new = place("17x7.5 +38"), place("17x9 +20", tyre_size("255/40R17"))
    there, back = shift(old, new), shift(new, old)
    for name in ("outer", "inner", "tyre_outer", "tyre_inner", "radial", "track"):
        assert getattr(there, name) == pytest.approx(-getattr(back, name))


def test_what_is_the_same_is_sure():
    old, new = place("17x8 +35"), place("17x8 +35", spacer=0.005)
    same = shift(old, new, is_other_wheel=False, is_other_tyre=False)
    assert (same.lateral_sd, same.radial_sd) == (0.0, 0.0)
    assert shift(old, new).lateral_sd > 0.002  # makes of one size differ: UN Regulation 30 allows 4 % of the section


def test_a_backspacing_is_less_sure_than_an_offset():
    assert place("17x8 bs 6 in").wheel_sd > 2 * place("17x8 +37").wheel_sd


def test_the_wheel_of_a_car_file():
    place_now = present_place(demo_car("marigold"), "front")
    assert str(place_now.wheel) == "15x8 +28"
    assert str(place_now.tyre) == "205/50R15 86V"
    assert place_now.spacer == 0.005
    assert guessed(demo_car("marigold"), "front") == ()


def test_what_nobody_gave_is_said():
    assert guessed(demo_car("pepper"), "front") == ("wheel width", "wheel offset")
    # typical offset to 7 mm, typical width to half an inch, half of it on each side
    assert present_place(demo_car("pepper"), "front").wheel_sd == pytest.approx(math.hypot(0.007, 0.00635))
