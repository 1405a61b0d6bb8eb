"""Values that follow from others of the same car: what a tyre of this size carries, what a car of this mass resists.

Each estimate is a smooth function of other values, so a change of mass, size or treadwear moves what depends on it.
An estimate is used only where nobody gave the value. Without a source named, the rule is common practice.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection
from dataclasses import dataclass

from conewise.cars.car import AXLES
from conewise.quantities import GRAVITY, SHEAR_MODULUS
from conewise.smooth import maximum, minimum

Values = dict[str, float]  # by dotted name, SI
Rule = Callable[[Values], float]

_INCH = 0.0254
_KGF_PER_MM = GRAVITY * 1e3  # kilogram-force per mm in N/m
NOMINAL_PRESSURE = 220.0  # for the vertical rate [kPa]


@dataclass(frozen=True, slots=True)
class Estimate:
    """A rule for one value, with its relative standard uncertainty and what it needs."""

    name: str
    rule: Rule
    spread: float
    needs: tuple[str, ...]


def overall_diameter(section_width: float, aspect: float, rim_diameter: float) -> float:
    """Diameter of the unloaded tyre, rim and two side walls. [m]"""
    return rim_diameter + 2.0 * aspect * section_width


def load_capacity(section_width: float, aspect: float, rim_diameter: float) -> float:
    """Load of a usual load index for the size. [kg]

    Notes
    -----
    604 kg (S / 225 mm)^1.76 (aspect / 0.45)^1.01 (rim / 17 in)^0.79: a power law through 21 sizes with the load
    indices that data books give them (from memory), within 3.3 % of each.
    """
    return float(
        603.5 * (section_width / 0.225) ** 1.757 * (aspect / 0.45) ** 1.010 * (rim_diameter / (17 * _INCH)) ** 0.794
    )


# Peak lateral friction of a band of treadwear grades on dry grippy asphalt, from the lowest grades up, and the grades
# that part the bands. Common practice, no source: 40 to 100 1.15 to 1.30, 200 1.00 to 1.25, 300 to 400 0.90 to 1.00,
# 500 and more 0.75 to 0.90.
BAND_FRICTION = (1.22, 1.11, 0.98, 0.83)
BAND_EDGES = (140.0, 250.0, 450.0)
_BAND_BLUR = 12.0  # a grade is no sharp edge; narrow enough that 200 and 300 lie in their bands

_REINFORCED = 1.04  # load over the usual one of a size from which a tyre is taken for a reinforced one
_RIM_GAIN = 0.06  # relative friction per relative width of the rim over the measuring rim; common practice, no source
_YEARLY_LOSS = 0.01  # of friction, by rubber that hardens; common practice, no source
_FRESH = 2.0  # years that a tyre keeps its friction; common practice, no source
YEAR = 365.25 * 86400.0  # [s]


def friction_of_treadwear(treadwear: float) -> float:
    """Peak lateral friction on dry grippy asphalt.

    Notes
    -----
    The treadwear grade is a wear grade and, in rule books, the boundary of a class; it is no grip grade (49 CFR
    575.104). Within a band it says nothing of friction: steps from band to band, a little blurred.
    """
    steps = zip(BAND_EDGES, BAND_FRICTION[:-1], BAND_FRICTION[1:], strict=True)
    lower = sum((to - of) / (1.0 + math.exp(-(treadwear - edge) / _BAND_BLUR)) for edge, of, to in steps)
    return BAND_FRICTION[0] + lower


def rim_factor(rim_width: float, measuring_rim: float) -> float:
    """Friction on a rim over that on the measuring rim: a wider one holds the tread flatter. Between 0.98 and 1.02."""
    return 1.0 + 0.02 * math.tanh(_RIM_GAIN / 0.02 * (rim_width / measuring_rim - 1.0))


def age_factor(age: float) -> float:
    """Friction of a tyre of an age over that of a fresh one. `age` in s."""
    return float(1.0 - _YEARLY_LOSS * maximum(age / YEAR - _FRESH, 0.0, 0.3))


def cornering_coefficient(aspect: float, rim_width: float, measuring_rim: float) -> float:
    """Cornering stiffness over load at the reference load. [1/rad]

    Notes
    -----
    12.48 for a 205/60R15 91V at half its capacity (Pacejka, Tyre and Vehicle Dynamics, 2nd ed. 2006, table A3.1);
    lower side walls and wider rims are stiffer by the roots of common practice.
    """
    return float(12.48 * (0.60 / aspect) ** 0.5 * (rim_width / measuring_rim) ** 0.3)


def measuring_rim(section_width: float, aspect: float) -> float:
    """Rim width for which the section width holds, not rounded to half inches. [m]

    Notes
    -----
    K S with K between 0.70 for high and 0.92 for low side walls, after the rule of UN Regulation 30 (its steps from
    memory); here a smooth curve through them.
    """
    return section_width * (0.70 + 0.22 / (1.0 + math.exp((aspect - 0.47) / 0.09)))


def tyre_rate(section_width: float, aspect: float, diameter: float) -> float:
    """Vertical rate of a tyre at a usual pressure. [N/m]

    References
    ----------
    Rhyne, Development of a Vertical Stiffness Relationship for Belted Radial Tires, Tire Science and Technology 33(3),
    2005 (equation from memory): K = 0.00028 p sqrt((1.03 - 0.004 AR) S D) + 3.45, in kgf/mm, kPa, mm, percent.
    """
    contact = (1.03 - 0.4 * aspect) * section_width * 1e3
    return (0.00028 * NOMINAL_PRESSURE * math.sqrt(contact * diameter * 1e3) + 3.45) * _KGF_PER_MM


def helical_spring_rate(
    wire_diameter: float, coil_diameter: float, active_coils: float, *, shear_modulus: float = SHEAR_MODULUS
) -> float:
    """Rate of a spring of round wire, G d4 / (8 D3 n). [N/m]

    Parameters
    ----------
    wire_diameter : float
        [m]
    coil_diameter : float
        Middle of the wire to middle of the wire. [m]
    active_coils : float
        Coils that move: a ground end takes about one, a plain end about half.
    shear_modulus : float, default SHEAR_MODULUS
        [Pa]

    References
    ----------
    Shigley, Mechanical Engineering Design, ch. 10 (equation from memory). Curvature is left out: under 2 % from a coil
    of six wires on (the same chapter).
    """
    return shear_modulus * wire_diameter**4 / (8.0 * coil_diameter**3 * active_coils)


def _size(v: Values, axle: str) -> tuple[float, float, float]:
    tyre = f"{axle}.tyre"
    return v[f"{tyre}.section_width"], v[f"{tyre}.aspect"], v[f"{tyre}.rim_diameter"]


def reference_load(capacity: float, usual: float) -> float:
    """Load of one tyre at which friction is stated: half of what a plain tyre of its size carries. [N]

    Parameters
    ----------
    capacity : float
        Load that the index allows. [kg]
    usual : float
        Load that is usual for the size, see `load_capacity`. [kg]

    Notes
    -----
    A reinforced tyre carries more at more pressure and has no more rubber on the road: what its index says beyond 4 %
    over the usual load of the size does not count (common practice, no source).
    """
    return float(0.5 * GRAVITY * minimum(capacity, _REINFORCED * usual, 2.0))


def wheel_mass(section_width: float, aspect: float, rim_diameter: float, *, rim_width: float) -> float:
    """Mass of a cast alloy wheel with its tyre. [kg]

    Notes
    -----
    Half and half of 20 kg for 225/45R17 on 7.5 in; the tyre with section and diameter, the wheel with its diameter to
    the power 1.6 and its width to the power 0.7: common practice, no source. Forged and flow-formed wheels are a
    quarter lighter, steel ones as much heavier.
    """
    tyre = 10.0 * section_width / 0.225 * overall_diameter(section_width, aspect, rim_diameter) / 0.634
    wheel = 10.0 * (rim_diameter / (17 * _INCH)) ** 1.6 * (rim_width / (7.5 * _INCH)) ** 0.7
    return float(tyre + wheel)


def _friction(v: Values, axle: str) -> float:
    """Friction by treadwear band, on its rim and at its age, where that is known."""
    tyre, width = f"{axle}.tyre", v[f"{axle}.wheel.width"]
    rim = measuring_rim(*_size(v, axle)[:2])
    friction = friction_of_treadwear(v[f"{tyre}.treadwear"]) * rim_factor(width, rim)
    return friction * age_factor(v[f"{tyre}.age"]) if f"{tyre}.age" in v else friction


def _axle_rules(a: str) -> list[Estimate]:
    t, w = f"{a}.tyre", f"{a}.wheel"
    size = (f"{t}.section_width", f"{t}.aspect", f"{t}.rim_diameter")

    spring = tuple(f"{a}.{name}" for name in ("spring_wire_diameter", "spring_coil_diameter", "spring_active_coils"))

    def diameter(v: Values) -> float:
        return overall_diameter(*_size(v, a))

    return [
        Estimate(f"{t}.load_capacity", lambda v: load_capacity(*_size(v, a)), 0.05, size),
        Estimate(
            f"{t}.reference_load",
            lambda v: reference_load(v[f"{t}.load_capacity"], load_capacity(*_size(v, a))),
            0.15,
            size,
        ),
        Estimate(f"{t}.friction", lambda v: _friction(v, a), 0.07, (f"{t}.treadwear", *size)),
        Estimate(f"{t}.friction_longitudinal", lambda v: 1.07 * v[f"{t}.friction"], 0.05, ()),
        Estimate(
            f"{t}.cornering_coefficient",
            lambda v: cornering_coefficient(_size(v, a)[1], v[f"{w}.width"], measuring_rim(*_size(v, a)[:2])),
            0.15,
            size,
        ),
        Estimate(f"{t}.spring_rate", lambda v: tyre_rate(*_size(v, a)[:2], diameter(v)), 0.12, size),
        Estimate(f"{t}.rolling_radius", lambda v: 0.97 * diameter(v) / 2, 0.008, size),
        Estimate(f"{w}.mass", lambda v: wheel_mass(*_size(v, a), rim_width=v[f"{w}.width"]), 0.12, size),
        Estimate(f"{w}.inertia", lambda v: 0.6 * v[f"{w}.mass"] * diameter(v) ** 2 / 4, 0.15, size),
        Estimate(f"{a}.unsprung_mass", lambda v: 2 * (v[f"{w}.mass"] + v["estimate.hub_mass"]), 0.12, ()),
        Estimate(f"{a}.spring_rate", lambda v: helical_spring_rate(*(v[name] for name in spring)), 0.06, spring),
        Estimate(f"{a}.damper_motion_ratio", lambda v: v[f"{a}.motion_ratio"], 0.08, (f"{a}.motion_ratio",)),
    ]


def _yaw_inertia(v: Values) -> float:
    """Dynamic index times m a b."""
    share = front_share(v)
    return v["estimate.dynamic_index"] * total_mass(v) * share * (1 - share) * v["body.wheelbase"] ** 2


def _roll_inertia(v: Values) -> float:
    """Sprung mass times the square of 0.35 track widths."""
    sprung = total_mass(v) - v["front.unsprung_mass"] - v["rear.unsprung_mass"]
    track = (v["front.track"] + v["rear.track"]) / 2
    return v["estimate.roll_index"] * sprung * track**2


def _greatest_torque(v: Values) -> float:
    points = [torque for name, torque in v.items() if name.startswith("engine.torque_curve.")]
    return max(points) if points else v["engine.peak_torque"]


def total_mass(v: Values) -> float:
    """Car with driver. [kg]"""
    return v["mass.total"] + v["mass.driver"]


def front_share(v: Values) -> float:
    """Share of the mass on the front axle, with the driver. [-]"""
    front = v["mass.total"] * v["mass.front_share"] + v["mass.driver"] * (1 - v["mass.driver_position"])
    return front / total_mass(v)


_ENGINE = [
    Estimate("engine.peak_power_speed", lambda v: 0.92 * v["engine.limit"], 0.04, ("engine.limit",)),
    Estimate(
        "engine.peak_torque_speed",
        lambda v: v["estimate.torque_speed"] * v["engine.limit"],
        0.12,
        ("engine.limit",),
    ),
    Estimate(
        "engine.peak_torque",
        lambda v: v["estimate.torque_rise"] * v["engine.peak_power"] / v["engine.peak_power_speed"],
        0.08,
        ("engine.peak_power", "engine.peak_power_speed"),
    ),
    Estimate("engine.drag", lambda v: 0.08 * _greatest_torque(v), 0.3, ()),
]
_BODY = [
    Estimate("body.yaw_inertia", _yaw_inertia, 0.08, ("body.wheelbase",)),
    Estimate("body.roll_inertia", _roll_inertia, 0.15, ("front.track", "rear.track")),
]
ESTIMATES = (*(e for axle in AXLES for e in _axle_rules(axle)), *_BODY, *_ENGINE)
ESTIMATED = frozenset(e.name for e in ESTIMATES)


def estimated(values: Values, *, known: Collection[str]) -> Values:
    """All values: those `known` as they are, the rest by rule, in the order in which they need each other."""
    full = dict(values)
    for estimate in ESTIMATES:
        if estimate.name not in known and all(name in full for name in estimate.needs):
            full[estimate.name] = estimate.rule(full)
    return full
