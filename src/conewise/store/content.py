"""Records as JSON and back: private details in a text of their own."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import TYPE_CHECKING, Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError

from conewise.refusals import refusal
from conewise.store.errors import DamagedBookError

if TYPE_CHECKING:
    from collections.abc import Mapping

R = TypeVar("R", bound=BaseModel)


@dataclass(frozen=True, slots=True)
class Content:
    """A record in two texts.

    public: JSON of everything that is not private.
    private: JSON of what the record's classes list in `PRIVATE`, in the same nesting; None where nothing is given.
    """

    public: str
    private: str | None = None


def digest_of(*parts: object) -> str:
    """SHA-256 of what belongs together, by which a text that has changed on the disk is told."""
    text = json.dumps([part.isoformat() if isinstance(part, datetime) else part for part in parts], ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def private_names(kind: type[BaseModel]) -> frozenset[str]:
    """Fields that a class of records lists as private."""
    return frozenset(getattr(kind, "PRIVATE", ()))


@cache
def may_be_private(kind: type[BaseModel]) -> bool:
    """Whether records of a class, or records inside them, can have private details."""
    inside = {part for field in kind.model_fields.values() for part in _classes(field.annotation)}
    return bool(private_names(kind)) or any(may_be_private(part) for part in inside)


def _classes(annotation: Any) -> list[type[BaseModel]]:
    """Classes of records that a field can hold."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [found for part in get_args(annotation) for found in _classes(part)]


def content_of(record: BaseModel) -> Content:
    """The two texts of a record.

    Every field is written, defaults too: what a record said must not depend on later defaults.
    """
    public, private = split_values(record, as_json=True)
    return Content(public=_text(public), private=_text(private) if private else None)


def split_values(record: BaseModel, *, as_json: bool) -> tuple[dict[str, Any], dict[str, Any]]:
    """Values of a record by field, and its private details in the same nesting.

    With `as_json` dates and amounts are texts, without it they are what they are.
    """
    public = record.model_dump(mode="json" if as_json else "python")
    private = _taken_out(record, public)
    return public, private


def record_of(kind: type[R], content: Content, *, where: str) -> R:
    """The record of its two texts.

    Raises
    ------
    DamagedBookError
        If the text is not one of such a record.
    """
    try:
        if content.private is None:
            return kind.model_validate_json(content.public)
        return kind.model_validate_json(_text(_merged(json.loads(content.public), json.loads(content.private))))
    except (ValidationError, ValueError) as error:
        raise DamagedBookError(f"a record cannot be read ({_short(error)})", where=where) from None


def without_private(record: R) -> R:
    """The same record without its private details."""
    return type(record).model_validate_json(content_of(record).public)


def with_private_of(current: R, record: R) -> R:
    """A record with the private details that are known of it, field by field where it brings none of its own."""
    content = content_of(record)
    known = content_of(current).private
    if known is None:
        return record
    private = json.loads(known) | json.loads(content.private or "{}")
    return record_of(type(record), Content(content.public, _text(private)), where="private details")


def _taken_out(record: BaseModel, values: dict[str, Any]) -> dict[str, Any]:
    """Private details of a record and of those inside it; they are gone from `values` afterwards."""
    taken: dict[str, Any] = {}
    for name, field in type(record).model_fields.items():
        value = getattr(record, name)
        if name in private_names(type(record)):
            raw = values.pop(name)
            if value != field.get_default(call_default_factory=True):
                taken[name] = raw
        elif isinstance(value, BaseModel):
            if inner := _taken_out(value, values[name]):
                taken[name] = inner
        elif isinstance(value, tuple):
            rows = {
                str(i): inner
                for i, item in enumerate(value)
                if isinstance(item, BaseModel) and (inner := _taken_out(item, values[name][i]))
            }
            if rows:
                taken[name] = rows
    return taken


def _merged(values: Any, private: Mapping[str, Any]) -> Any:
    """Values with private details back in their places."""
    if isinstance(values, list):
        return [_merged(item, private[str(i)]) if str(i) in private else item for i, item in enumerate(values)]
    return {
        **values,
        **{
            name: _merged(values[name], raw) if isinstance(values.get(name), dict | list) else raw
            for name, raw in private.items()
        },
    }


def _text(values: Mapping[str, Any]) -> str:
    return json.dumps(values, ensure_ascii=False, separators=(",", ":"))


def _short(error: Exception) -> str:
    if isinstance(error, ValidationError):
        first = error.errors(include_url=False)[0]
        return refusal(".".join(map(str, first["loc"])) or "the whole", first).rstrip(".")
    return str(error)
