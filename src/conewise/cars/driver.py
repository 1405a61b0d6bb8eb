"""The driver: how much of the friction, how quick the hands and feet, how exact at a cone."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from conewise.cars.fields import Value, quantity, quantity_of
from conewise.cars.toml_file import Table, read_toml
from conewise.file_forms import refuse_other_form
from conewise.quantities import Origin, Sourced
from conewise.records import Record

if TYPE_CHECKING:
    from pathlib import Path

_DEG = 0.017453292519943295


class Driver(Record):
    """A driver. Every number is there after reading; what nobody gave is typical for the level."""

    name: str = "driver"
    level: str = "regular"
    friction_share: Value = quantity("ratio", "share of the friction that is used (pace)", 0.6, 1, step=0.02, most=1)
    handwheel_rate: Value = quantity(
        "angular-rate", "greatest rate of the hand-wheel", 100 * _DEG, 1200 * _DEG, step=50 * _DEG, unit="deg/s"
    )
    pedal_time: Value = quantity("time", "pedal from nothing to full", 0.1, 1.5, step=0.05)
    scatter: Value = quantity("length", "standard deviation of the distance at a cone", 0.03, 1, step=0.05, unit="cm")
    launch_share: Value = quantity("ratio", "share of the possible force used at the launch", 0.4, 1, step=0.05, most=1)
    mass: Value = quantity("mass", "driver with helmet; replaces the car file's", 40, 140, step=10)


# Common practice, no source: friction share, hand-wheel [rad/s], pedal [s], scatter [m], launch.
_TYPICAL = {
    "novice": (0.80, 250 * _DEG, 0.6, 0.50, 0.70),
    "regular": (0.90, 400 * _DEG, 0.4, 0.30, 0.85),
    "expert": (0.97, 600 * _DEG, 0.25, 0.15, 0.95),
}
_SPREAD = (0.04, 60 * _DEG, 0.08, 0.08, 0.08)
_NAMES = ("friction_share", "handwheel_rate", "pedal_time", "scatter", "launch_share")
LEVELS = tuple(_TYPICAL)


def typical_driver(level: str, **told: Any) -> Driver:
    """Driver of a level ("novice", "regular", "expert"), what was `told` in place of the typical values."""
    filled: dict[str, Any] = {
        name: Sourced(value=value, uncertainty=spread, origin=Origin.TYPICAL)
        for name, value, spread in zip(_NAMES, _TYPICAL[level], _SPREAD, strict=True)
    }
    return Driver(level=level, **filled | told)


def read_driver(path: Path) -> Driver:
    """Driver of a TOML file; docs/formats-cars.md lists its fields.

    Raises
    ------
    CarFileMissingError
        If there is no such file.
    NotACarFileError
        If it is empty or no text.
    InputError
        If a value cannot be used; file, line and field are named.
    """
    return driver_of(read_toml(path))


def driver_of(table: Table) -> Driver:
    """Driver of a table; see `read_driver`."""
    refuse_other_form(table.values, "driver", where=table.file)
    level = table.choice("level", LEVELS) or "regular"
    told: dict[str, Any] = {"name": table.text("name", default="driver")}
    for name in (*_NAMES, "mass"):
        facts = quantity_of(Driver, name)
        assert facts is not None
        value = table.sourced(name, facts, origin=Origin.MEASURED)
        if value is not None:
            told[name] = value
    table.finish()
    return typical_driver(level, **told)
