"""Settings in TOML: what can be adjusted, from where to where, in which steps. Full example: docs/formats-cars.md."""

from __future__ import annotations

import difflib
import itertools
from typing import TYPE_CHECKING, Any

from conewise.cars.adjustable import ADJUSTED, ALSO_MOVED, AlsoMoved, Setting, is_adjusted, last_part
from conewise.cars.car import field, field_names
from conewise.cars.toml_file import Table, read_toml

if TYPE_CHECKING:
    from pathlib import Path

MOST_POSITIONS = 200  # of one setting; more is a slip in the step


def read_settings(path: Path) -> tuple[Setting, ...]:
    """Settings of a file of ranges, in its order.

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
    found = settings_of(table)
    table.finish()
    if not found:
        table.fail("There is no setting in this file.", hint="Write each setting under its own [[setting]].")
    return found


def settings_of(table: Table) -> tuple[Setting, ...]:
    """The settings of a table; see `read_settings`."""
    found = tuple(_setting(item) for item in table.tables("setting"))
    names, moved = [setting.name for setting in found], [name for setting in found for name in setting.fields]
    for name in names:
        if names.count(name) > 1:
            table.fail(f"Two settings are called '{name}'.", "setting", hint="Give each setting its own name.")
    for name in moved:
        if moved.count(name) > 1:
            table.fail(f"Two settings move {name}.", "setting", hint="Leave one of them out, or join them.")
    return found


def _setting(table: Table) -> Setting:
    name = table.text("name")
    fields = _fields(table)
    given = _positions(table, fields)
    setting = Setting(
        name=name,
        fields=fields,
        also=tuple(_also(item) for item in table.tables("also")),
        note=table.text("note", default="") if "note" in table else "",
        where=table.place(),
        **given,
    )
    table.finish()
    if setting.values and setting.also:
        table.fail("A setting with values moves nothing beside them.", "also", hint="Use low, high and step instead.")
    return setting


def _fields(table: Table) -> tuple[str, ...]:
    raw = table.take("field")
    names = raw if isinstance(raw, list) else [raw]
    known = [name for name in field_names() if is_adjusted(name)]
    for name in names:
        if name not in known:
            close = difflib.get_close_matches(str(name), known, n=1)
            meant = f"Did you mean '{close[0]}'? " if close else ""
            hint = f"{meant}A setting moves brakes.front_share, or of an axle or tyre: {', '.join(sorted(ADJUSTED))}."
            table.fail(f"'{name}' is no field that a setting moves.", "field", hint=hint)
    if len({last_part(name) for name in names}) != 1 or not names:
        table.fail("The fields of one setting must be the same on both axles.", "field")
    return tuple(names)


def _positions(table: Table, fields: tuple[str, ...]) -> dict[str, Any]:
    """Either values, or low, high and step, in SI."""
    if "values" in table:
        return {"values": _values(table, fields)}
    for key in ("low", "high", "step"):
        if key not in table:
            hint = 'Write low = "...", high = "..." and step = "...", or values = ["...", "..."].'
            table.fail(f"The setting has no {key}.", key, hint=hint)
    low, high, step = (_amount(table, table.take(key), key, fields) for key in ("low", "high", "step"))
    if step <= 0.0:
        table.fail(f"The step is {table.values['step']}; it must be more than zero.", "step")
    if high <= low:
        table.fail("The range ends where it begins, or before.", "high", hint="Write low below high.")
    if (high - low) / step > MOST_POSITIONS:
        table.fail(f"The range holds more than {MOST_POSITIONS} steps.", "step", hint="Check the unit of the step.")
    if (high - low) < step:
        table.fail("The range is narrower than one step.", "step", hint="Widen the range, or make the step smaller.")
    return {"low": low, "high": high, "step": step}


def _values(table: Table, fields: tuple[str, ...]) -> tuple[float, ...]:
    raw = table.take("values")
    if any(key in table for key in ("low", "high", "step")):
        table.fail("A setting has either values, or low, high and step.", "values", hint="Leave one of the two out.")
    if not isinstance(raw, list) or not 2 <= len(raw) <= MOST_POSITIONS:
        table.fail("values must be a list of two positions or more.", "values")
    values = [_amount(table, item, "values", fields) for item in raw]
    if any(b <= a for a, b in itertools.pairwise(values)):
        table.fail("The values do not rise.", "values", hint="Write them from the smallest up, each once.")
    return tuple(values)


def _amount(table: Table, raw: Any, key: str, fields: tuple[str, ...]) -> float:
    facts = field(fields[0])
    value = table.number(raw, facts.dimension, key)
    if key != "step":
        table.refuse_impossible(value, facts, key, raw=raw)
    return value


def _also(table: Table) -> AlsoMoved:
    name = table.take("field")
    known = [known for known in field_names() if last_part(known) in ALSO_MOVED]
    if name not in known:
        hint = f"One of an axle's: {', '.join(ALSO_MOVED)}."
        table.fail(f"'{name}' is no field that a click moves beside its own.", "field", hint=hint)
    per_step = table.number(table.take("per_step"), field(name).dimension, "per_step")
    table.finish()
    return AlsoMoved(field=name, per_step=per_step)
