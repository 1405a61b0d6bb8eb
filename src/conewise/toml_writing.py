"""Values as TOML writes them: what `tomllib` reads back is the same value, to the last digit."""

from __future__ import annotations

import json
import re
from datetime import date, datetime, time
from decimal import Decimal
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

_BARE_KEY = re.compile(r"^[A-Za-z0-9_-]+$")


def toml_entries(fields: Mapping[str, Any]) -> str:
    """One `key = value` a line."""
    return "\n".join(f"{toml_key(key)} = {toml_value(value)}" for key, value in fields.items())


def toml_key(key: str) -> str:
    """A key, in quotation marks where it needs them."""
    return key if _BARE_KEY.match(key) else toml_string(key)


def toml_value(value: Any) -> str:
    """A value: text, number, flag, date, clock time, list or table; a decimal number becomes text.

    Examples
    --------
    >>> toml_value({"name": "a", "is_open": True, "sizes": [0.1, 2]})
    '{ name = "a", is_open = true, sizes = [0.1, 2] }'
    """
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{toml_key(k)} = {toml_value(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(toml_value(item) for item in value) + "]"
    if isinstance(value, str | Decimal):
        return toml_string(str(value))
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, date | datetime | time):
        return value.isoformat()
    return repr(value)


def toml_string(text: str) -> str:
    """A basic string; its escapes are those of JSON, and DEL."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
