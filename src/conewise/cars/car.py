"""The car as a person describes it: what a spec sheet, a set of scales and a tape measure say.

Every number is a `Sourced` value in SI, or None where nobody said. `typical.completed` fills the gaps with typical
values that are marked so. Masses are without the driver; the driver's own stand beside them.
"""

from __future__ import annotations

from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal, Self, TypeVar

from pydantic import Field

from conewise.cars.fields import QuantityField, Value, quantity, quantity_of
from conewise.cars.hub import Clearance, Hub
from conewise.quantities import Sourced
from conewise.records import Record

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

Drive = Literal["front", "rear", "all"]
R = TypeVar("R", bound=Record)

AXLES = ("front", "rear")
DRIVES = ("front", "rear", "all")

_DEG = 0.017453292519943295
_YEAR = 365.25 * 86400.0
_MIRROR = "the model has no left and right difference"
_FEEL = "how firm the pedal is changes what the foot feels, not how far the car rolls"
_PRESSURE = "grip over pressure has a best value that only tests on the car find"


class DifferentialKind(StrEnum):
    """How an axle shares its torque."""

    OPEN = "open"
    LIMITED_SLIP = "limited-slip"
    LOCKED = "locked"


class TransmissionKind(StrEnum):
    """How the gears change."""

    MANUAL = "manual"
    DUAL_CLUTCH = "dual-clutch"
    CONVERTER = "converter"
    SINGLE_SPEED = "single-speed"


class Mass(Record):
    """Masses and where they stand; without the driver."""

    total: Value = quantity("mass", "car ready to run, without the driver", 350, 2600, step=10)
    front_share: Value = quantity(
        "ratio", "share of the mass on the front axle, without the driver", 0.3, 0.72, step=0.01, most=1
    )
    cross_weight: Value = quantity(
        "ratio", "share on the front right and rear left wheels", 0.44, 0.56, step=0.01, most=1, outside=_MIRROR
    )
    driver: Value = quantity("mass", "driver with helmet", 40, 140, step=10)
    driver_position: Value = quantity("ratio", "driver behind the front axle, over the wheelbase", 0.3, 0.85, step=0.02)
    driver_seat: Literal["left", "right", "centre"] = "left"


class Body(Record):
    """Size, centre of gravity, inertias, air."""

    wheelbase: Value = quantity("length", "front axle to rear axle", 1.6, 3.4, step=0.01)
    length: Value = quantity("length", "overall length", 2.3, 5.4, step=0.01)
    width: Value = quantity("length", "overall width at the height of a cone", 1.2, 2.1, step=0.01)
    front_overhang: Value = quantity("length", "front axle to the front of the body", 0.3, 1.2, step=0.01)
    cg_height: Value = quantity("length", "centre of gravity above the road, with driver", 0.25, 0.75, step=0.01)
    yaw_inertia: Value = quantity("moment-of-inertia", "whole car about the vertical axis", 250, 5500, share=0.05)
    roll_inertia: Value = quantity("moment-of-inertia", "sprung mass about its own length axis", 60, 1300, share=0.05)
    drag_area: Value = quantity("area", "drag coefficient times frontal area", 0.3, 1.6, share=0.1)
    lift_area_front: Value = quantity(
        "area", "downforce coefficient times area, front axle", -0.5, 3, sign="any", step=0.1
    )
    lift_area_rear: Value = quantity(
        "area", "downforce coefficient times area, rear axle", -0.5, 3, sign="any", step=0.1
    )
    rolling_resistance: Value = quantity("ratio", "rolling resistance over load", 0.005, 0.03, share=0.1)


class Tyre(Record):
    """The tyre of one axle. Friction is stated at the reference load."""

    section_width: Value = quantity("length", "section width", 0.125, 0.355, step=0.01, from_code=True)
    aspect: Value = quantity(
        "ratio", "height of the side wall over the section width", 0.2, 0.85, step=0.05, from_code=True
    )
    rim_diameter: Value = quantity("length", "rim diameter", 0.25, 0.57, step=0.0254, unit="in", from_code=True)
    load_capacity: Value = quantity("mass", "load that the load index allows", 200, 1200, step=20, from_code=True)
    treadwear: Value = quantity("ratio", "treadwear grade", 0, 800, sign="zero", step=50)
    friction: Value = quantity("ratio", "peak lateral friction at the reference load", 0.6, 1.8, share=0.05)
    friction_longitudinal: Value = quantity(
        "ratio", "peak longitudinal friction at the reference load", 0.6, 1.9, share=0.05
    )
    load_sensitivity: Value = quantity(
        "ratio", "relative loss of friction per relative rise of load", 0.02, 0.35, sign="zero", step=0.03
    )
    reference_load: Value = quantity("force", "load of one tyre at which friction is stated", 1000, 6500, share=0.05)
    cornering_coefficient: Value = quantity(
        "ratio", "cornering stiffness over load at the reference load, per radian", 6, 28, share=0.05
    )
    stiffness_load: Value = quantity(
        "ratio", "load of the greatest cornering stiffness over the reference load", 1.2, 6, share=0.1
    )
    shape: Value = quantity("ratio", "Magic Formula C of the lateral force", 1.05, 1.55, step=0.05)
    peak_slip_angle: Value = quantity(
        "angle", "slip angle of the greatest lateral force at the reference load", 3 * _DEG, 16 * _DEG, step=_DEG / 2
    )
    slip_stiffness: Value = quantity("ratio", "longitudinal slip stiffness over load", 8, 45, share=0.1)
    best_inclination: Value = quantity(
        "angle", "inclination into the turn with the most friction", -_DEG, 6 * _DEG, sign="any", step=_DEG / 2
    )
    inclination_loss: Value = quantity(
        "ratio", "relative loss of friction per squared inclination error, per rad2", 0, 60, sign="zero", share=0.25
    )
    spring_rate: Value = quantity("spring-rate", "vertical rate", 90e3, 400e3, share=0.1)
    rolling_radius: Value = quantity("length", "effective rolling radius", 0.2, 0.42, step=0.005, unit="mm")
    pressure: Value = quantity("pressure", "cold pressure", 1e5, 4e5, step=1e4, outside=_PRESSURE)
    pressure_low: Value = quantity("pressure", "lowest pressure allowed", 1e5, 4e5, step=1e4, outside=_PRESSURE)
    pressure_high: Value = quantity("pressure", "highest pressure allowed", 1.5e5, 5e5, step=1e4, outside=_PRESSURE)
    age: Value = quantity("time", "age", 0, 10 * _YEAR, sign="zero", most=40 * _YEAR, step=_YEAR, unit="yr")
    date_code: str = ""  # the end of the DOT number, "2319"
    speed_symbol: str = ""  # from the code


class Wheel(Record):
    """One wheel of an axle."""

    width: Value = quantity("length", "rim width", 0.1, 0.36, step=0.0127, unit="in", from_code=True)
    diameter: Value = quantity(
        "length",
        "rim diameter",
        0.25,
        0.57,
        step=0.0254,
        unit="in",
        from_code=True,
        outside="the tyre has its own rim diameter; the two must agree",
    )
    offset: Value = quantity(
        "length",
        "centre line to hub face, positive outboard",
        -0.08,
        0.08,
        sign="any",
        step=0.005,
        unit="mm",
        from_code=True,
    )
    mass: Value = quantity("mass", "one wheel with its tyre", 6, 40, step=1)
    inertia: Value = quantity("moment-of-inertia", "one wheel with tyre and disc", 0.2, 3, share=0.1)


class Differential(Record):
    """The differential of one axle."""

    kind: DifferentialKind | None = None
    preload: Value = quantity("torque", "locking torque without load", 0, 400, sign="zero", step=10)
    bias_drive: Value = quantity("ratio", "greatest torque ratio of the two wheels on drive", 1, 6, step=0.2)
    bias_coast: Value = quantity("ratio", "greatest torque ratio of the two wheels on the brakes", 1, 6, step=0.2)
    ramp_drive: Value = quantity("angle", "ramp angle on drive", 25 * _DEG, 89 * _DEG, step=5 * _DEG)
    ramp_coast: Value = quantity("angle", "ramp angle on the brakes", 25 * _DEG, 89 * _DEG, step=5 * _DEG)
    friction_faces: Value = quantity("ratio", "working friction faces on one side", 1, 16, step=2, is_count=True)


class BrakeParts(Record):
    """The brake of one wheel of an axle."""

    piston_diameter: Value = quantity(
        "length", "diameter of a piston on one side of the disc", 0.015, 0.08, step=0.001, unit="mm"
    )
    pistons: Value = quantity("ratio", "pistons on one side of the disc", 1, 4, step=1, is_count=True)
    pad_friction: Value = quantity("ratio", "friction of the pads", 0.2, 0.7, share=0.05, most=0.9)
    pad_friction_cold: Value = quantity(
        "ratio",
        "friction of the pads at the first stop of the day",
        0.1,
        0.6,
        share=0.1,
        most=0.9,
        outside="the time model has warm pads; see the brake sheet",
    )
    disc_mass: Value = quantity(
        "mass",
        "one disc, its ring without the bell",
        2,
        15,
        step=0.5,
        outside="pads of one friction, whatever they are heated to",
    )
    effective_radius: Value = quantity(
        "length", "middle of the pads to the wheel's axis", 0.06, 0.2, step=0.005, unit="mm"
    )


class DamperPoint(Record):
    """Force of one damper at one speed, both ways counted positive."""

    speed: float = Field(gt=0.0)  # [m/s]
    bump: float = Field(gt=0.0)  # [N]
    rebound: float = Field(gt=0.0)  # [N]


class Axle(Record):
    """One axle: suspension, wheels, tyres, differential, brakes."""

    track: Value = quantity("length", "contact patch to contact patch, without spacers", 0.9, 1.8, step=0.01)
    spacer: Value = quantity(
        "length", "spacer between hub and wheel, each side", 0, 0.06, sign="zero", step=0.005, unit="mm"
    )
    unsprung_mass: Value = quantity("mass", "both wheels with what moves with them", 25, 220, step=2)
    roll_centre: Value = quantity("length", "height of the roll centre", -0.12, 0.4, sign="any", step=0.01, unit="mm")
    spring_rate: Value = quantity("spring-rate", "one spring", 5e3, 400e3, sign="zero", share=0.05)
    spring_wire_diameter: Value = quantity(
        "length", "wire of the spring, in place of its rate", 0.006, 0.022, step=0.0002, unit="mm"
    )
    spring_coil_diameter: Value = quantity(
        "length", "middle of the wire to middle of the wire across the coil", 0.04, 0.18, step=0.001, unit="mm"
    )
    spring_active_coils: Value = quantity("ratio", "coils of the spring that move", 2, 16, step=0.25)
    motion_ratio: Value = quantity("ratio", "spring travel over wheel travel", 0.3, 1.3, step=0.02)
    bar_stiffness: Value = quantity(
        "angular-stiffness", "roll stiffness that the bar adds at the wheels", 0, 90e3, sign="zero", share=0.05
    )
    bar_diameter: Value = quantity(
        "length", "diameter of the bar; 0 for none", 0, 0.04, sign="zero", step=0.001, unit="mm"
    )
    bar_bore: Value = quantity("length", "bore of a hollow bar", 0, 0.035, sign="zero", step=0.001, unit="mm")
    bar_length: Value = quantity("length", "length of the bar that twists", 0.3, 1.4, step=0.02)
    bar_arm: Value = quantity("length", "lever arm of the bar, square to the twisting part", 0.08, 0.45, step=0.01)
    bar_motion_ratio: Value = quantity("ratio", "travel of the bar's end over wheel travel", 0.2, 1.3, step=0.02)
    damping: Value = quantity(
        "damping", "one damper, mean of bump and rebound at low speed", 300, 25e3, sign="zero", share=0.1
    )
    damper_motion_ratio: Value = quantity("ratio", "damper travel over wheel travel", 0.3, 1.3, step=0.02)
    camber: Value = quantity(
        "angle", "static camber, negative with the top inwards", -6 * _DEG, 2 * _DEG, sign="any", step=_DEG / 2
    )
    camber_gain: Value = quantity(
        "ratio", "share of the roll angle that the suspension takes off the inclination", -0.3, 1, sign="any", step=0.1
    )
    toe: Value = quantity("angle", "toe-in of each wheel", -_DEG, _DEG, sign="any", step=_DEG / 20)
    caster: Value = quantity(
        "angle",
        "steering axis leaning back",
        0,
        12 * _DEG,
        sign="any",
        step=_DEG / 2,
        outside="the inclination that steer brings is not in the time model",
    )
    damper_curve: tuple[DamperPoint, ...] = ()
    tyre: Tyre = Tyre()
    wheel: Wheel = Wheel()
    differential: Differential = Differential()
    brake: BrakeParts = BrakeParts()
    hub: Hub = Hub()
    clearance: Clearance = Clearance()


class TorquePoint(Record):
    """Full-throttle torque at one engine speed."""

    speed: float = Field(ge=0.0)  # [rad/s]
    torque: Sourced


class Engine(Record):
    """Engine or motor: a torque curve, or its peaks."""

    torque_curve: tuple[TorquePoint, ...] = ()
    torque_scale: Value = quantity("ratio", "factor on the whole torque curve", 0.5, 2, share=0.05)
    peak_power: Value = quantity("power", "greatest power", 20e3, 800e3, share=0.05)
    peak_power_speed: Value = quantity("angular-rate", "engine speed of the greatest power", 250, 1900, share=0.02)
    peak_torque: Value = quantity("torque", "greatest torque", 40, 1200, share=0.05)
    peak_torque_speed: Value = quantity("angular-rate", "engine speed of the greatest torque", 60, 1600, share=0.05)
    low_speed: Value = quantity("angular-rate", "lowest speed of the torque curve", 0, 250, sign="zero", share=0.1)
    limit: Value = quantity("angular-rate", "limiter", 350, 2200, share=0.02)
    clutch_speed: Value = quantity(
        "angular-rate", "lowest engine speed under load, held by clutch or converter", 0, 700, sign="zero", share=0.1
    )
    inertia: Value = quantity("moment-of-inertia", "engine and clutch", 0.01, 0.6, share=0.1)
    drag: Value = quantity("torque", "torque that the closed throttle takes", 0, 150, sign="zero", share=0.1)


class Transmission(Record):
    """Gears from the engine to the wheels."""

    kind: TransmissionKind | None = None
    gears: tuple[Sourced, ...] = ()
    final_drive: Value = quantity("ratio", "final drive", 1.5, 12, share=0.05)
    front_share: Value = quantity(
        "ratio", "share of the drive torque on the front axle", 0, 1, sign="zero", step=0.05, most=1
    )
    efficiency: Value = quantity("ratio", "wheel power over engine power", 0.75, 1, step=0.01, most=1)
    shift_time: Value = quantity(
        "time",
        "time without drive at a gear change",
        0,
        1.2,
        sign="zero",
        step=0.05,
        outside="a shift is a gap in the drive that the solver is told beside the model's numbers",
    )


class Brakes(Record):
    """What both axles' brakes have in common."""

    abs: bool | None = None
    front_share: Value = quantity("ratio", "share of the brake force on the front axle", 0.4, 0.95, step=0.02, most=1)
    force_limit: Value = quantity("force", "brake force at full pedal, all wheels together", 3000, 45e3, share=0.05)
    pedal_force: Value = quantity("force", "foot at full pedal", 150, 900, share=0.1)
    pedal_ratio: Value = quantity("ratio", "pedal ratio", 2.5, 8, share=0.05)
    boost: Value = quantity("ratio", "booster's factor; 1 for none", 1, 9, share=0.05)
    master_bore: Value = quantity("length", "bore of the master cylinder", 0.012, 0.032, step=0.0016, unit="mm")
    compliance: Value = quantity(
        "fluid-compliance",
        "volume that hoses and calipers take up under pressure",
        1e-13,
        2e-12,
        share=0.2,
        outside=_FEEL,
    )
    mount_stiffness: Value = quantity(
        "spring-rate",
        "push of the master cylinder over the travel of its mount",
        1e6,
        3e7,
        share=0.2,
        outside=_FEEL,
    )


class Steering(Record):
    """Hand-wheel to road wheels."""

    ratio: Value = quantity("ratio", "hand-wheel angle over road wheel angle", 4, 24, share=0.05)
    lock_to_lock: Value = quantity("ratio", "turns of the hand-wheel from lock to lock", 0.5, 5, step=0.1)


class Car(Record):
    """A car. `source` is the file it came from."""

    name: str
    kind: str
    drive: Drive
    mass: Mass = Mass()
    body: Body = Body()
    front: Axle = Axle()
    rear: Axle = Axle()
    engine: Engine = Engine()
    transmission: Transmission = Transmission()
    brakes: Brakes = Brakes()
    steering: Steering = Steering()
    modified: tuple[str, ...] | None = None  # kinds of change made since it was sold; None: nobody said
    source: str = ""

    @cached_property
    def values(self) -> Mapping[str, Sourced]:
        """Every number that is there, by its dotted name; gears and torque points are numbered from 1."""
        return dict(_numbers(self, ""))

    def value(self, name: str) -> float:
        """One number in SI by its dotted name; KeyError where there is none."""
        return self.values[name].value

    def with_values(self, edits: Mapping[str, Sourced | None]) -> Self:
        """A copy with other numbers by their dotted names; None takes a number away."""
        return _edited(self, {tuple(name.split(".")): value for name, value in edits.items()})


def field_names() -> tuple[str, ...]:
    """Dotted names of all numeric fields but gears and torque points."""
    return tuple(_FIELDS)


def field(name: str) -> QuantityField:
    """The facts of a numeric field by its dotted name; KeyError where there is none."""
    parent, _, last = name.rpartition(".")
    if last.isdigit():
        return _NUMBERED[parent]
    return _FIELDS[name]


_NUMBERED = {
    "transmission.gears": QuantityField(dimension="ratio", meaning="ratio of the gear", low=0.4, high=5.5, share=0.02),
    "engine.torque_curve": QuantityField(
        dimension="torque", meaning="torque at the engine speed of the point", low=0, high=1500, sign="any", share=0.05
    ),
}


def _declared(record: type[Record], prefix: str) -> Iterator[tuple[str, QuantityField]]:
    for name, info in record.model_fields.items():
        found = quantity_of(record, name)
        if found is not None:
            yield prefix + name, found
        elif isinstance(info.annotation, type) and issubclass(info.annotation, Record):
            yield from _declared(info.annotation, f"{prefix}{name}.")


def _numbers(record: Record, prefix: str) -> Iterator[tuple[str, Sourced]]:
    for name, value in record:
        if isinstance(value, Sourced):
            yield prefix + name, value
        elif isinstance(value, Record):
            yield from _numbers(value, f"{prefix}{name}.")
        elif isinstance(value, tuple) and name != "damper_curve":
            for i, item in enumerate(value):
                if isinstance(item, TorquePoint | Sourced):  # kinds of change are words
                    yield f"{prefix}{name}.{i + 1}", item.torque if isinstance(item, TorquePoint) else item


def _edited(record: R, edits: Mapping[tuple[str, ...], Sourced | None]) -> R:
    changes: dict[str, Any] = {}
    for name in {path[0] for path in edits}:
        inner = {path[1:]: value for path, value in edits.items() if path[0] == name}
        old = getattr(record, name)
        if isinstance(old, Record):
            changes[name] = _edited(old, inner)
        elif isinstance(old, tuple):
            changes[name] = _renumbered(old, inner)
        else:
            changes[name] = inner[()]
    return record.changed(**changes)


def _renumbered(old: tuple[Any, ...], edits: Mapping[tuple[str, ...], Sourced | None]) -> tuple[Any, ...]:
    items = list(old)
    for (number,), value in edits.items():
        i = int(number) - 1
        items[i] = items[i].changed(torque=value) if isinstance(items[i], TorquePoint) else value
    return tuple(items)


_FIELDS = dict(_declared(Car, ""))
