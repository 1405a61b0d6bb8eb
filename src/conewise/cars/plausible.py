"""What looks odd in a car file: judgements with the file and the field. Common practice unless a source is named."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.cars.car import AXLES, Car, DifferentialKind, field
from conewise.cars.estimate import measuring_rim
from conewise.cars.typical import numbers
from conewise.findings import Finding
from conewise.quantities import Origin, in_unit, show

if TYPE_CHECKING:
    from conewise.cars.fields import QuantityField
    from conewise.quantities import System

_INCH = 0.0254
_RIM_BAND = (-1.25, 1.75)  # usual rims against the measuring rim [in]
_MOST_STAGGER = 0.04  # rolling radii of the axles of an all-wheel drive differ by less [-]
_SPRING_INDEX = (4, 12)  # coil over wire diameter; Shigley, Mechanical Engineering Design, ch. 10 (from memory)
_CURVE_GAP = 0.12  # the torque curve may end this share of the limiter short of it


def check_car(car: Car, *, system: System = "metric") -> list[Finding]:
    """Findings about a car as it is described.

    Parameters
    ----------
    car : Car
        Completed with typical values.
    system : str, default "metric"
        Units of the sentences.

    Returns
    -------
    list of Finding
    """
    return [*_ranges(car, system), *_springs(car), *_tyres(car), *_engine(car), *_drive(car)]


def value_in_words(value: float, facts: QuantityField, system: System = "metric") -> str:
    """A value of a field as people write it."""
    if not facts.unit or (system == "us" and facts.dimension != "time"):
        return show(value, facts.dimension, system)
    number = in_unit(value, facts.dimension, facts.unit)
    return f"{number:.4g} {facts.unit}"


def _place(car: Car, name: str) -> str:
    return f"{car.source}, {name}" if car.source else name


def _ranges(car: Car, system: System) -> list[Finding]:
    found: list[Finding] = []
    for name, value in car.values.items():
        facts = field(name)
        if value.origin in {Origin.TYPICAL, Origin.ESTIMATED} or facts.low <= value.value <= facts.high:
            continue
        low, high, here = (value_in_words(x, facts, system) for x in (facts.low, facts.high, value.value))
        sentence = f"{facts.meaning[0].upper()}{facts.meaning[1:]} is {here}; cars have {low} to {high}."
        found.append(Finding("warning", "implausible", sentence, _place(car, name)))
    return found


def _springs(car: Car) -> list[Finding]:
    """A bar whose bore leaves nothing of it, and a spring that nobody can wind."""
    found: list[Finding] = []
    for axle in AXLES:
        bore, diameter, wire, coil = (
            car.values[f"{axle}.{name}"].value if f"{axle}.{name}" in car.values else None
            for name in ("bar_bore", "bar_diameter", "spring_wire_diameter", "spring_coil_diameter")
        )
        if bore and diameter and bore >= diameter:
            words = (
                f"The bar's bore, {show(bore, 'length')}, leaves nothing of its diameter, {show(diameter, 'length')}."
            )
            found.append(Finding("stop", "bar-bore", words, _place(car, f"{axle}.bar_bore")))
        if wire and coil and not _SPRING_INDEX[0] <= coil / wire <= _SPRING_INDEX[1]:
            words = (
                f"The coil is {coil / wire:.1f} wires across; springs have 4 to 12. "
                "It is measured from the middle of the wire to the middle of the wire."
            )
            found.append(Finding("warning", "spring-index", words, _place(car, f"{axle}.spring_coil_diameter")))
    return found


def _tyres(car: Car) -> list[Finding]:
    v = numbers(car)
    found: list[Finding] = []
    for axle in AXLES:
        tyre, wheel = f"{axle}.tyre", f"{axle}.wheel"
        rim, diameter = v[f"{tyre}.rim_diameter"] / _INCH, v.get(f"{wheel}.diameter", v[f"{tyre}.rim_diameter"]) / _INCH
        if abs(rim - diameter) > 0.4:
            words = (
                f"The tyre is for a {rim:g} in rim and the wheel has {diameter:g} in. They cannot be fitted together."
            )
            found.append(Finding("stop", "rim-diameter", words, _place(car, f"{wheel}.size")))
        usual = measuring_rim(v[f"{tyre}.section_width"], v[f"{tyre}.aspect"]) / _INCH
        wider = v[f"{wheel}.width"] / _INCH - usual
        if not _RIM_BAND[0] <= wider <= _RIM_BAND[1]:
            words = (
                f"The rim is {v[f'{wheel}.width'] / _INCH:.1f} in wide; this tyre is measured on about {usual:.1f} in. "
                "The tyre maker's list of rims decides."
            )
            found.append(Finding("warning", "rim-width", words, _place(car, f"{wheel}.size")))
        found += _pressure(car, tyre)
    return found


def _pressure(car: Car, tyre: str) -> list[Finding]:
    values = car.values
    pressure = values.get(f"{tyre}.pressure")
    found: list[Finding] = []
    for limit, sign in (("pressure_low", 1), ("pressure_high", -1)):
        bound = values.get(f"{tyre}.{limit}")
        if pressure and bound and sign * (pressure.value - bound.value) < 0:
            words = (
                f"The pressure is {show(pressure.value, 'pressure')}, outside the limit of "
                f"{show(bound.value, 'pressure')}. The limits marked on the tyre and in the maker's manual decide."
            )
            found.append(Finding("stop", "pressure-limit", words, _place(car, f"{tyre}.pressure")))
    return found


def _engine(car: Car) -> list[Finding]:
    v = numbers(car)
    limit, curve = v["engine.limit"], car.engine.torque_curve
    place = _place(car, "engine")
    found: list[Finding] = []
    if curve and abs(curve[-1].speed - limit) > _CURVE_GAP * limit:
        words = (
            f"The torque curve ends at {show(curve[-1].speed, 'angular-rate')} and the limiter is at "
            f"{show(limit, 'angular-rate')}; between them the curve is continued straight, or cut."
        )
        found.append(Finding("note", "torque-curve-end", words, place))
    if v["engine.low_speed"] > 0.6 * limit:
        words = "The lowest speed of the torque curve is more than 60 % of the limiter: little of the curve is used."
        found.append(Finding("warning", "torque-curve-start", words, place))
    if "engine.peak_power_speed" in v and not curve:
        least = v["engine.peak_power"] / v["engine.peak_power_speed"]
        if v["engine.peak_torque"] < 0.999 * least:
            words = (
                f"The greatest torque is {show(v['engine.peak_torque'], 'torque')}, and the greatest power already "
                f"needs {show(least, 'torque')} at its engine speed."
            )
            found.append(Finding("warning", "torque-below-power", words, place))
        if v["engine.peak_torque_speed"] >= v["engine.peak_power_speed"]:
            words = "The greatest torque comes at a higher engine speed than the greatest power; that cannot be."
            found.append(Finding("warning", "torque-above-power", words, place))
    return found


def _drive(car: Car) -> list[Finding]:
    v = numbers(car)
    found: list[Finding] = []
    radii = [v[f"{axle}.tyre.rolling_radius"] for axle in AXLES]
    if car.drive == "all" and abs(radii[0] / radii[1] - 1) > _MOST_STAGGER:
        words = (
            f"The rolling radii differ by {abs(radii[0] / radii[1] - 1):.1%} between the axles; "
            "an all-wheel drive may not bear that: see the maker's manual."
        )
        found.append(Finding("warning", "unequal-radii", words, _place(car, "front.tyre.size")))
    for axle in AXLES:
        kind = getattr(car, axle).differential.kind
        if car.drive not in {axle, "all"} and kind not in {None, DifferentialKind.OPEN}:
            words = f"The {axle} axle is not driven, and has a {kind.value} differential."
            found.append(Finding("note", "idle-differential", words, _place(car, f"{axle}.differential")))
    for axle in locked_axles(car):
        words = (
            f"The {axle} axle is locked. The model holds its tyres to what they grip, as if they could not slide along "
            "their plane: turns tighter than about 15 m are told too slow, those below 8 m far too slow."
        )
        found.append(Finding("warning", "locked-axle", words, _place(car, f"{axle}.differential.kind")))
    return found


def locked_axles(car: Car) -> tuple[str, ...]:
    """Driven axles whose two wheels always turn alike."""
    driven = (axle for axle in AXLES if car.drive in {axle, "all"})
    return tuple(axle for axle in driven if getattr(car, axle).differential.kind is DifferentialKind.LOCKED)
