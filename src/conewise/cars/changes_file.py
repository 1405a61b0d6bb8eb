"""Lists of changes and of parts in TOML; docs/formats-cars.md and docs/formats-parts.md show full examples."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING, Any, Literal

from conewise.cars.car import field, field_names
from conewise.cars.change import CODES, DRIVER_FIELDS, KINDS, WORDS, Change, Edit, MovedMass
from conewise.cars.driver import Driver
from conewise.cars.fields import quantity_of
from conewise.cars.toml_file import Table, read_toml, usual_uncertainty
from conewise.cars.tyre_size import tyre_size, wheel_size
from conewise.file_forms import refuse_other_form
from conewise.money import money
from conewise.quantities import Origin, Sourced
from conewise.toml_source import nearest, short

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from conewise.cars.fields import QuantityField
    from conewise.money import Money

_ACTIONS: tuple[Literal["set", "add", "scale"], ...] = ("set", "add", "scale")
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


def read_parts(path: Path) -> tuple[Change, ...]:
    """Parts of a TOML file: changes that can be bought, with what a shop knows of them, in the file's order.

    Raises
    ------
    CarFileMissingError, NotACarFileError, InputError
        As `read_changes`; also where parts conflict with or need what the file does not have, or contradict themselves.
    """
    return parts_of(read_toml(path))


def changes_of(table: Table) -> tuple[Change, ...]:
    """Changes of a table; see `read_changes`."""
    refuse_other_form(table.values, "changes", where=table.file)
    table.text("name", default="")  # what people call the list
    changes = tuple(change_of(item) for item in table.tables("change"))
    table.finish()
    refuse_twins(changes, table)
    if not changes:
        table.fail("There is no change in this file.", hint="Write each change under its own [[change]].")
    return changes


def parts_of(table: Table) -> tuple[Change, ...]:
    """Parts of a table; see `read_parts`."""
    refuse_other_form(table.values, "parts", where=table.file)
    table.text("name", default="")  # what people call the list
    currency = table.text("currency", default="")
    money(0, where=table.place("currency"), currency=currency)
    items = table.tables("part")
    parts = tuple(_part(item, currency) for item in items)
    table.finish()
    refuse_twins(parts, table)
    if not parts:
        table.fail("There is no part in this file.", hint="Write each part under its own [[part]].")
    names = {part.name for part in parts}
    for item, part in zip(items, parts, strict=True):
        for key, others in (("conflicts", part.conflicts), ("needs", part.needs)):
            for other in others:
                if other not in names - {part.name}:
                    hint = f"{nearest(other, sorted(names))}Name another part of this file, letter by letter."
                    item.fail(f"'{part.name}' {key} '{other}'; there is no other part of that name.", key, hint=hint)
    _refuse_contradictions(parts, items)
    return parts


def _refuse_contradictions(parts: Sequence[Change], items: Sequence[Table]) -> None:
    """A part that can never be fitted with what it needs."""
    by_name = {part.name: part for part in parts}
    for item, part in zip(items, parts, strict=True):
        for name in part.needs:
            if part.excludes(by_name[name]):
                item.fail(
                    f"'{part.name}' needs '{name}', and the two cannot be fitted together.",
                    "needs",
                    hint="Two parts of one place, or that set the same field, exclude each other.",
                )


def refuse_twins(changes: Sequence[Change], table: Table) -> None:
    """Raise where two changes have one name."""
    names = [change.name for change in changes]
    for name in names:
        if names.count(name) > 1:
            table.fail(f"Two changes are called '{name}'.", hint="Give each change its own name.")


def change_of(table: Table) -> Change:
    """One change from its own table, whatever the table is called."""
    change = Change(**_common(table, currency=""))
    table.finish()
    if not change.edits and not change.masses:
        table.fail(f"'{change.name}' changes nothing.", "name", hint="Add [[change.edit]] or [[change.moved_mass]].")
    return change


def _part(table: Table, currency: str) -> Change:
    part = Change(
        **_common(table, currency=currency),
        driver_edits=tuple(_driver_edit(item) for item in table.tables("driver")),
        cautions=_texts(table, "cautions"),
        place=table.text("place", default=""),
        conflicts=_texts(table, "conflicts"),
        needs=_texts(table, "needs"),
        required=table.flag("required") or False,
        confirmed=table.flag("confirmed") or False,
    )
    table.finish()
    return part


def _common(table: Table, *, currency: str) -> dict[str, Any]:
    """What every change has, bought or not."""
    return {
        "name": table.text("name"),
        "kind": table.choice("kind", KINDS) or "other",
        "price": _price(table, currency),
        "hours": _hours(table),
        "note": table.text("note", default=""),
        "edits": tuple(_edit(item) for item in table.tables("edit")),
        "masses": tuple(_mass(item) for item in table.tables("moved_mass")),
        "source": table.file,
    }


def _price(table: Table, currency: str) -> Money | None:
    value = table.take("price")
    return None if value is None else money(value, where=table.place("price"), currency=currency)


def _hours(table: Table) -> float | None:
    value = table.take("hours")
    if value is None:
        return None
    number = table.number(value, "ratio", "hours")
    if number < 0:
        table.fail(f"{table.path('hours')} is {value}; it must be zero or more.", "hours")
    return number


def _texts(table: Table, key: str) -> tuple[str, ...]:
    """A list of lines of text; one line may stand without a list."""
    value = table.take(key)
    if value is None:
        return ()
    texts = [value] if isinstance(value, str) else value
    if not isinstance(texts, list) or not all(isinstance(text, str) and text.strip() for text in texts):
        table.fail(
            f"{table.path(key)} is {short(value)}; a list of texts is wanted.", key, hint=f'Write {key} = ["..."].'
        )
    return tuple(text.strip() for text in texts)


def _driver_edit(table: Table) -> Edit:
    """What a part does for the driver: a number of the driver's."""
    name = table.choice("field", DRIVER_FIELDS)
    if name is None:
        table.fail("The field is missing.", "field", hint=f"Write one of: {', '.join(DRIVER_FIELDS)}.")
    facts = quantity_of(Driver, name)
    assert facts is not None
    action = _action(table)
    raw, spread = table.take(action), table.take("uncertainty")
    table.finish()
    return Edit(fields=(name,), action=action, value=_quantity(table, action, facts, (raw, spread)))


def _action(table: Table) -> Literal["set", "add", "scale"]:
    actions = [action for action in _ACTIONS if action in table]
    if len(actions) != 1:
        table.fail("An edit says exactly one of set, add and scale.", "field")
    return actions[0]


def _edit(table: Table) -> Edit:
    names, action = _fields(table), _action(table)
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
