"""Brakes of a car on one sheet: from the foot to the road, lock order, heat, and how firm the pedal is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.cars.car import AXLES
from conewise.cars.typical import has_brake_parts, numbers
from conewise.vehicle import brakes
from conewise.vehicle.build import brake_force, model_parameters
from conewise.vehicle.derived import DerivedValue, rear_first_findings
from conewise.vehicle.lock_order import (
    critical_with_engine,
    least_front_share,
    lock_deceleration,
    lock_order,
    peak_deceleration,
)
from conewise.vehicle.sheet import PartSheet, SheetTable

if TYPE_CHECKING:
    from conewise.cars.car import Car
    from conewise.cars.estimate import Values
    from conewise.vehicle.parameters import ModelParameters

Array = NDArray[np.float64]

WET = 0.6  # friction of a wet surface over the dry one; common practice, 0.6 to 0.8
REFERENCE_STOPS = 6  # of a run whose heat is told
REFERENCE_SPEEDS = (18.0, 9.0)  # before and after each of them [m/s]
DISC_SHARE = 0.9  # of the heat that goes into the discs; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class DrivenRun:
    """A run whose heat is asked for; arrays have shape (n_stations,)."""

    name: str
    elapsed: Array  # [s]
    speed: Array  # [m/s]


def brake_sheet(car: Car, *, run: DrivenRun | None = None) -> PartSheet:
    """Lock order over deceleration, and with the brakes' parts pedal force, cold pads, heat and feel.

    Parameters
    ----------
    car : Car
        Completed with typical values.
    run : DrivenRun or None
        The run whose heat is told; six stops from 18 to 9 m/s where None.

    Returns
    -------
    PartSheet
    """
    v, p = numbers(car), model_parameters(car)
    values, findings = [*_order(p)], rear_first_findings(p)
    notes = [
        "Straight ahead, engine disconnected, as legislation compares the axles; turns and engine braking come on top."
    ]
    if has_brake_parts(car):
        values += [*_pedal(v, p), *_heat(car, p, run), *_feel(v)]
        cold = _with_cold_pads(v)
        if cold != v:
            values += _cold(v, cold, p)
            colder = replace(p, brake_front_share=_share(cold))
            findings += rear_first_findings(colder, how=" with cold pads", where="front.brake.pad_friction_cold")
    else:
        notes.append("Give pistons, pads and pedal in the car file for pedal force, heat and feel.")
    return PartSheet(part="brakes", values=tuple(values), table=_table(p), notes=tuple(notes), findings=tuple(findings))


def _order(p: ModelParameters) -> list[DerivedValue]:
    rows = [
        DerivedValue("front_share", "front share of the brake force", "ratio", p.brake_front_share),
        DerivedValue("least_front_share", "least with which the rear never locks first", "ratio", least_front_share(p)),
        DerivedValue("peak", "what the dry tyres hold, in g", "ratio", peak_deceleration(p)),
    ]
    if p.gear_ratios[1] < p.gear_ratios[0]:
        words = "in g, from there the rear locks first with the clutch closed in second gear"
        rows.append(DerivedValue("critical_with_engine", words, "ratio", critical_with_engine(p)))
    for name, surface in (("dry", 1.0), ("wet", WET)):
        front, rear = lock_deceleration(p, surface=surface)
        axle = "front" if front <= rear else "rear"
        words = f"in g on {name} asphalt, without anti-lock brakes: the {axle} axle locks"
        rows.append(DerivedValue(f"first_lock_{name}", words, "ratio", np.minimum(front, rear)))
    return rows


def _table(p: ModelParameters) -> SheetTable:
    psi, chi = p.cg_to_front / p.wheelbase, p.cg_height / p.wheelbase
    z = np.arange(0.2, peak_deceleration(p) + 0.1, 0.2)
    order = lock_order(p, z)
    columns = order.adhesion_front, order.adhesion_rear, brakes.ideal_front_share(z, psi=psi, chi=chi)
    return SheetTable(
        title="Friction that the axles use, and the ideal front share",
        columns=(("front", "ratio"), ("rear", "ratio"), ("ideal share", "ratio")),
        rows=tuple(
            (f"{g:.1f} g{' rear first' if wrong else ''}", tuple(float(c[i]) for c in columns))
            for i, (g, wrong) in enumerate(zip(z, order.rear_first, strict=True))
        ),
    )


def _pressure(v: Values) -> float:
    return float(
        brakes.line_pressure(
            v["brakes.pedal_force"],
            pedal_ratio=v["brakes.pedal_ratio"],
            boost=v["brakes.boost"],
            bore=v["brakes.master_bore"],
        )
    )


def _force(v: Values) -> float:
    return sum(brake_force(v, axle) for axle in AXLES)


def _share(v: Values) -> float:
    return brake_force(v, "front") / _force(v)


def _pedal_for_one_g(v: Values, p: ModelParameters) -> float:
    return float(v["brakes.pedal_force"] * p.mass * p.gravity / _force(v))


def _pedal(v: Values, p: ModelParameters) -> list[DerivedValue]:
    return [
        DerivedValue("line_pressure", "at full pedal", "pressure", _pressure(v)),
        DerivedValue(
            "pedal_force", "foot for 1 g, pads warm, booster not yet at its end", "force", _pedal_for_one_g(v, p)
        ),
    ]


def _with_cold_pads(v: Values) -> Values:
    cold = {
        f"{a}.brake.pad_friction": v[f"{a}.brake.pad_friction_cold"]
        for a in AXLES
        if f"{a}.brake.pad_friction_cold" in v
    }
    return v | cold


def _cold(v: Values, cold: Values, p: ModelParameters) -> list[DerivedValue]:
    lost = 1.0 - _force(cold) / _force(v)
    return [
        DerivedValue("pedal_force_cold", "foot for 1 g at the first stop", "force", _pedal_for_one_g(cold, p)),
        DerivedValue("front_share_cold", "front share of the brake force at the first stop", "ratio", _share(cold)),
        DerivedValue("force_lost_cold", "brake force that cold pads lack at one pedal force", "ratio", lost),
    ]


def _run_energy(p: ModelParameters, run: DrivenRun | None) -> tuple[float, str]:
    """Heat of a run, and what it stands for."""
    mass = brakes.turning_mass(p)
    if run is None:
        before, after = REFERENCE_SPEEDS
        energy = REFERENCE_STOPS * brakes.stop_energy(before, after, mass=mass)
        return float(energy), f"{REFERENCE_STOPS} times from 65 to 32 km/h, no cooling between: what a run may need"
    driven = np.diff(run.elapsed) * (run.speed[1:] + run.speed[:-1]) / 2.0
    station = np.concatenate(([0.0], np.cumsum(driven)))
    energy = brakes.run_energy(station, run.speed, p) + brakes.stop_energy(run.speed[-1], 0.0, mass=mass)
    return float(
        energy
    ), f"one run of {run.name} with the stop behind the finish, engine braking counted as the brakes'"


def _heat(car: Car, p: ModelParameters, run: DrivenRun | None) -> list[DerivedValue]:
    energy, words = _run_energy(p, run)
    rows = [DerivedValue("run_energy", words, "energy", energy)]
    for axle, share in zip(AXLES, (p.brake_front_share, 1.0 - p.brake_front_share), strict=True):
        disc = getattr(car, axle).brake.disc_mass
        if disc is not None:
            rise = brakes.disc_temperature_rise(energy * share * DISC_SHARE, disc_mass=2.0 * disc.value)
            words = "mean rise of the discs in that run, cast iron; pads and faces get much hotter, in kelvin"
            rows.append(DerivedValue(f"{axle}.disc_rise", words, "ratio", float(rise)))
    return rows


def _feel(v: Values) -> list[DerivedValue]:
    pressure, ratio, bore = _pressure(v), v["brakes.pedal_ratio"], v["brakes.master_bore"]
    rows = []
    if "brakes.compliance" in v:
        fluid = brakes.pedal_travel_of_fluid(pressure, v["brakes.compliance"], pedal_ratio=ratio, bore=bore)
        words = "pedal travel at full pedal that hoses and calipers take up: feel, not stopping distance"
        rows.append(DerivedValue("fluid_travel", words, "length", float(fluid)))
    if "brakes.mount_stiffness" in v:
        mount = brakes.pedal_travel_of_mount(pressure, v["brakes.mount_stiffness"], pedal_ratio=ratio, bore=bore)
        words = "pedal travel at full pedal that the master cylinder's mount gives; a brace takes part of it"
        rows.append(DerivedValue("mount_travel", words, "length", float(mount)))
    return rows
