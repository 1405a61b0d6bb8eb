"""What `advise` compares: every change and the seat time as a direction in the model's numbers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from conewise.advisor import Option
from conewise.cars.change import ImpossibleChangeError, changed_car
from conewise.cars.driver import typical_driver
from conewise.vehicle import build
from conewise.vehicle.derived import brake_balance, safety_findings

if TYPE_CHECKING:
    from conewise.cars.car import Car
    from conewise.cars.change import Change
    from conewise.cars.driver import Driver
    from conewise.course.layout import Course
    from conewise.findings import Finding
    from conewise.vehicle.parameters import ModelParameters

Array = NDArray[np.float64]

N_DRAWS = 64
SEED = 20
_NEXT_LEVEL = {"novice": "regular", "regular": "expert"}
_WORSE_BALANCE = 0.99  # a critical deceleration below this share of the car's own is a worse brake balance


@dataclass(frozen=True, kw_only=True)
class Direction:
    """One option as the model sees it; `draws` are model numbers for draws of its uncertain amounts."""

    option: Option
    p: ModelParameters
    shift_time: float
    draws: Array  # deviations of the model's numbers from `p`, shape (n_draws, n_parameters)
    car: Car
    replaced: frozenset[str] = frozenset()  # fields whose old uncertainty no longer counts


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

    def parameters(self, car: Car, **others: Any) -> ModelParameters:
        """The model's numbers of a car; staging is left to the course."""
        told: dict[str, Any] = {"driver": self.driver, "pace": self.pace, "surface": self.surface} | others
        return build.model_parameters(car, **told)

    def directions(self) -> list[Direction]:
        """Every change and the seat time as the model sees them."""
        return [*map(self._direction, self.changes), *self._seat_time()]

    def _direction(self, change: Change) -> Direction:
        car = changed_car(self.car, change)
        p = self.parameters(car)
        option = Option(
            name=change.name,
            kind=change.kind,
            price=change.price,
            hours=change.hours,
            note=change.note,
            findings=_new_findings(self.car, car),
        )
        set_fields = {name for edit in change.edits if edit.action == "set" for name in edit.fields}
        return Direction(
            option=option,
            p=p,
            shift_time=build.gearbox(car).shift_time,
            draws=self._draws(change, p),
            car=car,
            replaced=frozenset(set_fields),
        )

    def _draws(self, change: Change, p: ModelParameters) -> Array:
        spread = [amount.uncertainty for amount in change.uncertain]
        if not any(spread):
            return np.zeros((0, len(p.vector())))
        random = np.random.default_rng(SEED)
        found, at = [], p.vector()
        for draw in random.standard_normal((N_DRAWS, len(spread))):
            try:
                found.append(self.parameters(changed_car(self.car, change, draws=draw.tolist())).vector() - at)
            except ImpossibleChangeError:  # a draw that no car could have says nothing
                continue
        return np.array(found).reshape(len(found), len(at))

    def _seat_time(self) -> list[Direction]:
        """What a driver of the next level would gain in this car; typical values."""
        own, level = self.parameters(self.car), _NEXT_LEVEL.get(self.driver.level)
        if level is None:
            name, wanted = "seat time: all of the friction, an upper bound", replace(own, friction_share=1.0)
        else:
            name = f"seat time: as quick as a typical {level} driver"
            typical = self.parameters(self.car, driver=typical_driver(level), pace=None)
            names = ("friction_share", "road_wheel_rate", "pedal_rate", "launch_share")
            wanted = replace(own, **{n: max(getattr(own, n), getattr(typical, n)) for n in names})
        spread = self.driver.friction_share
        assert spread is not None
        if np.array_equal(wanted.vector(), own.vector()):
            return []
        draws = np.zeros((N_DRAWS, len(own.vector())))
        draws[:, own.names().index("friction_share")] = spread.uncertainty * np.random.default_rng(
            SEED
        ).standard_normal(N_DRAWS)
        option = Option(name=name, kind="driver", note="Typical values.")
        shift_time = build.gearbox(self.car).shift_time
        return [Direction(option=option, p=wanted, shift_time=shift_time, draws=draws, car=self.car)]


def _new_findings(before: Car, after: Car) -> tuple[Finding, ...]:
    """What the changed car is found unsafe for and the car was not, or was less."""
    known = {finding.code for finding in safety_findings(before)}
    old, new = (brake_balance(build.model_parameters(car)).critical for car in (before, after))
    if new < _WORSE_BALANCE * old:
        known.discard("rear-locks-first")
    return tuple(finding for finding in safety_findings(after) if finding.code not in known)
