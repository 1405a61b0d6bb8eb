"""Texts of the book by their ids and by what people call them: courses, cars, drivers, rule sets."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.errors import InputError
from conewise.toml_source import toml_values
from conewise.workflows.chosen import Named

if TYPE_CHECKING:
    from collections.abc import Iterable

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
