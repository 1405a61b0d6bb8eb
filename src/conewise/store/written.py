"""Values as TOML and as cells of a table, so that reading them gives the same values back."""

from __future__ import annotations

import json
from datetime import date, datetime, time
from decimal import Decimal
from enum import Enum
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel

if TYPE_CHECKING:
    from collections.abc import Mapping

_ESCAPES = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t", "\r": "\\r"}
_IN_QUOTES = (
    '"',
    "{",
    "[",
    "=",
    "+",
    "-",
    "@",
    "\t",
    "\r",
)  # what a table program or our own reader would take as more


def toml_entry(name: str, values: Mapping[str, Any]) -> str:
    """One `[[name]]` of a TOML file; what is None is left out."""
    lines = [f"[[{name}]]", *(f"{key} = {_toml(value)}" for key, value in values.items() if value is not None)]
    return "\n".join(lines) + "\n"


def toml_pairs(values: Mapping[str, Any]) -> str:
    """Lines `key = value`; what is None is left out."""
    return "".join(f"{key} = {_toml(value)}\n" for key, value in values.items() if value is not None)


def _toml(value: Any) -> str:
    """One value. A list of tables stands one table a line."""
    if isinstance(value, dict):
        inside = ", ".join(f"{key} = {_toml(item)}" for key, item in value.items() if item is not None)
        return f"{{ {inside} }}" if inside else "{}"
    if isinstance(value, list | tuple):
        items = [_toml(item) for item in value]
        if any(isinstance(item, dict) for item in value):
            return "[\n" + "".join(f"  {item},\n" for item in items) + "]"
        return f"[{', '.join(items)}]"
    return _plain_toml(value.value if isinstance(value, Enum) else value)


def _plain_toml(value: Any) -> str:
    """One value that is no list and no table."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, datetime | date) or (isinstance(value, time) and value.tzinfo is None):
        return str(value.isoformat())
    return _quoted(str(value))


def _quoted(text: str) -> str:
    return (
        '"'
        + "".join(_ESCAPES.get(c) or (f"\\u{ord(c):04x}" if ord(c) < 32 or ord(c) == 127 else c) for c in text)
        + '"'
    )


def cell(value: Any) -> str:
    """One cell of a table.

    Nothing is an empty cell; lists and tables are JSON, and so is a text that would be taken for something else.

    >>> cell(None), cell(62.345), cell("wet"), cell(""), cell("=A1"), cell((1.5, 2.0)), cell(True)
    ('', '62.345', 'wet', '""', '"=A1"', '[1.5, 2.0]', 'true')
    """
    if value is None:
        return ""
    if isinstance(value, Enum):
        return cell(value.value)
    if isinstance(value, str):
        is_odd = not value or value.startswith(_IN_QUOTES) or "\r" in value  # a lone \r ends a row for some readers
        return json.dumps(value, ensure_ascii=False) if is_odd else value
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, bool | list | tuple | dict):
        return json.dumps(value, ensure_ascii=False, default=str)
    return str(value) if isinstance(value, Decimal) else repr(value)


def cell_value(text: str) -> Any:
    """The value of a cell as a record's field takes it: None, a text, or what JSON says.

    >>> cell_value(""), cell_value("62.345"), cell_value('""'), cell_value('"=A1"'), cell_value("[1.5, 2.0]")
    (None, '62.345', '', '=A1', [1.5, 2.0])
    """
    if not text:
        return None
    return json.loads(text) if text[0] in '"{[' else text


def spared(record: type[BaseModel], values: Mapping[str, Any]) -> dict[str, Any]:
    """Values without those that are empty and would be so if nobody said anything."""
    kept = {}
    for name, value in values.items():
        default = record.model_fields[name].get_default(call_default_factory=True)
        is_spare = value in (None, "", (), []) and value == default
        if not is_spare:
            kept[name] = value
    return kept


def flat(record: type[BaseModel], values: Mapping[str, Any]) -> dict[str, Any]:
    """Values of a record for one row: the fields of a record inside it stand beside the others, with a dot."""
    row: dict[str, Any] = {}
    for name, field in record.model_fields.items():
        inner = field.annotation
        if isinstance(inner, type) and issubclass(inner, BaseModel):
            row |= {f"{name}.{key}": value for key, value in flat(inner, values.get(name, {})).items()}
        else:
            row[name] = values.get(name)
    return row


def nested(row: Mapping[str, Any]) -> dict[str, Any]:
    """The opposite of `flat`; empty cells are left out."""
    values: dict[str, Any] = {}
    for name, value in row.items():
        if value is None:
            continue
        *path, last = name.split(".")
        inside = values
        for part in path:
            inside = inside.setdefault(part, {})
        inside[last] = value
    return values
