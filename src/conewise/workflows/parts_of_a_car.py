"""One part of a car on a sheet, and its mass budget: what `conewise car show --part` and `conewise car mass` answer."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.cars.changes_file import changes_of, parts_of
from conewise.cars.driver import typical_driver
from conewise.cars.mass_budget import BudgetRow, MassState, mass_budget, mass_state, passenger
from conewise.errors import InputError
from conewise.quantities import parse, show
from conewise.vehicle.brake_sheet import DrivenRun, brake_sheet
from conewise.vehicle.gearing import gearing_sheet
from conewise.vehicle.suspension_sheet import suspension_sheet
from conewise.workflows import predict
from conewise.workflows.named import car_from, course_from, table_from

if TYPE_CHECKING:
    from conewise.cars.car import Car
    from conewise.cars.change import Change
    from conewise.quantities import System
    from conewise.vehicle.sheet import PartSheet, SheetTable
    from conewise.workflows.named import Source

SHEETS = {"brakes": brake_sheet, "suspension": suspension_sheet, "gearing": gearing_sheet}


class NothingMovedError(InputError):
    """A mass budget of no item."""

    code = "nothing-moved"
    default_hint = 'Name --changes FILE with [[change.moved_mass]], or --passenger "75 kg"; docs/formats-cars.md.'

    def __init__(self, where: str) -> None:
        super().__init__("There is no mass to put in or to take out.", where=where)


@dataclass(frozen=True, slots=True, kw_only=True)
class MassAnswer:
    """The mass budget of a car: as it is, and after each item and those before it."""

    car: Car
    start: MassState
    rows: tuple[BudgetRow, ...]

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        return {
            "car": self.car.name,
            "start": _state_dict(self.start),
            "items": [{"name": row.name, "mass_kg": row.mass, "after": _state_dict(row.after)} for row in self.rows],
        }


def part_sheet(path: Source, part: str, *, course: Source | None = None) -> PartSheet:
    """The sheet of one part of a car.

    Parameters
    ----------
    path : Path
        Car file, or set-up history.
    part : str
        One of `SHEETS`.
    course : Path or None
        Course file, for the heat of its brakes: the quasi-steady run of a typical expert through it.

    Raises
    ------
    CarFileMissingError
        If there is no such file.
    InputError
        If the file cannot be used.
    InfeasibleError
        If there is no way through the course.
    """
    car = car_from(path)
    if course is None or part != "brakes":
        return SHEETS[part](car)
    found = predict.solve(course_from(course), car, level="quasi-steady", driver=typical_driver("expert"))
    return brake_sheet(car, run=DrivenRun(name=found.course, elapsed=found.elapsed, speed=found.speed))


def sheet_dict(sheet: PartSheet) -> dict[str, object]:
    """A sheet for JSON: SI units, named by their dimension."""
    return {
        "part": sheet.part,
        "values": [
            {"name": v.name, "meaning": v.meaning, "value_si": v.value, "dimension": v.dimension, "per": v.per}
            for v in sheet.values
        ],
        "table": {
            "title": sheet.table.title,
            "columns": [{"name": name, "dimension": dimension} for name, dimension in sheet.table.columns],
            "rows": [{"name": name, "values_si": list(values)} for name, values in sheet.table.rows],
        },
        "notes": list(sheet.notes),
        "findings": [
            {"severity": f.severity, "code": f.code, "message": f.message, "where": f.where} for f in sheet.findings
        ],
    }


def table_rows(table: SheetTable, system: System) -> list[tuple[str, ...]]:
    """Rows of a table in words; empty where there is no number."""
    dimensions = [dimension for _, dimension in table.columns]
    return [
        (label, *("" if math.isnan(x) else show(x, d, system) for x, d in zip(values, dimensions, strict=True)))
        for label, values in table.rows
    ]


def answer_mass(path: Source, *, changes: Source | None = None, passenger_mass: str | None = None) -> MassAnswer:
    """What moved masses do to a car.

    Parameters
    ----------
    path : Path
        Car file, or set-up history.
    changes : Path or None
        File of changes or parts; those with moved mass are taken, in its order.
    passenger_mass : str or None
        Mass of a passenger beside the driver, with its unit.

    Raises
    ------
    NothingMovedError
        If nothing is moved.
    InputError
        If a file or a quantity cannot be used, or more is taken out than there is.
    """
    car = car_from(path)
    items: list[Change] = []
    if changes is not None:
        table = table_from(changes)
        items += (parts_of if "part" in table else changes_of)(table)
    if passenger_mass is not None:
        seated = parse(passenger_mass, "mass", where="--passenger")
        if seated <= 0.0:
            raise NothingMovedError("--passenger")
        items.append(passenger(car, seated))
    rows = mass_budget(car, items)
    if not rows:
        raise NothingMovedError(str(changes or path))
    return MassAnswer(car=car, start=mass_state(car), rows=rows)


def _state_dict(state: MassState) -> dict[str, float]:
    return {
        "mass_kg": state.mass,
        "front_share": state.front_share,
        "left_shift_m": state.lateral,
        "cg_height_m": state.cg_height,
        "yaw_inertia_kg_m2": state.yaw_inertia,
        "roll_inertia_kg_m2": state.roll_inertia,
    }
