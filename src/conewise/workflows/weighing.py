"""What the scales say: corner weights and the perches to move, and the height of the centre of gravity."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from conewise.cars.car import AXLES
from conewise.cars.estimate import total_mass
from conewise.cars.typical import numbers
from conewise.errors import InputError
from conewise.findings import Finding, by_severity
from conewise.quantities import parse, show
from conewise.vehicle import suspension
from conewise.vehicle.build import track
from conewise.vehicle.corner_weights import CORNERS, CornerBalance, PerchMoves, corner_balance, perch_moves
from conewise.vehicle.lift_method import CgHeight, LiftWeighing, measured_cg_height
from conewise.workflows.named import car_from

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from conewise.cars.car import Car
    from conewise.workflows.named import Source

SCALES_NEED = {
    "driver": "the driver, or ballast of the same mass, in the seat",
    "half-tank": "half a tank of fuel",
    "level": "scales level with each other to a millimetre or two, tyre pressures set",
    "bars-off": "anti-roll bars disconnected at one link, the car rolled to and fro to settle",
}
LIFT_NEEDS = {
    "ballast": "ballast of the driver's mass fixed in the seat, fluids full; nobody sits in a lifted car",
    "locked": "suspension locked by solid links in place of the dampers, tyres at their highest pressure",
    "free": "brakes off, no gear in, wheels free to roll on the scales",
    "level": "both axles weighed at one height before the lift",
}
LIFT_CAUTION = (
    "A lifted car can roll or fall: hoist or stands made for its weight, at the maker's points, nobody under it or in "
    "front of it, and a second person. Never on a jack alone."
)
PERCH_CAUTION = (
    "Springs under load: perches are turned with the wheel hanging, the car on stands on level ground. Torque to the "
    "maker's value; check the wheels' freedom at full lock and bump, brake hoses, and the alignment afterwards."
)
_MASS_GAP = 0.04  # scales and car file may differ by this share
_MASS_RATIO = 1.5  # beyond it a reading or a unit is wrong, and no perch is moved by it
_TARGET_GAP = 2.0  # standard uncertainties of the cross weight within which it is left alone
_RADIUS_SPREAD, _RISE_SPREAD, _WHEELBASE_SPREAD = 0.005, 0.003, 0.005  # tape measure, common practice [m]
LEAST_RISE = 0.25  # a lower lift says little [m]; the published method asks for 10 in


class WeightError(InputError):
    """Scale readings that cannot be."""

    code = "scale-readings"

    def __init__(self, problem: str, *, where: str, hint: str) -> None:
        super().__init__(problem, where=where, hint=hint)


@dataclass(frozen=True, slots=True, kw_only=True)
class ScalesAnswer:
    """What four scales say about a car, and what to move."""

    car: Car
    balance: CornerBalance
    cross_weight: float  # wanted
    moves: PerchMoves
    is_good: bool  # nearer than the scales can tell
    findings: tuple[Finding, ...]
    corners: tuple[str, ...] = CORNERS

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        b, m = self.balance, self.moves
        corners = zip(self.corners, b.readings, m.load_change, m.together, m.alone, strict=True)
        return {
            "car": self.car.name,
            "total_kg": b.total,
            "front_share": b.front_share,
            "left_share": b.left_share,
            "cross_weight": b.cross_weight,
            "cross_weight_uncertainty": b.cross_spread,
            "wanted_cross_weight": self.cross_weight,
            "leave_it": self.is_good,
            "corners": [
                {
                    "corner": name,
                    "reading_kg": float(reading),
                    "change_kg": float(change),
                    "perch_up_m": float(together),
                    "perch_alone_up_m": float(alone),
                }
                for name, reading, change, together, alone in corners
            ],
            "move_uncertainty_m": m.spread,
            "findings": finding_dicts(self.findings),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftAnswer:
    """Height of the centre of gravity from two weighings."""

    car: Car
    weighing: LiftWeighing
    found: CgHeight
    findings: tuple[Finding, ...]

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        return {
            "car": self.car.name,
            "cg_height_m": self.found.height,
            "uncertainty_m": self.found.spread,
            "parts_m": self.found.parts,
            "findings": finding_dicts(self.findings),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftQuestion:
    """What was read at the lift, as text with units; `lifted` is the axle that went up."""

    front: str  # axle weight, level
    rear: str
    raised: str  # weight of the axle that stays down, other one lifted
    rise: str
    lifted: str = "rear"
    radius: str | None = None  # of the wheels, centre to ground; from the car file where None
    spread: str = "1 kg"
    done: Collection[str] = ()


def finding_dicts(findings: Sequence[Finding]) -> list[dict[str, str]]:
    """Findings for JSON."""
    return [{"severity": f.severity, "code": f.code, "message": f.message, "where": f.where} for f in findings]


def answer_scales(
    path: Source,
    weights: Sequence[str],
    *,
    done: Collection[str] = (),
    cross_weight: str = "50 %",
    spread: str = "1 kg",
) -> ScalesAnswer:
    """Cross weight from four scales and the moves that correct it.

    Parameters
    ----------
    path : Path
        Car file, or set-up history.
    weights : sequence of str
        Front left, front right, rear left, rear right, with units.
    done : collection of str, default ()
        Which of `SCALES_NEED` were seen to; each other one is a finding.
    cross_weight, spread : str
        Wanted share of front right and rear left; standard uncertainty of one reading.

    Returns
    -------
    ScalesAnswer

    Raises
    ------
    WeightError
        If the readings or the wanted share cannot be.
    InputError
        If a file or a quantity cannot be used.
    """
    car = car_from(path)
    readings = np.array([_positive(text, corner) for text, corner in zip(weights, CORNERS, strict=True)])
    wanted = parse(cross_weight, "ratio", where="--cross")
    if not 0.4 <= wanted <= 0.6:
        raise WeightError(f"A cross weight of {wanted:.0%} is wanted.", where="--cross", hint="Write --cross 50%.")
    balance = corner_balance(readings, spread=abs(parse(spread, "mass", where="--spread")))
    v = numbers(car)
    _refuse_other_mass(balance.total, total_mass(v))
    ratios = np.repeat([v[f"{axle}.motion_ratio"] for axle in AXLES], 2)
    rates = [
        suspension.in_series(
            suspension.wheel_rate(v[f"{axle}.spring_rate"], v[f"{axle}.motion_ratio"]), v[f"{axle}.tyre.spring_rate"]
        )
        for axle in AXLES
    ]
    moves = perch_moves(
        balance,
        ride_rates=np.repeat(rates, 2),
        motion_ratios=ratios,
        tracks=(track(v, "front"), track(v, "rear")),
        cross_weight=wanted,
    )
    is_good = abs(wanted - balance.cross_weight) <= _TARGET_GAP * balance.cross_spread
    findings = [*_left_open(done, SCALES_NEED, "scales"), *_other_mass(balance.total, total_mass(v))]
    findings += [
        Finding("warning", "corner-light", f"The {corner} wheel stands under {load:.0f} kg after the moves.", corner)
        for corner, load in zip(CORNERS, readings + moves.load_change, strict=True)
        if load < 0.1 * balance.total
    ]
    return ScalesAnswer(
        car=car,
        balance=balance,
        cross_weight=wanted,
        moves=moves,
        is_good=is_good,
        findings=tuple(by_severity(findings)),
    )


def answer_lift(path: Source, question: LiftQuestion) -> LiftAnswer:
    """Height of the centre of gravity by the lift method.

    Raises
    ------
    WeightError
        If the readings cannot be.
    InputError
        If a file or a quantity cannot be used.
    """
    car = car_from(path)
    v = numbers(car)
    down = "front" if question.lifted == "rear" else "rear"
    level = {"front": _positive(question.front, "front axle"), "rear": _positive(question.rear, "rear axle")}
    if question.radius is None:
        radii = {axle: v[f"{axle}.tyre.rolling_radius"] for axle in AXLES}
    else:
        radii = dict.fromkeys(AXLES, parse(question.radius, "length", where="--radius"))
    weighing = LiftWeighing(
        level=level[down],
        other=level[question.lifted],
        lifted=_positive(question.raised, f"{down} axle, lifted"),
        rise=parse(question.rise, "length", where="--rise"),
        wheelbase=v["body.wheelbase"],
        radius_down=radii[down],
        radius_lifted=radii[question.lifted],
    )
    _refuse_lift(weighing, down)
    scale = abs(parse(question.spread, "mass", where="--spread"))
    spreads = dict.fromkeys(("level", "other", "lifted"), scale * np.sqrt(2.0))  # two scales an axle
    spreads |= {"rise": _RISE_SPREAD, "wheelbase": _WHEELBASE_SPREAD}
    spreads |= dict.fromkeys(
        ("radius_down", "radius_lifted"), _RADIUS_SPREAD * (2.0 if question.radius is None else 1.0)
    )
    found = measured_cg_height(weighing, spreads=spreads)
    findings = [*_left_open(question.done, LIFT_NEEDS, "lift"), *_other_mass(sum(level.values()), total_mass(v))]
    findings += _doubtful(weighing, found)
    return LiftAnswer(car=car, weighing=weighing, found=found, findings=tuple(by_severity(findings)))


def _positive(text: str, where: str) -> float:
    value = parse(text, "mass", where=where)
    if value <= 0.0:
        raise WeightError(
            f"The reading for {where} is {text}; it must be more than zero.",
            where=where,
            hint="A scale that reads nothing is not under the wheel, or not switched on.",
        )
    return value


def _refuse_lift(w: LiftWeighing, down: str) -> None:
    if not 0.0 < w.rise < 0.7 * w.wheelbase:
        raise WeightError(
            f"A rise of {show(w.rise, 'length')} cannot be.", where="--rise", hint='Write --rise "0.40 m".'
        )
    if not w.level < w.lifted < w.level + w.other:
        raise WeightError(
            f"The {down} axle has {w.lifted:.1f} kg with the other one lifted and {w.level:.1f} kg level.",
            where="third weight",
            hint="The axle that stays down must get heavier. Weigh again: brakes off, wheels free, suspension locked.",
        )


def _left_open(done: Collection[str], needs: dict[str, str], what: str) -> list[Finding]:
    return [
        Finding("warning", f"{what}-{key}", f"Not said to be so: {words}. The answer counts only with it.", "--done")
        for key, words in needs.items()
        if key not in done
    ]


def _refuse_other_mass(weighed: float, told: float) -> None:
    if not 1.0 / _MASS_RATIO <= weighed / told <= _MASS_RATIO:
        raise WeightError(
            f"The scales say {weighed:.0f} kg in all, the car file {told:.0f} kg with its driver.",
            where="readings",
            hint="Look at the units, read the scales again, or correct mass.total in the car file.",
        )


def _other_mass(weighed: float, told: float) -> list[Finding]:
    if abs(weighed / told - 1.0) <= _MASS_GAP:
        return []
    words = (
        f"The scales say {weighed:.0f} kg, the car file {told:.0f} kg with its driver. Correct the car file, or see "
        "whether the driver was in the car."
    )
    return [Finding("warning", "mass-differs", words, "mass.total")]


def _doubtful(w: LiftWeighing, found: CgHeight) -> list[Finding]:
    findings: list[Finding] = []
    if w.rise < LEAST_RISE:
        words = (
            f"A rise of {show(w.rise, 'length')} is little; from {show(LEAST_RISE, 'length')} on the method says more."
        )
        findings.append(Finding("warning", "lift-low", words, "--rise"))
    if not 0.25 <= found.height <= 0.75:
        words = f"A centre of gravity {show(found.height, 'length')} high is not that of a car. Weigh again."
        findings.append(Finding("stop", "lift-implausible", words, "third weight"))
    return findings
