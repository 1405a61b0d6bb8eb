"""Car files in TOML: read with units, completed with typical values."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.cars import typical
from conewise.cars.car import DRIVES, Car
from conewise.cars.sections import sections
from conewise.cars.toml_file import Table, read_toml
from conewise.quantities import Origin

if TYPE_CHECKING:
    from pathlib import Path


def read_car(path: Path) -> Car:
    """Car of a TOML file, its gaps filled with typical values of its kind.

    Parameters
    ----------
    path : Path
        The file; docs/formats-cars.md lists its fields.

    Returns
    -------
    Car
        With a value for every field that the model needs; each says where it came from.

    Raises
    ------
    CarFileMissingError
        If there is no such file.
    NotACarFileError
        If it is empty or no text.
    InputError
        If a value cannot be used; file, line and field are named.
    """
    return car_of(read_toml(path))


def car_of(table: Table) -> Car:
    """Car of a table, its gaps filled; see `read_car`."""
    kind = table.choice("kind", typical.kinds())
    if kind is None:
        table.fail("The kind of car is missing.", "kind", hint=f"Write kind = one of: {', '.join(typical.kinds())}.")
    drive = table.choice("drive", DRIVES) or typical.drive_of(kind)
    name = table.text("name", default="car")
    parts = sections(table, origin=Origin.SPEC_SHEET)
    table.finish()
    given = Car(name=name, kind=kind, drive=drive, source=table.file, **parts)
    return typical.completed(given)
