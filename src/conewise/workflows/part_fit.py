"""Do the wheels and tyres of a part fit? What does not fit, and what has to be looked at before they are bought."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.cars.car import AXLES
from conewise.cars.change import MAKES_ANOTHER_TYRE
from conewise.cars.date_code import date_code
from conewise.cars.fit_case import Candidate, FitCase, FitState
from conewise.cars.fit_hub import hub_items
from conewise.cars.fit_room import room_items
from conewise.cars.fit_tyre import tyre_items
from conewise.cars.wheel_place import present_place, shift
from conewise.findings import Finding

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from conewise.cars.car import Car
    from conewise.cars.change import Change
    from conewise.cars.fit_case import FitItem


def fit_findings(before: Car, after: Car, changes: Sequence[Change], *, day: dt.date) -> tuple[Finding, ...]:
    """What speaks against the wheels and tyres of a change, and what is not known about their fit.

    Parameters
    ----------
    before, after : Car
        Without and with the change.
    changes : sequence of Change
    day : datetime.date
        Day on which the age of a tyre counts.

    Returns
    -------
    tuple of Finding
        A stop for each item that does not fit; one warning that lists what is open. Empty where neither wheel nor tyre
        nor spacer is touched.
    """
    names = {name for change in changes for edit in change.edits for name in edit.fields}
    items = [item for axle in AXLES for item in _items((before, after), axle, names, day)]
    refused = [item.finding for item in items if item.state is FitState.NO]
    open_items = dict.fromkeys(item.code.replace("-", " ") for item in items if item.state is FitState.OPEN)
    if open_items:
        words = f"Not known whether it fits: {', '.join(open_items)}. `conewise fit` says what closes each of them."
        refused.append(Finding("warning", "fit-open", words, " + ".join(change.name for change in changes)))
    return tuple(refused)


def _items(cars: tuple[Car, Car], axle: str, names: set[str], day: dt.date) -> list[FitItem]:
    before, after = cars
    is_other_wheel = any(name.startswith(f"{axle}.wheel.") for name in names)
    is_other_tyre = any(f"{axle}.tyre.{part}" in names for part in MAKES_ANOTHER_TYRE)
    if not (is_other_wheel or is_other_tyre or f"{axle}.spacer" in names):
        return []
    places = present_place(before, axle), present_place(after, axle)
    made = getattr(before, axle).tyre.date_code
    case = FitCase(
        car=after,
        car_before=before,
        axle=axle,
        before=places[0],
        after=places[1],
        shift=shift(*places, is_other_wheel=is_other_wheel, is_other_tyre=is_other_tyre),
        candidate=Candidate(made=date_code(made) if made and not is_other_tyre else None),
        day=day,
        is_other_wheel=is_other_wheel,
        is_other_tyre=is_other_tyre,
    )
    return [*tyre_items(case), *hub_items(case), *room_items(case)]
