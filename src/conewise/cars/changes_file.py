"""Lists of changes in TOML; docs/formats-cars.md shows a full example."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING, Any

from conewise.cars.car import field, field_names
from conewise.cars.change import CODES, KINDS, WORDS, Change, Edit, MovedMass
from conewise.cars.toml_file import Table, read_toml, usual_uncertainty
from conewise.cars.tyre_size import tyre_size, wheel_size
from conewise.quantities import Origin, Sourced

if TYPE_CHECKING:
    from pathlib import Path

    from conewise.cars.fields import QuantityField

_ACTIONS = ("set", "add", "scale")
_ROUGH = 0.1  # uncertainty of an addition or a factor's effect where none is given, of its amount; common practice


def read_changes(path: Path) -> tuple[Change, ...]:
    """Changes of a TOML file, in its order.

    Raises
    ------
    CarFileMissingError
        If there is no such file.
    NotACarFileError
        If it is empty or no text.
    InputError
        If a value cannot be used; file, line and field are named.
    """
    return changes_of(read_toml(path))


def changes_of(table: Table) -> tuple[Change, ...]:
    """Changes of a table; see `read_changes`."""
    changes = tuple(_change(item) for item in table.tables("change"))
    table.finish()
    if not changes:
        table.fail("There is no change in this file.", hint="Write each change under its own [[change]].")
    names = [change.name for change in changes]
    for name in names:
        if names.count(name) > 1:
            table.fail(f"Two changes are called '{name}'.", hint="Give each change its own name.")
    return changes


def _change(table: Table) -> Change:
    name = table.text("name")
    change = Change(
        name=name,
        kind=table.choice("kind", KINDS) or "other",
        price=_amount(table, "price"),
        hours=_amount(table, "hours"),
        note=table.text("note", default="") if "note" in table else "",
        edits=tuple(_edit(item) for item in table.tables("edit")),
        masses=tuple(_mass(item) for item in table.tables("moved_mass")),
        source=table.file,
    )
    table.finish()
    if not change.edits and not change.masses:
        table.fail(f"'{name}' changes nothing.", "name", hint="Add [[change.edit]] or [[change.moved_mass]].")
    return change


def _amount(table: Table, key: str) -> float | None:
    """A plain number that is not negative: money, or hours."""
    value = table.take(key)
    if value is None:
        return None
    number = table.number(value, "ratio", key)
    if number < 0:
        table.fail(f"{table.path(key)} is {value}; it must be zero or more.", key)
    return number


def _edit(table: Table) -> Edit:
    names = _fields(table)
    actions = [action for action in _ACTIONS if action in table]
    if len(actions) != 1:
        table.fail("An edit says exactly one of set, add and scale.", "field")
    action = actions[0]
    raw, spread = table.take(action), table.take("uncertainty")
    table.finish()
    value: Sourced | bool | str
    if any(name in CODES or name in WORDS or name == "brakes.abs" for name in names):
        if action != "set" or spread is not None:
            table.fail(f"{names[0]} can only be set, without an uncertainty.", action)
        value = _word(table, names, raw)
    else:
        value = _quantity(table, action, field(names[0]), (raw, spread))
        if len({field(name).dimension for name in names}) > 1:
            table.fail("The fields of one edit have different dimensions.", "field")
    return Edit.model_validate({"fields": names, "action": action, "value": value})


def _fields(table: Table) -> tuple[str, ...]:
    """The fields that an edit names: one, or a list."""
    raw = table.take("field")
    names = raw if isinstance(raw, list) else [raw]
    known = [*field_names(), *CODES, *WORDS, "brakes.abs"]
    for name in names:
        if not isinstance(name, str) or not (name in known or _is_numbered(name)):
            close = difflib.get_close_matches(str(name), known, n=1)
            meant = f"Did you mean '{close[0]}'?" if close else "docs/formats-cars.md lists every field."
            table.fail(f"There is no field '{name}' in a car.", "field", hint=meant)
    return tuple(names)


def _is_numbered(name: str) -> bool:
    parent, _, last = name.rpartition(".")
    return parent in {"transmission.gears", "engine.torque_curve"} and last.isdigit() and last != "0"


def _word(table: Table, names: tuple[str, ...], raw: Any) -> bool | str:
    place = f"{table.place('set')}, {table.path('set')}"
    for name in names:
        if name == "brakes.abs":
            if not isinstance(raw, bool):
                table.fail(f"brakes.abs is {raw!r}; true or false is wanted.", "set")
        elif name in CODES:
            (tyre_size if ".tyre." in name else wheel_size)(raw, where=place)
        elif raw not in WORDS[name]:
            table.fail(f"{name} is {raw!r}.", "set", hint=f"Write one of: {', '.join(WORDS[name])}.")
    return raw if isinstance(raw, bool) else str(raw)


def _quantity(table: Table, action: str, facts: QuantityField, given: tuple[Any, Any]) -> Sourced:
    """Amount of an edit and its uncertainty, both as `given`."""
    raw, spread = given
    dimension = "ratio" if action == "scale" else facts.dimension
    value = table.number(raw, dimension, action)
    if action == "scale" and value <= 0:
        table.fail(f"A factor of {raw} cannot be; it must be more than zero.", action)
    if spread is not None:
        width = abs(table.number(spread, dimension, "uncertainty"))
    elif action == "set":
        width = usual_uncertainty(value, facts, Origin.SPEC_SHEET)
    else:
        width = _ROUGH * abs(value - 1.0 if action == "scale" else value)
    return Sourced(value=value, uncertainty=width, origin=Origin.SPEC_SHEET)


def _mass(table: Table) -> MovedMass:
    raw, spread = table.take("mass"), table.take("uncertainty")
    if raw is None:
        table.fail("The mass is missing.", hint='Write mass = "-12 kg".')
    value = table.number(raw, "mass", "mass")
    width = 0.05 * abs(value) if spread is None else abs(table.number(spread, "mass", "uncertainty"))
    position, height, lateral = (table.take(key) for key in ("position", "height", "lateral"))
    table.finish()
    return MovedMass(
        mass=Sourced(value=value, uncertainty=width, origin=Origin.SPEC_SHEET),
        position=None if position is None else table.number(position, "ratio", "position"),
        height=None if height is None else table.number(height, "length", "height"),
        lateral=None if lateral is None else table.number(lateral, "length", "lateral"),
    )
