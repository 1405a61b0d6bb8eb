"""Do these wheels and tyres fit? The whole answer of `conewise fit`."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from conewise.cars.car import AXLES
from conewise.cars.change import OTHER_TYRE, Change, Edit, changed_car
from conewise.cars.date_code import age, date_code
from conewise.cars.fit_case import Candidate, FitCase
from conewise.cars.fit_hub import hub_items
from conewise.cars.fit_room import present_items, room_items
from conewise.cars.fit_tyre import axle_load, tyre_items
from conewise.cars.plausible import check_car
from conewise.cars.typical import numbers
from conewise.cars.tyre_size import WheelCodeError, tyre_size, wheel_size
from conewise.cars.wheel_place import WheelPlace, present_place, shift, wheel_place
from conewise.errors import ByFace, InputError
from conewise.quantities import Origin, Sourced
from conewise.reports.fit_answer import AxleFit, Estimate, FitAnswer, GearSpeed
from conewise.vehicle.build import model_parameters, n_gears
from conewise.vehicle.derived import safety_findings, speed_at_limiter, static_loads
from conewise.vehicle.motion import tyres
from conewise.vehicle.tyre_force import cornering_stiffness, load_factor
from conewise.workflows.fit_options import told_in
from conewise.workflows.named import car_from

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping
    from pathlib import Path

    from conewise.cars.car import Car
    from conewise.cars.date_code import DateCode
    from conewise.cars.fit_case import FitItem
    from conewise.findings import Finding
    from conewise.quantities import System
    from conewise.vehicle.parameters import ModelParameters
    from conewise.workflows.named import Source

_MASS_SD = 0.12  # of a wheel's mass that follows from its size, of the mass; as in the estimates of a car
_MAKE_SD = OTHER_TYRE  # of friction, stiffness and rate: another make of the same size and grade


class NothingToFitError(InputError):
    """No wheel, tyre or spacer was named, so that nothing changes."""

    code = "nothing-to-try"
    default_hint = ByFace(
        "Fill in a wheel, a tyre or a spacer.",
        typed='Say at least one of --wheel "18x9.5 +38", --tyre 255/35R18 and --spacer "5 mm".',
    )

    def __init__(self) -> None:
        super().__init__("There is no wheel, tyre or spacer to try on the car.")


@dataclass(frozen=True, kw_only=True)
class FitQuestion:
    """What `fit` is asked. What is None stays as on the car."""

    car: Source
    wheel: str | None = None
    tyre: str | None = None
    spacer: float | None = None  # each side [m]
    axles: tuple[str, ...] = AXLES
    mass: float | None = None  # one wheel with its tyre [kg]
    treadwear: float | None = None  # grade of the tyre
    made: str | None = None  # date code of the tyre
    candidate: Candidate = field(default_factory=Candidate)
    gaps: Mapping[tuple[str, str], float] = field(default_factory=dict)  # with the new wheel on, by axle and name [m]
    loads: Mapping[str, float] = field(default_factory=dict)  # on the axles, with the driver, weighed [kg]
    system: System = "metric"


def answer_fit(question: FitQuestion, *, day: dt.date) -> FitAnswer:
    """Whether wheels and tyres fit a car, and what they change.

    Parameters
    ----------
    question : FitQuestion
    day : datetime.date
        Day on which the age of the tyres counts.

    Returns
    -------
    FitAnswer

    Raises
    ------
    NothingToFitError
        If nothing is named to try.
    TyreCodeError, WheelCodeError
        If a size cannot be used, or a wheel has no offset.
    DateCodeError
        If the date code cannot be, or lies after the day.
    InputError
        If the car file cannot be used.
    """
    if question.wheel is None and question.tyre is None and question.spacer is None:
        raise NothingToFitError
    car = car_from(question.car)
    places = {axle: _new_place(question, present_place(car, axle)) for axle in question.axles}
    changed = changed_car(car, _change(question))
    parameters = model_parameters(car), model_parameters(changed)
    return FitAnswer(
        car=car.name,
        wheel="" if question.wheel is None else str(places[question.axles[0]].wheel),
        tyre="" if question.tyre is None else str(places[question.axles[0]].tyre),
        spacer=question.spacer,
        axles=tuple(_axle_fit(question, (car, changed), (axle, place), day) for axle, place in places.items()),
        gears=_gears(car, parameters),
        speedometer=_speedometer(car, changed),
        findings=_new_findings(car, changed, question.system),
    )


def _new_place(question: FitQuestion, before: WheelPlace) -> WheelPlace:
    """Where the wheel asked about lies; what is not asked stays."""
    wheel, tyre = before.wheel, before.tyre
    wheel_sd: float | None = before.wheel_sd
    if question.wheel is not None:
        wheel, wheel_sd = wheel_size(question.wheel, where=told_in("wheel")), None
        if wheel.offset is None:
            hint = f'Write it behind the size, such as "{question.wheel} +35", or the backspacing: "bs 6.5 in".'
            raise WheelCodeError(question.wheel, "the offset is missing", where=told_in("wheel"), hint=hint)
    if question.tyre is not None:
        tyre = tyre_size(question.tyre, where=told_in("tyre"))
    spacer = before.spacer if question.spacer is None else question.spacer
    place = wheel_place(wheel, tyre, spacer=spacer, wheel_sd=wheel_sd)
    return place if question.tyre is not None else replace(place, tyre_sd=before.tyre_sd, radius_sd=before.radius_sd)


def _change(question: FitQuestion) -> Change:
    """The question as a change to the car."""
    edits: list[Edit] = []

    def setting(name: str, value: Sourced | str) -> None:
        edits.append(Edit(fields=tuple(f"{axle}.{name}" for axle in question.axles), action="set", value=value))

    if question.tyre is not None:
        setting("tyre.size", question.tyre)
    if question.wheel is not None:
        setting("wheel.size", question.wheel)
    numbers_told = (
        ("spacer", question.spacer),
        ("wheel.mass", question.mass),
        ("tyre.treadwear", question.treadwear if question.tyre is not None else None),
    )
    for name, value in numbers_told:
        if value is not None:
            setting(name, Sourced(value=value, uncertainty=0.0, origin=Origin.SPEC_SHEET))
    return Change(name="the wheels asked about", kind="wheel", edits=tuple(edits), source=str(question.car))


def _axle_fit(question: FitQuestion, cars: tuple[Car, Car], place: tuple[str, WheelPlace], day: dt.date) -> AxleFit:
    car, changed = cars
    axle, after = place
    before = present_place(car, axle)
    is_other_wheel, is_other_tyre = question.wheel is not None, question.tyre is not None
    case = FitCase(
        car=changed,
        car_before=car,
        axle=axle,
        before=before,
        after=after,
        shift=shift(before, after, is_other_wheel=is_other_wheel, is_other_tyre=is_other_tyre),
        candidate=_known(question, car, axle, day),
        day=day,
        load_told=question.loads.get(axle),
        is_other_wheel=is_other_wheel,
        is_other_tyre=is_other_tyre,
        system=question.system,
    )
    return AxleFit(
        axle=axle,
        before=before,
        after=after,
        shift=case.shift,
        clearance=case.part.clearance,
        hub=case.part.hub,
        items=tuple(_items(case)),
        load=axle_load(case),
        **_effects(question, cars, axle),
    )


def _items(case: FitCase) -> list[FitItem]:
    return [*present_items(case), *tyre_items(case), *hub_items(case), *room_items(case)]


def _known(question: FitQuestion, car: Car, axle: str, day: dt.date) -> Candidate:
    """What is known for an axle: its gaps, and the date code of the tyre, out of the car file where the tyre stays."""
    made: DateCode | None = None
    where: str
    if question.made is not None:
        made, where = date_code(question.made, where=told_in("date_code")), told_in("date_code")
    elif question.tyre is None and (told := getattr(car, axle).tyre.date_code):
        made, where = date_code(told), f"{car.source}, {axle}.tyre.date_code"
    if made is not None:
        age(made, day, where=where)  # refuses a tyre that is still to be made
    gaps = {name: gap for (where, name), gap in question.gaps.items() if where == axle}
    return replace(question.candidate, made=made, gaps=dict(question.candidate.gaps) | gaps)


def _effects(question: FitQuestion, cars: tuple[Car, Car], axle: str) -> dict[str, Estimate]:
    """What the wheels change beside their place; each an estimate."""
    old, new = (numbers(car) for car in cars)
    make = _MAKE_SD if question.tyre is not None else 0.0
    is_weighed = question.mass is not None or (question.tyre is None and question.wheel is None)
    mass_sd = 0.0 if is_weighed else _MASS_SD

    def of(name: str, share: float) -> Estimate:
        before, after = old[f"{axle}.{name}"], new[f"{axle}.{name}"]
        return Estimate(before=before, after=after, sd=share * after)

    return {
        "wheel_mass": of("wheel.mass", mass_sd),
        "wheel_inertia": of("wheel.inertia", mass_sd),
        "vertical_rate": of("tyre.spring_rate", make),
        **_grip((model_parameters(cars[0]), model_parameters(cars[1])), axle, make),
    }


def _grip(parameters: tuple[ModelParameters, ModelParameters], axle: str, make: float) -> dict[str, Estimate]:
    """Peak friction and cornering stiffness of a tyre under the load that it carries at rest."""
    k = AXLES.index(axle)
    pairs = [(tyres(p)[k], static_loads(p)[k]) for p in parameters]
    friction = [float(tyre.friction_lateral * load_factor(load, tyre)) for tyre, load in pairs]
    stiffness = [float(cornering_stiffness(load, tyre)) for tyre, load in pairs]
    return {
        name: Estimate(before=before, after=after, sd=float(np.hypot(make * after, 0.5 * (after - before))))
        for name, (before, after) in (("friction", friction), ("stiffness", stiffness))
    }


def _gears(car: Car, parameters: tuple[ModelParameters, ModelParameters]) -> tuple[GearSpeed, ...]:
    before, after = parameters
    return tuple(
        GearSpeed(gear=gear, before=speed_at_limiter(before, gear), after=speed_at_limiter(after, gear))
        for gear in range(1, n_gears(car) + 1)
    )


def _speedometer(car: Car, changed: Car) -> float:
    """Rolling radius of the driven axles after over before, less one."""
    driven = AXLES if car.drive == "all" else (car.drive,)
    names = [f"{axle}.tyre.rolling_radius" for axle in driven]
    old, new = numbers(car), numbers(changed)
    return sum(new[name] for name in names) / sum(old[name] for name in names) - 1.0


def _new_findings(car: Car, changed: Car, system: System) -> tuple[Finding, ...]:
    """What is found about the changed car and was not about the car; what the axles' own items say is left out."""
    said = {"rim-diameter", "rim-width", "tyre-overloaded"}
    known = {(f.code, f.where) for f in _findings(car, system)}
    return tuple(f for f in _findings(changed, system) if (f.code, f.where) not in known and f.code not in said)


def _findings(car: Car, system: System) -> list[Finding]:
    return [*check_car(car, system=system), *safety_findings(car)]


def write_picture(answer: FitAnswer, path: Path, *, system: System = "metric") -> None:
    """Write the drawing of old and new wheels as SVG.

    Raises
    ------
    FileEndingError
        If the name does not end in .svg.
    UnwritableFileError
        If the folder is missing or the system refuses.
    """
    from conewise.reports.files import refuse_unwritable, write_whole
    from conewise.reports.fit_picture import fit_svg

    refuse_unwritable(path, "A drawing", ".svg")
    write_whole(path, fit_svg(answer, system=system).encode())
