"""Set-up history as a record: what is on the car at a time, and what a set-up is called."""

from datetime import datetime, timedelta

import pytest

from conewise.cars.change import Change, Edit, NoSuchNumberError
from conewise.cars.setup import Entry, SetupHistory, car_on
from conewise.quantities import Origin, Sourced
from tests.cars import demo_car

DAY = datetime(2026, 5, 2, 9, 0)  # noqa: DTZ001  # the clock where the car is


def entry(number, hours, field, value, *, action="set", undone=None):
    amount = Sourced(value=value, uncertainty=0.0, origin=Origin.MEASURED)
    change = Change(name=f"change {number}", edits=(Edit(fields=(field,), action=action, value=amount),))
    end = None if undone is None else DAY + timedelta(hours=undone)
    return Entry(number=number, at=DAY + timedelta(hours=hours), change=change, undone=end)


def history(*entries):
    return SetupHistory(base="car.toml", entries=entries)


def test_an_entry_holds_from_its_time_until_it_is_undone():
    past = history(entry(1, 0, "front.camber", -0.04, undone=3))
    labels = [past.label(DAY + timedelta(hours=h)) for h in (-0.1, 0, 2.9, 3)]
    assert labels == ["0", "1", "1", "0"]
    assert past.times() == (DAY, DAY + timedelta(hours=3))


def test_entries_are_laid_on_by_time_not_by_their_place_in_the_file():
    car = demo_car("marigold")
    past = history(entry(1, 2, "front.camber", -0.05), entry(2, 1, "front.camber", -0.04))
    assert [e.number for e in past.active(DAY + timedelta(hours=3))] == [2, 1]
    assert car_on(car, past, DAY + timedelta(hours=3)).value("front.camber") == -0.05
    assert car_on(car, past, DAY + timedelta(hours=1.5)).value("front.camber") == -0.04


def test_what_an_undone_entry_left_to_later_ones_is_worked_out_anew():
    car = demo_car("marigold")
    past = history(
        entry(1, 0, "front.bar_diameter", 0.027, undone=2),
        entry(2, 1, "front.bar_diameter", 0.001, action="add"),
    )
    thick, thin = (car_on(car, past, DAY + timedelta(hours=h)).value("front.bar_diameter") for h in (1.5, 2.5))
    assert thick == pytest.approx(0.028)
    assert thin == pytest.approx(car.value("front.bar_diameter") + 0.001)


def test_an_entry_that_cannot_be_is_named():
    past = history(entry(1, 0, "engine.peak_power", 1.1, action="scale"))
    with pytest.raises(NoSuchNumberError, match="change 1"):  # this car has a torque curve
        car_on(demo_car("marigold"), past, DAY)
