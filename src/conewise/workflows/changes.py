"""Lists of changes and parts that the book has, and how many runs a driver has made in a car."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.cars.changes_file import changes_of, parts_of
from conewise.cars.toml_file import Table
from conewise.event.runs import Run
from conewise.store.texts import ChangesText

if TYPE_CHECKING:
    from conewise.workflows.book_place import BookPlace


@dataclass(frozen=True, slots=True, kw_only=True)
class ListOfChanges:
    """A list of the book.

    name: as its file says, else from its id.
    has_parts: whether it holds parts that can be bought, else changes.
    """

    id: str
    name: str
    has_parts: bool
    n_changes: int


def change_lists(place: BookPlace) -> tuple[ListOfChanges, ...]:
    """Every list of changes or parts of the book, by its name."""
    with place.opened(create=False) as book:
        texts = [kept.record for kept in book.every(ChangesText)]
    return tuple(sorted(map(_list, texts), key=lambda one: (one.name.casefold(), one.id)))


def _list(text: ChangesText) -> ListOfChanges:
    table = Table.of_text(text.text, file=text.id)
    has_parts = "part" in table
    name = table.values.get("name")
    called = name if isinstance(name, str) and name.strip() else text.id.replace("-", " ").capitalize()
    changes = (parts_of if has_parts else changes_of)(table)
    return ListOfChanges(id=text.id, name=called, has_parts=has_parts, n_changes=len(changes))


def runs_in_car(place: BookPlace, person: str, car: str) -> int:
    """How many runs of the book a driver has made in a car."""
    with place.opened(create=False) as book:
        runs = book.every(Run, person=person)
    return sum(kept.record.car == car and kept.record.outcome != "dns" for kept in runs)
