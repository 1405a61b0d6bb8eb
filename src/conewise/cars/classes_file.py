"""Classes of a rule set in TOML; docs/formats-parts.md shows a full example."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from conewise.cars.car import DRIVES, field, field_names
from conewise.cars.change import KINDS
from conewise.cars.classes import ALL, CarClass, Limit, contradictions
from conewise.cars.toml_file import Table
from conewise.errors import InputError
from conewise.rule_set import rule_text
from conewise.toml_source import nearest, short

if TYPE_CHECKING:
    from pathlib import Path

_GREATEST_INDEX = 2.0


class RulesContradictError(InputError):
    """Rules that no car can keep."""

    code = "rules-contradict"
    default_hint = "Mend the limits named; the event's rule book says what is meant."

    def __init__(self, code: str, problems: list[str], *, where: str) -> None:
        super().__init__(f"No car can be in the class {code}: {'; '.join(problems)}.", where=where)


def read_classes(path: Path) -> tuple[CarClass, ...]:
    """Classes of a rule set, in the file's order.

    Raises
    ------
    UnknownRulesError
        If there is no such file, or it is no text.
    InputError
        If a value cannot be used; file, line and field are named.
    RulesContradictError
        If no car can keep the limits of a class.
    """
    found = rule_text(str(path))
    return classes_of(Table.of_text(found.text, file=found.file))


def classes_of(table: Table) -> tuple[CarClass, ...]:
    """Classes of the table of a whole rule set; its other topics are passed over."""
    items = table.tables("class")
    classes = tuple(_class(item) for item in items)
    if not classes:
        table.fail("These rules have no class.", hint="Write each class under its own [[class]].")
    for key in ("code", "name"):
        names = [getattr(one, key).casefold() for one in classes]
        for item, name in zip(items, names, strict=True):
            if names.count(name) > 1:
                item.fail(f"Two classes have the {key} '{item.take(key)}'.", key, hint="Give each class its own.")
    for item, one in zip(items, classes, strict=True):
        if problems := contradictions(one):
            raise RulesContradictError(one.code, problems, where=item.place("limit"))
    return classes


def _class(table: Table) -> CarClass:
    code = table.text("code")
    one = CarClass(
        code=code,
        name=table.text("name", default=code),
        index=_index(table),
        allows=_words(table, "allows", (*KINDS, ALL)),
        drives=_words(table, "drives", DRIVES),
        limits=tuple(_limit(item) for item in table.tables("limit")),
        source=table.file,
    )
    table.finish()
    return one


def _index(table: Table) -> float:
    value = table.take("index")
    if value is None:
        return 1.0
    number = table.number(value, "ratio", "index")
    if not 0.0 < number <= _GREATEST_INDEX:
        table.fail(f"{table.path('index')} is {value}; a factor on times is more than 0 and at most 2.", "index")
    return number


def _words(table: Table, key: str, known: tuple[str, ...]) -> tuple[str, ...]:
    value = table.take(key)
    words: list[Any] = [] if value is None else [value] if isinstance(value, str) else value
    if not isinstance(words, list):
        table.fail(f"{table.path(key)} is {short(value)}; a list of words is wanted.", key)
    for word in words:
        if word not in known:
            hint = f"{nearest(str(word), list(known))}Known here: {', '.join(known)}."
            table.fail(f"{table.path(key)} has {short(word)}, which is not known.", key, hint=hint)
    return tuple(dict.fromkeys(words))


def _limit(table: Table) -> Limit:
    raw = table.take("field")
    names = raw if isinstance(raw, list) else [raw]
    for name in names:
        if name not in field_names():
            hint = f"{nearest(str(name), list(field_names()))}docs/formats-cars.md lists every field."
            table.fail(f"There is no field {short(name)} in a car.", "field", hint=hint)
    if len({field(name).dimension for name in names}) != 1:
        table.fail("The fields of one limit have different dimensions, or there is none.", "field")
    ends: dict[str, float | None] = {}
    for key in ("at_least", "at_most"):
        value = table.take(key)
        ends[key] = None if value is None else table.number(value, field(names[0]).dimension, key)
    table.finish()
    if ends["at_least"] is None and ends["at_most"] is None:
        table.fail("A limit says at_least, at_most, or both.", "field")
    return Limit(fields=tuple(names), **ends)
