"""Tables of an event file as records: every wrong value is refused with file, line and field."""

from __future__ import annotations

import itertools
import re
from datetime import date, time
from typing import TYPE_CHECKING, Any, NoReturn, TypeVar

from pydantic import ValidationError

from conewise import quantities, toml_source
from conewise.records import Record
from conewise.refusals import wanted
from conewise.toml_source import FieldError, nearest, short

if TYPE_CHECKING:
    from pydantic.fields import FieldInfo
    from pydantic_core import ErrorDetails

R = TypeVar("R", bound=Record)

_MONTH = re.compile(r"\d{4}-(?:0[1-9]|1[0-2])")


class EventFieldError(FieldError):
    """A field of an event file is missing, unknown, of the wrong kind, or impossible."""

    code = "event-field"
    default_hint = "docs/formats-event.md lists every field with an example."


class Table(toml_source.Table):
    """One table of an event file or of a topic of a rule set."""

    error = EventFieldError

    def record(self, kind: type[R], **more: Any) -> R:
        """The table as a record; `more` are fields that stand elsewhere."""
        raw = {name: self._read_value(name, info) for name, info in kind.model_fields.items() if name in self}
        known = [name for name in kind.model_fields if name not in more]
        for key in self.values:
            if key not in kind.model_fields:
                hint = f"{nearest(key, known)}Known here: {', '.join(known)}."
                self.fail(f"There is no field '{key}' here.", key, hint=hint)
        try:
            return kind.model_validate(raw | more)
        except ValidationError as error:
            self.refuse(error.errors()[0])

    def refuse(self, error: ErrorDetails) -> NoReturn:
        """Raise the error of what pydantic does not take."""
        path = error["loc"]
        if not path:  # two fields against each other: the sentence names the first
            key = error["msg"].removeprefix("Value error, ").split(":", 1)[0]
            self.fail(f"{wanted(error)}.", key if key in self else "")
        inner, key = self._innermost(path)
        name = ".".join(str(part + 1 if isinstance(part, int) else part) for part in path)
        if error["type"] == "missing":
            inner.fail(f"'{name}' is missing.", hint=f"Add {path[-1]} = ... here.")
        if error["type"] == "extra_forbidden":
            inner.fail(f"There is no field '{name}' here.", key)
        inner.fail(f"'{name}' is {_shown(error['input'])}; {wanted(error)}.", key)

    def _innermost(self, path: tuple[str | int, ...]) -> tuple[Table, str]:
        """The table that a path leads into, and the key there; a list of tables in one line counts as one."""
        names = list(itertools.takewhile(lambda part: isinstance(part, str), path))
        section = (*self.section, *names[:-1])
        return type(self)({}, self.file, self.lines, section, self.label), str(names[-1])

    def _read_value(self, key: str, info: FieldInfo) -> Any:
        return self._in_si(self.take(key), info, key)

    def _in_si(self, raw: Any, info: FieldInfo, name: str) -> Any:
        """A raw value: quantities in SI, months as days, plain numbers as text where text is held."""
        dimension = dimension_of(info)
        if dimension is not None:
            inner, key = self._innermost(tuple(part for part in name.split(".") if not part.isdigit()))
            return quantities.parse(raw, dimension, where=name, file=inner.file_and_line(key))
        if isinstance(raw, str) and _MONTH.fullmatch(raw) and _holds(info.annotation, date):
            return f"{raw}-01"
        if isinstance(raw, int) and not isinstance(raw, bool) and _holds(info.annotation, str):
            return str(raw)
        nested = _nested(info.annotation)
        if nested is None:
            return raw
        if isinstance(raw, list):
            return [self._nested_in_si(item, nested, f"{name}.{n}") for n, item in enumerate(raw, start=1)]
        return self._nested_in_si(raw, nested, name)

    def _nested_in_si(self, raw: Any, kind: type[Record], name: str) -> Any:
        if not isinstance(raw, dict):
            return raw
        fields = kind.model_fields
        return {
            key: self._in_si(value, fields[key], f"{name}.{key}") if key in fields else value
            for key, value in raw.items()
        }


def dimension_of(info: FieldInfo) -> Any:
    """What a field of numbers with a unit holds; None for every other field."""
    extra: Any = info.json_schema_extra
    return extra.get("dimension") if isinstance(extra, dict) else None


def _holds(annotation: Any, kind: type) -> bool:
    """Whether an annotation is a kind, such as `Day | None` is a date."""
    return annotation is kind or any(_holds(part, kind) for part in getattr(annotation, "__args__", ()))


def _nested(annotation: Any) -> type[Record] | None:
    """The record within an annotation such as `tuple[TyreState, ...]` or `Licence | None`."""
    if isinstance(annotation, type) and issubclass(annotation, Record):
        return annotation
    inner = getattr(annotation, "__args__", ())
    return next((found for part in inner if (found := _nested(part)) is not None), None)


def _shown(value: Any) -> str:
    """A raw value for a message; days and clock times as a file has them."""
    return value.isoformat() if isinstance(value, date | time) else short(value)
