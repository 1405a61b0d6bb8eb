"""What `advise` compares: every change, the seat time and every package as a direction in the model's numbers."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from statistics import NormalDist
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from conewise.advisor.rows import ClassEffect, Handling, Option
from conewise.cars.change import ImpossibleChangeError, changed_car, changed_driver
from conewise.cars.classes import Classed, class_of
from conewise.cars.driver import typical_driver
from conewise.cars.plausible import check_car, locked_axles
from conewise.findings import has_stop
from conewise.money import Money
from conewise.quantities import HALF_90
from conewise.vehicle import build
from conewise.vehicle.derived import derived_values, safety_findings
from conewise.workflows.part_fit import fit_findings

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Mapping, Sequence

    from conewise.cars.car import Car
    from conewise.cars.change import Change
    from conewise.cars.classes import CarClass
    from conewise.cars.driver import Driver
    from conewise.course.layout import Course
    from conewise.findings import Finding
    from conewise.vehicle.parameters import ModelParameters

Array = NDArray[np.float64]

N_DRAWS = 64
SEED = 20
LOCKED_NOTE = "A locked axle scrubs in tight turns, which this model tells several times too large."
_NEXT_LEVEL = {"novice": "regular", "regular": "expert"}


@dataclass(frozen=True, kw_only=True)
class Direction:
    """One option as the model sees it."""

    option: Option
    p: ModelParameters
    shift_time: float
    car: Car
    draw: Callable[[], Array]  # deviations of the model's numbers from `p` for draws of the uncertain amounts
    replaced: frozenset[str] = frozenset()  # fields whose old uncertainty no longer counts

    @cached_property
    def draws(self) -> Array:
        """Deviations of the model's numbers from `p`, shape (n_draws, n_parameters); drawn when first asked for."""
        return self.draw()


@dataclass(frozen=True, kw_only=True)
class Work:
    """Everything that `advise` was given, read."""

    courses: tuple[Course, ...]
    car: Car
    changes: tuple[Change, ...]
    driver: Driver
    pace: float
    surface: float
    workers: int
    day: dt.date  # on which the age of tyres counts
    weights: Mapping[str, float] = field(default_factory=dict)  # of each course, by name
    classes: tuple[CarClass, ...] = ()

    def parameters(self, car: Car, **others: Any) -> ModelParameters:
        """The model's numbers of a car; staging is left to the course."""
        told: dict[str, Any] = {"driver": self.driver, "pace": self.pace, "surface": self.surface} | others
        return build.model_parameters(car, **told)

    def directions(self) -> list[Direction]:
        """Every change and the seat time as the model sees them."""
        return [*(self.direction((change,)) for change in self.changes), *self._seat_time()]

    def direction(self, changes: Sequence[Change]) -> Direction:
        """One change, or several made together, as the model sees them."""
        car = self.changed(changes)
        p = self._changed_parameters(car, changes)
        kinds = [change.kind for change in changes]
        is_locked = locked_axles(car) != locked_axles(self.car)
        notes = [change.note for change in changes if change.note] + ([LOCKED_NOTE] if is_locked else [])
        option = Option(
            name=" + ".join(change.name for change in changes),
            kind=kinds[0] if len(set(kinds)) == 1 else "other",
            price=total_price(changes),
            hours=total_hours(changes),
            note=" ".join(notes),
            findings=(*_findings_of(self.car, car), *fit_findings(self.car, car, changes, day=self.day)),
            cautions=tuple(dict.fromkeys(caution for change in changes for caution in change.cautions)),
            is_required=all(change.required for change in changes),
            has_effect=any(change.has_effect for change in changes) and not is_locked,
            car_class=self.class_effect(car, kinds),
            handling=(self._handling, handling(car)),
        )
        return Direction(
            option=option,
            p=p,
            shift_time=build.gearbox(car).shift_time,
            car=car,
            draw=lambda: self._draws(changes, p),
            replaced=frozenset(name for change in changes for name in change.set_fields),
        )

    def direction_numbers(self, changes: Sequence[Change]) -> ModelParameters:
        """The model's numbers of the car with several changes; ImpossibleChangeError where no such car can be."""
        return self._changed_parameters(self.changed(changes), changes)

    def changed(self, changes: Sequence[Change], draws: Sequence[Sequence[float]] = ()) -> Car:
        """The car after several changes, in their order."""
        car = self.car
        for k, change in enumerate(changes):
            car = changed_car(car, change, draws=draws[k] if draws else ())
        return car

    def class_effect(self, car: Car, kinds: Sequence[str]) -> ClassEffect | None:
        """The class of a changed car; None without rules."""
        if not self.classes:
            return None
        before, after = self.own_class, class_of(car, {*(self.car.modified or ()), *kinds}, self.classes)
        return ClassEffect(
            code=after.code,
            before=before.code,
            reason=after.reason,
            index=after.index,
            index_before=before.index,
        )

    @cached_property
    def is_stopped(self) -> bool:
        """Whether the car should not run as it is."""
        return has_stop(_safety_of(self.car))

    @cached_property
    def own_class(self) -> Classed:
        """The class of the car without a change."""
        return class_of(self.car, self.car.modified or (), self.classes)

    @cached_property
    def _handling(self) -> Handling:
        return handling(self.car)

    def _changed_parameters(
        self, car: Car, changes: Sequence[Change], draws: Sequence[Sequence[float]] = ()
    ) -> ModelParameters:
        """The model's numbers with what the changes do for the driver; a pace that was told stays."""
        driver = self.driver
        for k, change in enumerate(changes):
            driver = changed_driver(driver, change, draws=draws[k] if draws else ())
        if driver is self.driver:
            return self.parameters(car)
        assert driver.friction_share is not None
        assert self.driver.friction_share is not None
        gained = driver.friction_share.value - self.driver.friction_share.value
        return self.parameters(car, driver=driver, pace=min(self.pace + gained, 1.0))

    def _draws(self, changes: Sequence[Change], p: ModelParameters) -> Array:
        spreads = [np.array([amount.uncertainty for amount in change.uncertain]) for change in changes]
        if not any(spread.any() for spread in spreads):
            return np.zeros((0, len(p.vector())))
        ends = np.cumsum([len(spread) for spread in spreads])
        random = np.random.default_rng(SEED)
        found, at = [], p.vector()
        for drawn in random.standard_normal((N_DRAWS, int(ends[-1]))):
            draw = [part.tolist() for part in np.split(drawn, ends[:-1])]
            try:
                car = self.changed(changes, draw)
                found.append(self._changed_parameters(car, changes, draw).vector() - at)
            except ImpossibleChangeError:  # a draw that no car could have says nothing
                continue
        return np.array(found).reshape(len(found), len(at))

    def _seat_time(self) -> list[Direction]:
        """What a driver of the next level would gain in this car; typical values."""
        own, level = self.parameters(self.car), _NEXT_LEVEL.get(self.driver.level)
        if level is None:
            name, wanted = "seat time: all of the friction, which nobody holds", replace(own, friction_share=1.0)
            note = self._all_of_it(own.friction_share)
        else:
            note = "Typical values."
            name = f"seat time: as quick as a typical {level} driver"
            typical = self.parameters(self.car, driver=typical_driver(level), pace=None)
            names = ("friction_share", "road_wheel_rate", "pedal_rate", "launch_share")
            wanted = replace(own, **{n: max(getattr(own, n), getattr(typical, n)) for n in names})
        if np.array_equal(wanted.vector(), own.vector()):
            return []
        option = Option(
            name=name,
            kind="driver",
            note=note,
            only_gains=True,
            car_class=self.class_effect(self.car, ()),
            handling=(self._handling, self._handling),
        )
        shift_time = build.gearbox(self.car).shift_time
        drawn = partial(self._seat_draws, own, wanted)
        return [Direction(option=option, p=wanted, shift_time=shift_time, car=self.car, draw=drawn)]

    def _all_of_it(self, used: float) -> str:
        """What all of the friction is a bound on, and what the seconds hang on."""
        assert self.driver.friction_share is not None
        half = HALF_90 * self.driver.friction_share.uncertainty
        least, most = used - half, min(used + half, 1.0)
        return (
            "All of the friction is the most that any driver can use, so nobody gains all of this: it is the distance"
            f" to that bound. How far away it is hangs on how much is used now: {used:.0%} is taken, and the interval"
            f" reaches from {least:.0%} to {most:.0%}."
        )

    def _seat_draws(self, own: ModelParameters, wanted: ModelParameters) -> Array:
        """How much of the friction there is to gain, at even steps of chance: none for who uses as much, or more."""
        spread = self.driver.friction_share
        assert spread is not None
        draws = np.zeros((N_DRAWS, len(own.vector())))
        normal = NormalDist(own.friction_share, max(spread.uncertainty, np.finfo(float).tiny))
        used = np.array([normal.inv_cdf((k + 0.5) / N_DRAWS) for k in range(N_DRAWS)])
        gap = np.maximum(wanted.friction_share - used, 0.0)
        draws[:, own.names().index("friction_share")] = gap - (wanted.friction_share - own.friction_share)
        return draws


def handling(car: Car) -> Handling:
    """What the numbers of a car say about its handling."""
    by_name = {derived.name: derived.value for derived in derived_values(car)}
    return Handling(
        understeer_gradient=by_name["understeer_gradient"],
        brake_front_share=by_name["brake_front_share"],
        critical_deceleration=by_name["critical_deceleration"],
        ride_frequency_front=by_name["front.ride_frequency"],
        ride_frequency_rear=by_name["rear.ride_frequency"],
        load_transfer_distribution=by_name["load_transfer_distribution"],
    )


def total_price(changes: Sequence[Change]) -> Money | None:
    """Price of several changes; None where one has none, or where they are in several currencies."""
    prices = [change.price for change in changes]
    known = [price for price in prices if price is not None]
    currencies = {price.currency for price in known}
    if len(known) < len(prices) or len(currencies) != 1:
        return None
    return Money(sum((price.amount for price in known), start=0 * known[0].amount), currencies.pop())


def total_hours(changes: Sequence[Change]) -> float | None:
    """Hours of several changes; None where those of one are not known."""
    hours = [change.hours for change in changes]
    return None if any(one is None for one in hours) else sum(one for one in hours if one is not None)


def _safety_of(car: Car) -> list[Finding]:
    """What speaks against driving a car: safety findings, and pressures outside the marked limits."""
    return [*safety_findings(car), *(found for found in check_car(car) if found.code == "pressure-limit")]


def _findings_of(before: Car, after: Car) -> tuple[Finding, ...]:
    """Every stop that a changed car has, whether or not the car had it before; a warning only where it is not the same.

    No change excuses a stop that it leaves as it was: a car that should not run is not proposed.
    """
    known = _safety_of(before)
    return tuple(found for found in _safety_of(after) if found.severity == "stop" or found not in known)
