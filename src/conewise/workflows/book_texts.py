"""Texts of the book by their ids and by what people call them: courses, cars, drivers, rule sets."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.errors import InputError
from conewise.toml_source import toml_values
from conewise.workflows.chosen import Named

if TYPE_CHECKING:
    from collections.abc import Iterable

    from conewise.records import Record
    from conewise.store.texts import StoredText
    from conewise.workflows.book_place import BookPlace


def book_names(place: BookPlace, kind: str) -> tuple[Named, ...]:
    """The texts of a kind that the book has, by name.

    Parameters
    ----------
    place : BookPlace
        The book; it must be there.
    kind : str
        Such as "course" or "car-file".
    """
    from conewise.store.kinds import BY_NAME

    with place.opened(create=False) as book, book.reading() as reader:
        return named(kept.record for kept in reader.every(BY_NAME[kind].record))


def names_of(place: BookPlace, wanted: Iterable[tuple[str, str]]) -> dict[tuple[str, str], str]:
    """What people call records of the book; the id itself where the book has no such record, or it has no name.

    Parameters
    ----------
    place : BookPlace
        The book; it must be there.
    wanted : iterable of (str, str)
        Kind and id of each.
    """
    from conewise.store.kinds import BY_NAME

    found: dict[tuple[str, str], str] = {}
    with place.opened(create=False) as book, book.reading() as reader:
        for kind, name in wanted:
            kept = reader.find(BY_NAME[kind].record, name)
            record = None if kept is None else kept.record
            found[kind, name] = _called(record) or name
    return found


def _called(record: Record | None) -> str:
    """The name of a record; a text without one by its id in words, as pages offer it."""
    from conewise.store.texts import StoredText

    if not isinstance(record, StoredText):
        return str(getattr(record, "name", ""))
    name = _name(record)
    return name if name != record.id else name.replace("-", " ").capitalize()


def named(texts: Iterable[StoredText]) -> tuple[Named, ...]:
    """Texts by name; where two have the same, the id stands behind it."""
    found = {text.id: _name(text) for text in texts}
    names = list(found.values())
    told = (Named(key, f"{name} ({key})" if names.count(name) > 1 else name) for key, name in found.items())
    return tuple(sorted(told, key=lambda one: one.name.casefold()))


def _name(text: StoredText) -> str:
    """The name or title in a text; its id where it has none, or cannot be read: whoever reads it says why."""
    try:
        values = toml_values(text.text, file=text.id)
    except InputError:
        return text.id
    name = values.get("name") or values.get("title")
    return name if isinstance(name, str) and name else text.id
