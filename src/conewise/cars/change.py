"""A change to a car: a direction in the space of its numbers, with uncertainty and, where known, a price."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Literal

from pydantic import Field

from conewise.cars.car import AXLES, DRIVES, Car, Differential, DifferentialKind, TransmissionKind, field
from conewise.cars.edit import told, with_numbers
from conewise.cars.estimate import front_share, total_mass
from conewise.cars.fields import quantity_of
from conewise.cars.plausible import value_in_words
from conewise.cars.pressure import USUAL_EFFECT, with_pressures
from conewise.cars.sections import tyre_values, wheel_values
from conewise.cars.toml_file import CarFieldError
from conewise.cars.typical import completed, numbers
from conewise.cars.tyre_size import tyre_size
from conewise.money import Money  # pydantic reads the annotation
from conewise.quantities import Origin, Sourced
from conewise.records import Record

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.cars.driver import Driver
    from conewise.cars.estimate import Values
    from conewise.cars.fields import QuantityField

KINDS = (
    "mass", "tyre", "wheel", "spring", "bar", "damper", "camber", "alignment", "power", "gearing", "differential",
    "brake", "ride-height", "air", "driver", "restraint", "safety", "other",
)  # fmt: skip
DRIVER_FIELDS = ("friction_share", "handwheel_rate", "pedal_time", "launch_share")
MAKES_ANOTHER_TYRE = ("size", "treadwear", "section_width", "aspect", "rim_diameter")  # of a tyre, for good
OTHER_TYRE = 0.06  # of the friction: makes of one size and one band of treadwear; common practice, no source
CODES = tuple(f"{axle}.{part}.size" for axle in AXLES for part in ("tyre", "wheel"))
_DIFFERENTIALS = tuple(f"{axle}.differential.kind" for axle in AXLES)
WORDS: dict[str, tuple[str, ...]] = {
    "transmission.kind": tuple(kind.value for kind in TransmissionKind),
    "drive": DRIVES,
    **dict.fromkeys(_DIFFERENTIALS, tuple(kind.value for kind in DifferentialKind)),
}  # fields that take one of a few words


class ImpossibleChangeError(CarFieldError):
    """A change that would leave a car which cannot exist."""

    code = "impossible-change"
    default_hint = "Make the change smaller, or correct the car."

    def __init__(self, change: str, name: str, value: float, facts: QuantityField, *, file: str) -> None:
        super().__init__(
            f"'{change}' would set {name} to {value_in_words(value, facts)}, which cannot be.",
            where=f"{file}, {change}, {name}",
        )


class NoSuchNumberError(CarFieldError):
    """A change adds to or scales a number that this car does not have."""

    code = "no-such-number"
    default_hint = "Use set instead of add or scale, or give the number in the car file."

    def __init__(self, change: str, name: str, car: str, *, file: str) -> None:
        super().__init__(f"'{change}' changes {name}, and {car} has no such number.", where=f"{file}, {change}, {name}")


class Edit(Record):
    """One edit of fields of the car file, or of the driver's; `value` is a quantity, a code, a word, true or false."""

    fields: tuple[str, ...]
    action: Literal["set", "add", "scale"]
    value: Sourced | bool | str


class MovedMass(Record):
    """Mass put into the car (negative: taken out) at a place."""

    mass: Sourced
    position: float | None = None  # behind the front axle over the wheelbase; None: at the centre of gravity [-]
    height: float | None = None  # above the road; None: at the centre of gravity [m]
    lateral: float | None = None  # left of the car's middle; None: in the middle [m]


class Change(Record):
    """A change that a person thinks about: a setting, or a part that can be bought."""

    name: str
    kind: str = "other"
    price: Money | None = None
    hours: float | None = Field(default=None, ge=0.0)
    note: str = ""
    edits: tuple[Edit, ...] = ()
    masses: tuple[MovedMass, ...] = ()
    driver_edits: tuple[Edit, ...] = ()
    cautions: tuple[str, ...] = ()  # of the part's maker or of who sells it
    place: str = ""  # where it sits: of two changes with one place only one can be made
    conflicts: tuple[str, ...] = ()  # names of changes that cannot be made as well
    needs: tuple[str, ...] = ()  # names of changes that must be made as well
    required: bool = False  # found missing at inspection: comes before everything else
    confirmed: bool = False  # a complete restraint system, allowed and fitted by a qualified person
    source: str = ""

    @property
    def uncertain(self) -> tuple[Sourced, ...]:
        """The amounts that have an uncertainty, in the order in which `changed_car` takes its draws."""
        amounts = [edit.value for edit in (*self.edits, *self.driver_edits) if isinstance(edit.value, Sourced)]
        tyre = [Sourced(value=1.0, uncertainty=OTHER_TYRE, origin=Origin.TYPICAL)] if self.other_tyres else []
        slope = Sourced(value=USUAL_EFFECT.slope, uncertainty=USUAL_EFFECT.slope_uncertainty, origin=Origin.TYPICAL)
        return (*amounts, *(moved.mass for moved in self.masses), *tyre, *([slope] if self.pressures else []))

    @property
    def pressures(self) -> tuple[str, ...]:
        """Axles whose tyre pressure it moves."""
        named = {name for edit in self.edits for name in edit.fields}
        return tuple(axle for axle in AXLES if f"{axle}.tyre.pressure" in named)

    @property
    def other_tyres(self) -> tuple[str, ...]:
        """Axles that get another tyre whose friction nobody told."""
        named = {name for edit in self.edits for name in edit.fields}
        return tuple(
            axle
            for axle in AXLES
            if named & {f"{axle}.tyre.{part}" for part in MAKES_ANOTHER_TYRE} and f"{axle}.tyre.friction" not in named
        )

    @property
    def set_fields(self) -> frozenset[str]:
        """Fields of the car that are set, whatever they were."""
        return frozenset(name for edit in self.edits if edit.action == "set" for name in edit.fields)

    @property
    def has_effect(self) -> bool:
        """Whether it changes anything that the model knows; a restraint system nothing before it is confirmed."""
        return bool(self.edits or self.masses or self.driver_edits) and not self.is_unconfirmed

    @property
    def is_unconfirmed(self) -> bool:
        """Whether it is a seat or harness of which nobody said that the complete system is allowed and fitted."""
        return self.kind == "restraint" and not self.confirmed

    def excludes(self, other: Change) -> bool:
        """Whether only one of the two can be made: one place, a conflict named, or one field set by both."""
        same_place = bool(self.place) and self.place == other.place
        named = other.name in self.conflicts or self.name in other.conflicts
        return same_place or named or bool(self.set_fields & other.set_fields)


def changed_car(car: Car, change: Change, *, draws: Sequence[float] = ()) -> Car:
    """The car after a change, with what hangs on it.

    Parameters
    ----------
    car : Car
        Completed with typical values.
    change : Change
    draws : sequence of float, default ()
        Standard normal numbers, one for each of `change.uncertain`; none stands for the change as it is stated.

    Returns
    -------
    Car
        The car as it was where a restraint system is not confirmed; what cannot be is said for it too.

    Raises
    ------
    ImpossibleChangeError
        If the change would make a number impossible, such as a mass below zero.
    NoSuchNumberError
        If it adds to or scales a number that the car does not have.
    """
    before, amounts = car, iter(_amounts(change, draws))
    for axle in change.other_tyres:
        car = _fresh(car, change, axle)
    for edit in change.edits:
        if isinstance(edit.value, Sourced):
            car = _numbers_edited(car, change, edit, next(amounts))
        else:
            car = _words_edited(car, change, edit)
    for _ in change.driver_edits:
        next(amounts)
    for moved in change.masses:
        car = _mass_moved(car, change, moved, next(amounts))
    if change.other_tyres and (factor := next(amounts)) != 1.0:
        names = [f"{axle}.tyre.friction" for axle in change.other_tyres]
        car = _checked(car, change, {name: car.value(name) * factor for name in names})
    car = _at_pressures(before, car, change, next(amounts)) if change.pressures else car
    return before if change.is_unconfirmed else car


def _at_pressures(before: Car, car: Car, change: Change, slope: float) -> Car:
    """The car with what its new pressures do to the tyres; nothing is known where it had no pressure before."""
    names = {axle: f"{axle}.tyre.pressure" for axle in change.pressures}
    old = {name: before.values[name] for name in names.values() if name in before.values}
    new = {axle: car.value(name) for axle, name in names.items() if name in old}
    effect = replace(USUAL_EFFECT, slope=slope)
    return with_pressures(car.with_values(dict(old)), new, dict.fromkeys(new, effect)) if new else car


def changed_driver(driver: Driver, change: Change, *, draws: Sequence[float] = ()) -> Driver:
    """The driver after a change; the same driver where it does nothing for one.

    Parameters
    ----------
    driver : Driver
    change : Change
    draws : sequence of float, default ()
        As for `changed_car`.

    Raises
    ------
    ImpossibleChangeError
        If the change would make a number impossible, such as a share of the friction above 1.
    """
    if not change.driver_edits or not change.has_effect:
        return driver
    n_before = sum(isinstance(edit.value, Sourced) for edit in change.edits)
    amounts = _amounts(change, draws)[n_before:]
    for edit, amount in zip(change.driver_edits, amounts, strict=False):  # masses come after them
        for name in edit.fields:
            old, facts = getattr(driver, name), quantity_of(type(driver), name)
            assert facts is not None
            value = {"set": amount, "add": old.value + amount, "scale": old.value * amount}[edit.action]
            if not facts.is_possible(value):
                raise ImpossibleChangeError(change.name, f"driver.{name}", value, facts, file=change.source)
            driver = driver.changed(**{name: Sourced(value=value, uncertainty=old.uncertainty, origin=old.origin)})
    return driver


def _amounts(change: Change, draws: Sequence[float]) -> list[float]:
    if not draws:
        return [amount.value for amount in change.uncertain]
    return [a.value + a.uncertainty * z for a, z in zip(change.uncertain, draws, strict=True)]


def _numbers_edited(car: Car, change: Change, edit: Edit, amount: float) -> Car:
    edits: dict[str, float] = {}
    for name in edit.fields:
        old = car.values.get(name)
        if edit.action == "set" and (old is not None or not name[-1].isdigit()):
            edits[name] = amount
        elif old is None:  # nor can a gear or a point of the curve be added
            raise NoSuchNumberError(change.name, name, car.name, file=change.source)
        else:
            edits[name] = old.value + amount if edit.action == "add" else old.value * amount
    return _checked(car, change, edits)


def _checked(car: Car, change: Change, edits: dict[str, float]) -> Car:
    for name, value in edits.items():
        if not field(name).is_possible(value):
            raise ImpossibleChangeError(change.name, name, value, field(name), file=change.source)
    absent = {name: told(car, name, value) for name, value in edits.items() if name not in car.values}
    return with_numbers(car.with_values(absent), edits)


def _words_edited(car: Car, change: Change, edit: Edit) -> Car:
    for name in edit.fields:
        if name in CODES:
            car = _code_set(car, name, str(edit.value), change)
        elif name in _DIFFERENTIALS:
            axle = name.split(".")[0]
            part = getattr(car, axle)
            kind_wanted = DifferentialKind(str(edit.value))
            is_limited = kind_wanted is DifferentialKind.LIMITED_SLIP
            other = (part.differential if is_limited else Differential()).changed(kind=kind_wanted)
            car = completed(car.changed(**{axle: part.changed(differential=other)}))
        elif name == "transmission.kind":
            kind = TransmissionKind(str(edit.value))
            car = completed(car.changed(transmission=car.transmission.changed(kind=kind)))
        elif name == "brakes.abs":
            car = car.changed(brakes=car.brakes.changed(abs=bool(edit.value)))
        else:
            car = completed(car.with_values({"transmission.front_share": None}).changed(drive=edit.value))
    return car


def _code_set(car: Car, name: str, code: str, change: Change) -> Car:
    part = name.removesuffix(".size")
    read: Any = tyre_values if part.endswith("tyre") else wheel_values
    values = read(code, where=f"{change.source}, {change.name}, {name}", origin=Origin.SPEC_SHEET)
    edits = {f"{part}.{key}": value.value for key, value in values.items()}
    if part.endswith("tyre") and "load_capacity" not in values:
        dropped = car.with_values({f"{part}.load_capacity": None})
        edits[f"{part}.load_capacity"] = numbers(with_numbers(completed(dropped), edits))[f"{part}.load_capacity"]
    changed = _checked(car, change, edits)
    if part.endswith("wheel"):
        return changed
    axle = getattr(changed, name.split(".", maxsplit=1)[0])
    tyre = axle.tyre.changed(speed_symbol=tyre_size(code).speed_symbol)
    return changed.changed(**{name.split(".", maxsplit=1)[0]: axle.changed(tyre=tyre)})


def _fresh(car: Car, change: Change, axle: str) -> Car:
    """The car with a tyre on an axle that is as old as nothing, before anything else is told of it."""
    part = getattr(car, axle)
    car = car.changed(**{axle: part.changed(tyre=part.tyre.changed(date_code=""))})
    return _checked(car, change, {f"{axle}.tyre.age": 0.0}) if part.tyre.age is not None else car


def _mass_moved(car: Car, change: Change, moved: MovedMass, amount: float) -> Car:
    """Centre of gravity and inertias with a mass put in at its place."""
    v = numbers(car)
    old, share, cg_height = total_mass(v), front_share(v), v["body.cg_height"]
    height, lateral = (cg_height if moved.height is None else moved.height), moved.lateral or 0.0
    behind = 1 - share if moved.position is None else moved.position
    new = v["mass.total"] + amount
    edits = {
        "mass.total": new,
        "mass.front_share": (v["mass.total"] * v["mass.front_share"] + amount * (1 - behind)) / new,
        "body.cg_height": cg_height + amount * (height - cg_height) / (old + amount),
    }
    if moved.position is not None or moved.lateral is not None:
        square = ((behind - (1 - share)) * v["body.wheelbase"]) ** 2 + lateral**2
        edits["body.yaw_inertia"] = v["body.yaw_inertia"] + _added_inertia(old, amount, square)
    if moved.height is not None or moved.lateral is not None:
        sprung = old - v["front.unsprung_mass"] - v["rear.unsprung_mass"]
        square = (height - _sprung_height(v)) ** 2 + lateral**2
        edits["body.roll_inertia"] = v["body.roll_inertia"] + _added_inertia(sprung, amount, square)
    return _checked(car, change, edits)


def _added_inertia(mass: float, added: float, square: float) -> float:
    """What a mass put in adds to the inertia about the common centre of gravity, its squared distance given. [kg m2]

    Parallel axes (Steiner's theorem) for both masses: m1 m2 / (m1 + m2) d2. The part's own inertia is left out.
    """
    return added * mass / (mass + added) * square


def _sprung_height(v: Values) -> float:
    """Height of the centre of gravity of what rolls; the wheels' is at their radius. [m]"""
    unsprung = {axle: v[f"{axle}.unsprung_mass"] for axle in AXLES}
    at_wheels = sum(mass * v[f"{axle}.tyre.rolling_radius"] for axle, mass in unsprung.items())
    return (total_mass(v) * v["body.cg_height"] - at_wheels) / (total_mass(v) - sum(unsprung.values()))
