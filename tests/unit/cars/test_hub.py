"""Hub and gaps: optional, never filled with typical values, never part of the time model."""

from conewise.cars.car import field, field_names
from conewise.cars.hub import Clearance, Hub
from tests.cars import demo_car


def test_nothing_is_assumed_about_a_hub():
    pepper = demo_car("pepper")
    for axle in (pepper.front, pepper.rear):
        assert axle.hub == Hub()
        assert axle.clearance == Clearance()


def test_all_of_it_is_outside_the_time_model():
    names = [name for name in field_names() if ".hub." in name or ".clearance." in name]
    assert len(names) == 2 * 7
    assert all("fits" in field(name).outside for name in names)
