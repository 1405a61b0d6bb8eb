"""Car files in TOML: read with units, completed with typical values."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from conewise.cars import typical
from conewise.cars.adjustable_file import settings_of
from conewise.cars.car import DRIVES, Car
from conewise.cars.change import KINDS
from conewise.cars.sections import sections
from conewise.cars.setup import car_on
from conewise.cars.setup_file import KEY, base_path, history_of, is_history
from conewise.cars.toml_file import Table, read_toml
from conewise.file_forms import refuse_other_form
from conewise.quantities import Origin
from conewise.toml_source import nearest, short

if TYPE_CHECKING:
    from pathlib import Path

    from conewise.cars.adjustable import Setting
    from conewise.cars.setup import SetupHistory


def read_car(path: Path) -> Car:
    """Car of a TOML file, its gaps filled with typical values of its kind; of a set-up history, with all its entries.

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
    table = read_toml(path)
    if is_history(table):
        history = history_of(table)
        return car_on(car_of(base_table(history)), history, datetime.max)  # noqa: DTZ901  # clocks without a zone
    return car_of(table)


def settings_of_car(path: Path) -> tuple[Setting, ...]:
    """Settings that a car file lists, or the one that a set-up history begins with; none where it lists none."""
    table = read_toml(path)
    return settings_of(base_table(history_of(table)) if is_history(table) else table)


def base_table(history: SetupHistory) -> Table:
    """The car file that a set-up history belongs to, as a table."""
    table = read_toml(base_path(history))
    if is_history(table):
        table.fail("This is a set-up history, not a car file.", KEY, hint=f"{history.source} must name a car file.")
    return table


def car_of(table: Table) -> Car:
    """Car of a table, its gaps filled; see `read_car`."""
    refuse_other_form(table.values, "car", where=table.file)
    kind = table.choice("kind", typical.kinds())
    if kind is None:
        table.fail("The kind of car is missing.", "kind", hint=f"Write kind = one of: {', '.join(typical.kinds())}.")
    drive = table.choice("drive", DRIVES) or typical.drive_of(kind)
    name = table.text("name", default="car")
    modified = _modified(table)
    parts = sections(table, origin=Origin.SPEC_SHEET)
    settings_of(table)  # what can be adjusted is no part of the car, but it must be right all the same
    table.finish()
    given = Car(name=name, kind=kind, drive=drive, modified=modified, source=table.file, **parts)
    return typical.completed(given)


def _modified(table: Table) -> tuple[str, ...] | None:
    """Kinds of change made since the car was sold; None where the file does not say."""
    value = table.take("modified")
    if value is None:
        return None
    if not isinstance(value, list):
        table.fail(f"modified is {short(value)}; a list of kinds of change is wanted.", "modified")
    for word in value:
        if word not in KINDS:
            hint = f"{nearest(str(word), list(KINDS))}Known here: {', '.join(KINDS)}."
            table.fail(f"modified has {short(word)}, which is no kind of change.", "modified", hint=hint)
    return tuple(dict.fromkeys(value))
