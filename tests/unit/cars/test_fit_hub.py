"""How a wheel is held: pattern, bore, seat, thread, load of the wheel."""

import pytest

from conewise.cars.fit_case import FitState
from conewise.cars.fit_hub import hub_items
from conewise.cars.wheel_mounting import Seat, bolt_pattern
from tests.cars import demo_car
from tests.fits import case, state_of


def test_nothing_told_is_nothing_known():
    items = hub_items(case("16x7 +40", car=demo_car("pepper")))
    assert {item.code for item in items} == {
        "bolt-pattern", "centre-bore", "fastener-seat", "thread-engagement", "wheel-load",
    }  # fmt: skip
    assert {item.state for item in items} == {FitState.OPEN}
    assert all(item.is_safety for item in items)


def test_the_wheel_that_is_on_raises_no_question():
    assert hub_items(case(new_wheel=False)) == []


@pytest.mark.parametrize(("pattern", "state"), [("4x100", "fits"), ("4x98", "no"), ("5x100", "no"), ("4x108", "no")])
def test_bolt_pattern(pattern, state):
    assert state_of(hub_items(case(bolt_pattern=bolt_pattern(pattern))), "bolt-pattern") == state


@pytest.mark.parametrize(
    ("bore_mm", "is_centred", "state"),
    [
        (54.1, False, "fits"),
        (54.2, False, "fits"),
        (53.0, False, "no"),
        (67.1, False, "open"),
        (67.1, True, "fits"),
        (53.0, True, "no"),
    ],
)
def test_centre_bore_over_a_spigot_of_54_1(bore_mm, is_centred, state):
    items = hub_items(case(bore=bore_mm / 1e3, is_centred=is_centred))
    assert state_of(items, "centre-bore") == state


@pytest.mark.parametrize(
    ("seat", "fastener", "state"),
    [(Seat.CONE, None, "fits"), (Seat.BALL, None, "no"), (Seat.BALL, Seat.BALL, "fits"), (Seat.CONE, Seat.FLAT, "no")],
)
def test_seats(seat, fastener, state):
    assert state_of(hub_items(case(seat=seat, fastener_seat=fastener)), "fastener-seat") == state


@pytest.mark.parametrize(("turns", "state"), [(8.0, "fits"), (7.9, "no"), (12.0, "fits"), (2.0, "no")])
def test_eight_turns_of_m12x1_5(turns, state):
    # worked example of a car owners' page: (12 x 1) / 1.5 = 8
    assert state_of(hub_items(case(turns=turns)), "thread-engagement") == state


@pytest.mark.parametrize(("spacer_mm", "state"), [(5.5, "fits"), (8.0, "open"), (15.0, "no"), (20.0, "no")])
def test_a_thicker_spacer_takes_thread(spacer_mm, state):
    # 15 mm are engaged with the 5 mm spacer that is on; 12 are wanted, all good to 1 mm
    items = hub_items(case(new_wheel=False, spacer=spacer_mm / 1e3))
    assert state_of(items, "thread-engagement") == state
    assert state_of(items, "spacer") == "open"


def test_another_wheel_may_be_thicker_at_the_bolts():
    assert state_of(hub_items(case("15x8 +20")), "thread-engagement") == "open"


@pytest.mark.parametrize(("rating", "state"), [(200.0, "no"), (560.0, "fits")])
def test_load_of_the_wheel(rating, state):
    # 559 of 1080 kg on the front wheels with the driver: 280 kg a wheel
    items = hub_items(case(load_rating=rating))
    assert state_of(items, "wheel-load") == state
    assert any("280 kg at rest" in item.message for item in items)
