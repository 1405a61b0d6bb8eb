"""Tyre on wheel and car: rim, load, speed, age."""

import pytest

from conewise.cars.car import Car
from conewise.cars.date_code import date_code
from conewise.cars.fit_tyre import axle_load, tyre_items, usual_rims
from conewise.cars.typical import completed
from conewise.cars.tyre_size import tyre_size
from tests.cars import demo_car
from tests.fits import case, state_of

INCH = 0.0254


@pytest.mark.parametrize(
    ("code", "low", "high"),
    # approved rims of tyre data books, from memory; 245 mm on 8.0 to 9.5 in also on a page about wider tyres
    [
        ("215/45R17", 7.0, 8.0), ("225/45R17", 7.0, 8.5), ("245/40R18", 8.0, 9.5), ("255/35R18", 8.5, 10.0),
        ("265/35R18", 9.0, 10.5), ("245/40R17", 8.0, 9.5), ("255/40R17", 8.5, 10.0), ("225/45R15", 7.0, 8.5),
        ("205/50R15", 5.5, 7.5), ("195/50R15", 5.5, 7.0),
    ],
)  # fmt: skip
def test_usual_rims(code, low, high):
    found = [width / INCH for width in usual_rims(tyre_size(code))]
    assert found == pytest.approx([low, high], abs=0.51)  # half an inch: the rule of thumb against the list of a size


@pytest.mark.parametrize(
    ("wheel", "tyre", "state"), [("15x8 +28", "205/50R15 86V", "fits"), ("16x8 +28", "205/50R15 86V", "no")]
)
def test_rim_diameter(wheel, tyre, state):
    assert state_of(tyre_items(case(wheel, tyre)), "rim-diameter") == state


def test_what_is_typical_for_a_car_is_not_what_is_on_it():
    car = typical_car_completed()
    tyre_only = tyre_items(case(tyre="225/50R16 92V", car=car, new_wheel=False))
    wheel_only = tyre_items(case("17x7 +40", car=car, new_tyre=False))
    both = tyre_items(case("17x7 +40", "225/50R16 92V", car=car))
    for items in (tyre_only, wheel_only):
        assert state_of(items, "rim-diameter") == "open"
        assert state_of(items, "rim-width") == "open"
    assert state_of(both, "rim-diameter") == "no"


def typical_car_completed():
    return completed(Car(name="car", kind="electric", drive="rear"))


@pytest.mark.parametrize(
    ("wheel", "rims", "state"),
    [
        ("15x7 +28", None, "open"), ("15x8 +28", None, "open"), ("15x10 +28", None, "no"), ("15x4 +28", None, "no"),
        ("15x8 +28", (5.5, 7.5), "no"), ("15x7.5 +28", (5.5, 7.5), "fits"),
    ],
)  # fmt: skip
def test_rim_width_is_the_tyre_maker_s_word(wheel, rims, state):
    known = {} if rims is None else {"rims": (rims[0] * INCH, rims[1] * INCH)}
    assert state_of(tyre_items(case(wheel, **known)), "rim-width") == state


@pytest.mark.parametrize(("tyre", "state"), [("205/50R15 86V", "fits"), ("205/50R15", "open"), ("205/50R15 60V", "no")])
def test_load(tyre, state):
    # index 60 is 250 kg, and each front tyre carries 280 kg
    assert state_of(tyre_items(case(tyre=tyre)), "load-index") == state


def test_axle_load_is_what_the_scales_said():
    assert axle_load(case()) == pytest.approx(281 + 278, abs=0.5)
    assert axle_load(case(axle="rear")) == pytest.approx(262 + 259, abs=0.5)


def test_a_car_that_was_not_weighed_leaves_the_load_open():
    car = demo_car("pepper")
    from conewise.quantities import Origin, Sourced

    typical = Sourced(value=1095.0, uncertainty=60.0, origin=Origin.TYPICAL)
    items = tyre_items(case("16x6 +40", "195/50R16 84H", car=car.with_values({"mass.total": typical})))
    assert state_of(items, "load-index") == "open"


@pytest.mark.parametrize(
    ("tyre", "state"),
    [("205/50R15 86V", "fits"), ("205/50R15 86W", "fits"), ("205/50R15 86H", "open"), ("205/50R15", "open")],
)
def test_speed_symbol_against_the_one_that_is_on(tyre, state):
    items = tyre_items(case(tyre=tyre))
    assert state_of(items, "speed-symbol") == state
    assert not next(item for item in items if item.code == "speed-symbol").is_safety


@pytest.mark.parametrize(
    ("code", "state"), [(None, "open"), ("2326", "fits"), ("2319", "fits"), ("2315", "no"), ("239", "no")]
)
def test_age_on_26_november_2026(code, state):
    made = None if code is None else date_code(code)
    items = tyre_items(case(made=made))
    assert state_of(items, "tyre-age") == state
    if code == "2319":
        assert "looks at it every year" in next(item.message for item in items if item.code == "tyre-age")
