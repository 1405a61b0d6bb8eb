"""A fit to ask about: a demo car that is fully measured, with another wheel and tyre."""

import datetime as dt

from conewise.cars.fit_case import Candidate, FitCase
from conewise.cars.tyre_size import tyre_size, wheel_size
from conewise.cars.wheel_place import present_place, shift, wheel_place
from tests.cars import demo_car

DAY = dt.date(2026, 11, 26)


def case(
    wheel="15x8 +28",
    tyre="205/50R15 86V",
    *,
    axle="front",
    car=None,
    spacer=None,
    new_wheel=True,
    new_tyre=True,
    **known,
):
    """A case on one axle; `known` are fields of the candidate."""
    car = demo_car("marigold") if car is None else car
    before = present_place(car, axle)
    after = wheel_place(
        wheel_size(wheel) if new_wheel else before.wheel,
        tyre_size(tyre) if new_tyre else before.tyre,
        spacer=before.spacer if spacer is None else spacer,
    )
    return FitCase(
        car=car,
        car_before=car,
        axle=axle,
        before=before,
        after=after,
        shift=shift(before, after, is_other_wheel=new_wheel, is_other_tyre=new_tyre),
        candidate=Candidate(**known),
        day=DAY,
        is_other_wheel=new_wheel,
        is_other_tyre=new_tyre,
    )


def state_of(items, code):
    """State of the one item of that code."""
    found = [item for item in items if item.code == code]
    assert len(found) == 1, [item.code for item in items]
    return found[0].state.value
