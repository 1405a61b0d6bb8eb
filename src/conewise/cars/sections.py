"""The sections of a car file, each read into its record with units, uncertainty and origin."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from conewise.cars.car import (
    AXLES,
    Axle,
    Body,
    BrakeParts,
    Brakes,
    Differential,
    DifferentialKind,
    Engine,
    Mass,
    Steering,
    TorquePoint,
    Transmission,
    TransmissionKind,
    Tyre,
    Wheel,
    field,
)
from conewise.cars.damper import damper_values
from conewise.cars.date_code import date_code
from conewise.cars.fields import QuantityField, quantity_of
from conewise.cars.hub import Clearance, Hub
from conewise.cars.toe import toe_of_distance
from conewise.cars.toml_file import Table, usual_uncertainty
from conewise.cars.tyre_size import tyre_size, wheel_size
from conewise.cars.wheel_mounting import bolt_pattern, bolt_thread, seat_of
from conewise.quantities import Origin, Sourced

if TYPE_CHECKING:
    from collections.abc import Callable

    from conewise.records import Record

N_GEARS_MOST = 8


def sections(table: Table, *, origin: Origin) -> dict[str, Record]:
    """The parts of a car that a table gives."""
    return {
        "mass": _mass(table.table("mass"), origin),
        "body": _plain(Body, table.table("body"), origin),
        **{axle: _axle(table.table(axle), origin) for axle in AXLES},
        "engine": _engine(table.table("engine"), origin),
        "transmission": _transmission(table.table("transmission"), origin),
        "brakes": _plain(Brakes, table.table("brakes"), origin),
        "steering": _plain(Steering, table.table("steering"), origin),
    }


def _quantities(record: type[Record], table: Table, origin: Origin) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key in record.model_fields:
        facts = quantity_of(record, key)
        if facts is not None and not facts.from_code:
            found[key] = table.sourced(key, facts, origin=origin)
    return found


def _plain(record: type[Record], table: Table, origin: Origin, **more: Any) -> Any:
    values = _quantities(record, table, origin) | more
    if record is Brakes:
        values["abs"] = table.flag("abs")
    table.finish()
    return record(**values)


def _mass(table: Table, origin: Origin) -> Mass:
    """Masses; scales may have stood under the axles or the wheels, with the driver in the car or not."""
    seat = table.choice("driver_seat", ("left", "right", "centre")) or "left"
    with_driver = table.flag("with_driver") or False
    scales = _scales(table)
    values = _quantities(Mass, table, origin)
    table.finish()
    if scales:
        for key in scales:
            if values[key] is not None:
                table.fail(f"mass.{key} is given twice, once by the scales.", key, hint="Leave one of the two out.")
        values |= scales
    if with_driver and values["total"] is not None:
        values |= _without_driver(table, values)
    return Mass(driver_seat=seat, **values)


def _scales(table: Table) -> dict[str, Sourced]:
    """Total, front share and cross weight from the weights of two axles or four wheels (front left first)."""
    for key, count in (("axles", 2), ("corners", 4)):
        raw = table.take(key)
        if raw is None:
            continue
        if not isinstance(raw, list) or len(raw) != count:
            table.fail(f"mass.{key} is {raw!r}; {count} weights are wanted.", key)
        weights = [table.number(item, "mass", key) for item in raw]
        if min(weights) <= 0:
            table.fail(f"mass.{key} is {raw!r}; every weight must be more than zero.", key)
        total = sum(weights)
        table.refuse_impossible(total, field("mass.total"), key, raw=f"{total:.0f} kg in all")
        found = {"total": _measured(total, "mass.total")}
        found["front_share"] = _measured(sum(weights[: count // 2]) / total, "mass.front_share")
        if count == 4:
            found["cross_weight"] = _measured((weights[1] + weights[2]) / total, "mass.cross_weight")
        return found
    return {}


def _measured(value: float, name: str) -> Sourced:
    return Sourced(
        value=value, uncertainty=usual_uncertainty(value, field(name), Origin.MEASURED), origin=Origin.MEASURED
    )


def _without_driver(table: Table, values: dict[str, Any]) -> dict[str, Sourced]:
    """Total and front share without the driver, who sat in the car on the scales."""
    driver, position = values["driver"], values["driver_position"]
    if driver is None:
        table.fail("mass.with_driver needs the mass of the driver.", "with_driver", hint='Write driver = "80 kg".')
    total, share = values["total"], values["front_share"]
    empty = total.value - driver.value
    if empty <= 0:
        table.fail("The driver is heavier than car and driver together.", "driver")
    table.refuse_impossible(empty, field("mass.total"), "total", raw=f"{empty:.0f} kg without the driver")
    found = {"total": Sourced(value=empty, uncertainty=total.uncertainty, origin=total.origin)}
    if share is not None:
        behind = 0.53 if position is None else position.value
        front = share.value * total.value - driver.value * (1 - behind)
        found["front_share"] = Sourced(value=front / empty, uncertainty=share.uncertainty, origin=share.origin)
    return found


def _axle(table: Table, origin: Origin) -> Axle:
    parts = {
        "tyre": _tyre(table.table("tyre"), origin),
        "wheel": _wheel(table.table("wheel"), origin),
        "differential": _differential(table.table("differential"), origin),
        "brake": _plain(BrakeParts, table.table("brake"), origin),
        "hub": _hub(table.table("hub"), origin),
        "clearance": _plain(Clearance, table.table("clearance"), origin),
    }
    raw = table.take("damper_curve")
    toe = toe_of_distance(table, parts["tyre"].rim_diameter, origin=origin)
    values = _finished(Axle, table, origin)
    values["toe"] = toe or values["toe"]
    if raw is not None:
        if values["damping"] is not None:
            hint = "Leave one of the two out."
            table.fail(f"{table.path('damping')} is given, and a damper curve too.", "damper_curve", hint=hint)
        values |= damper_values(table, raw, origin)
    return Axle(**parts, **values)


def _hub(table: Table, origin: Origin) -> Hub:
    texts = {
        key: _checked_text(table, key, check)
        for key, check in (("bolt_pattern", bolt_pattern), ("thread", bolt_thread), ("seat", seat_of))
    }
    return Hub(**texts, **_finished(Hub, table, origin))


def _checked_text(table: Table, key: str, check: Callable[..., object]) -> str:
    """A text that a reader of its kind understands; "" where it is missing."""
    text = table.text(key, default="")
    if text:
        check(text, where=f"{table.place(key)}")
    return text


def _finished(record: type[Record], table: Table, origin: Origin) -> dict[str, Any]:
    values = _quantities(record, table, origin)
    table.finish()
    return values


def _exact(record: type[Record], key: str, value: float, origin: Origin) -> Sourced:
    """A value out of a code: what the code says is sure, what it stands for is good to a fifth of a step."""
    facts = quantity_of(record, key)
    assert facts is not None
    spread = usual_uncertainty(value, facts, origin if origin is Origin.TYPICAL else Origin.MEASURED)
    return Sourced(value=value, uncertainty=spread, origin=origin)


def tyre_values(code: str, *, where: str, origin: Origin) -> dict[str, Sourced]:
    """What a tyre code says, by field of `Tyre`."""
    size = tyre_size(code, where=where)
    found = {
        "section_width": size.section_width,
        "aspect": size.aspect,
        "rim_diameter": size.rim_diameter,
        "load_capacity": size.load_capacity,
    }
    return {key: _exact(Tyre, key, value, origin) for key, value in found.items() if value is not None}


def wheel_values(code: str, *, where: str, origin: Origin) -> dict[str, Sourced]:
    """What a wheel code says, by field of `Wheel`."""
    size = wheel_size(code, where=where)
    found = {"width": size.width, "diameter": size.diameter, "offset": size.offset}
    return {key: _exact(Wheel, key, value, origin) for key, value in found.items() if value is not None}


def _tyre(table: Table, origin: Origin) -> Tyre:
    code, made = table.take("size"), _checked_text(table, "date_code", date_code)
    values = _finished(Tyre, table, origin)
    if code is not None:
        where = f"{table.place('size')}, {table.path('size')}"
        values |= tyre_values(code, where=where, origin=origin) | {"speed_symbol": tyre_size(code).speed_symbol}
    return Tyre(date_code=made, **values)


def _wheel(table: Table, origin: Origin) -> Wheel:
    code = table.take("size")
    facts = quantity_of(Wheel, "offset")
    assert facts is not None
    offset = table.sourced("offset", facts, origin=origin)
    values = _finished(Wheel, table, origin)
    if code is not None:
        values |= wheel_values(code, where=f"{table.place('size')}, {table.path('size')}", origin=origin)
    if offset is not None:
        values["offset"] = offset
    return Wheel(**values)


def _differential(table: Table, origin: Origin) -> Differential:
    kind = table.choice("kind", [k.value for k in DifferentialKind])
    values = _finished(Differential, table, origin)
    return Differential(kind=None if kind is None else DifferentialKind(kind), **values)


def _engine(table: Table, origin: Origin) -> Engine:
    torque, power = table.take("torque_curve"), table.take("power_curve")
    if torque is not None and power is not None:
        table.fail("Both a torque curve and a power curve are given.", "power_curve", hint="Leave one of them out.")
    values = _finished(Engine, table, origin)
    if torque is not None:
        values["torque_curve"] = _curve(table, torque, "torque_curve", origin)
    elif power is not None:
        values["torque_curve"] = _curve(table, power, "power_curve", origin)
    return Engine(**values)


def _curve(table: Table, raw: Any, key: str, origin: Origin) -> tuple[TorquePoint, ...]:
    """Points of a curve; engine speeds must rise."""
    example = '[["2000 rpm", "140 N m"], ["4000 rpm", "165 N m"], ["6500 rpm", "150 N m"]]'
    if not isinstance(raw, list) or len(raw) < 3 or not all(isinstance(p, list) and len(p) == 2 for p in raw):
        table.fail(f"{table.path(key)} is no list of three or more points.", key, hint=f"Write {example}.")
    points: list[TorquePoint] = []
    for i, (raw_speed, raw_load) in enumerate(raw, start=1):
        speed = table.number(raw_speed, "angular-rate", key)
        if speed > field("engine.limit").limits[1]:
            table.fail(f"{table.path(key)}: no engine turns at {raw_speed}.", key, hint=f"Write {example}.")
        if speed < 0 or (points and speed <= points[-1].speed):
            before = raw[i - 2][0] if points else 0
            table.fail(
                f"{table.path(key)}: the engine speed of point {i} is {raw_speed}, after {before}.",
                key,
                hint="Sort the points by engine speed, each speed once.",
            )
        torque = _torque(table, raw_load, speed, key)
        spread = usual_uncertainty(torque, field("engine.torque_curve.1"), origin)
        points.append(TorquePoint(speed=speed, torque=Sourced(value=torque, uncertainty=spread, origin=origin)))
    return tuple(points)


def _torque(table: Table, raw: Any, speed: float, key: str) -> float:
    if key == "torque_curve":
        torque = table.number(raw, "torque", key)
    elif speed > 0:
        torque = table.number(raw, "power", key) / speed
    else:
        table.fail("A power curve cannot have a point at zero engine speed.", key)
    if torque < 0:
        table.fail(f"{table.path(key)} has {raw}; full throttle gives no less than zero.", key)
    table.refuse_impossible(torque, field("engine.torque_curve.1"), key, raw=raw)
    return torque


def _transmission(table: Table, origin: Origin) -> Transmission:
    kind = table.choice("kind", [k.value for k in TransmissionKind])
    gears = table.take("gears")
    values = _finished(Transmission, table, origin)
    if gears is not None:
        values["gears"] = _gears(table, gears, field("transmission.gears.1"), origin)
    return Transmission(kind=None if kind is None else TransmissionKind(kind), **values)


def _gears(table: Table, raw: Any, facts: QuantityField, origin: Origin) -> tuple[Sourced, ...]:
    if not isinstance(raw, list) or not 1 <= len(raw) <= N_GEARS_MOST:
        table.fail(f"transmission.gears is {raw!r}; one to eight ratios are wanted.", "gears")
    gears = tuple(table.as_sourced(item, "gears", facts, origin=origin) for item in raw)
    for i in range(1, len(gears)):
        if gears[i].value >= gears[i - 1].value:
            table.fail(
                f"transmission.gears: gear {i + 1} ({raw[i]}) is not taller than gear {i} ({raw[i - 1]}).",
                "gears",
                hint="Write the ratios from first gear up, each smaller than the one before.",
            )
    return gears
