"""The mass budget: sums of masses and moments, item after item."""

import pytest

from conewise.cars.change import Change, ImpossibleChangeError, MovedMass
from conewise.cars.mass_budget import PASSENGER_LATERAL, mass_budget, mass_state, passenger
from conewise.quantities import Origin, Sourced
from tests.cars import demo_car


def item(name, kilograms, **place):
    mass = Sourced(value=kilograms, uncertainty=0.0, origin=Origin.MEASURED)
    return Change(name=name, masses=(MovedMass(mass=mass, **place),))


def test_rows_add_up_masses_and_moments():
    car = demo_car("marigold")
    start = mass_state(car)
    rows = mass_budget(
        car,
        [
            item("battery", -9.0, position=1.05, height=0.5),
            Change(name="no mass"),
            item("bar", 20.0, position=0.6, height=0.9, lateral=0.1),
        ],
    )
    assert [row.name for row in rows] == ["battery", "bar"]
    assert [row.mass for row in rows] == [-9.0, 20.0]
    last = rows[-1].after
    assert last.mass == pytest.approx(start.mass + 11.0, rel=1e-12)
    height = (start.mass * start.cg_height - 9.0 * 0.5 + 20.0 * 0.9) / last.mass
    assert last.cg_height == pytest.approx(height, rel=1e-12)
    front = (start.mass * start.front_share - 9.0 * (1 - 1.05) + 20.0 * (1 - 0.6)) / last.mass
    assert last.front_share == pytest.approx(front, rel=1e-12)
    assert last.lateral == pytest.approx(20.0 * 0.1 / last.mass, rel=1e-12)


def test_the_order_of_items_does_not_matter():
    car = demo_car("boulder")  # inertias given: an estimate moves with the mass
    items = [item("a", 15.0, position=0.1, height=0.8), item("b", -12.0, position=0.9, height=0.2)]
    one, other = mass_budget(car, items)[-1].after, mass_budget(car, items[::-1])[-1].after
    for name in one.__dataclass_fields__:
        assert getattr(one, name) == pytest.approx(getattr(other, name), rel=1e-9), name


def test_a_passenger_sits_on_the_other_side():
    car = demo_car("marigold")  # the driver on the left
    (row,) = mass_budget(car, [passenger(car, 75.0)])
    assert row.after.lateral == pytest.approx(-75.0 * PASSENGER_LATERAL / row.after.mass, rel=1e-12)
    assert row.after.cg_height == pytest.approx(mass_state(car).cg_height, rel=1e-12)


def test_more_than_is_there_cannot_be_taken_out():
    with pytest.raises(ImpossibleChangeError):
        mass_budget(demo_car("pepper"), [item("engine and all", -1000.0)])
