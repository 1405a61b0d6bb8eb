"""Who refers to whom within a day: every id that is named must be there."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from conewise.event.day import EventDay
    from conewise.event.tables import Table
    from conewise.records import Record

# Heading in the file, field of the day, and what its fields refer to.
_LINKS: dict[str, tuple[str, dict[str, str]]] = {
    "entry": ("", {"person": "person", "car": "car", "helmet": "helmet"}),
    "person": ("people", {"mentor": "person"}),
    "car": ("cars", {"owner": "person"}),
    "helmet": ("helmets", {"owner": "person"}),
    "loan": ("loans", {"helmet": "helmet", "person": "person"}),
    "check": ("checks", {"car": "car"}),
    "change": ("changes", {"car": "car"}),
    "ride_along": ("ride_alongs", {"driver": "person", "passenger": "person"}),
    "expense": ("expenses", {"person": "person"}),
    "packed": ("packed", {"person": "person"}),
}


def refuse_broken_links(day: EventDay, top: Table) -> None:
    """Refuse a day in which something names a person, car or helmet that it does not have.

    Raises
    ------
    conewise.event.tables.EventFieldError
        With the line of the field.
    """
    known = {
        "person": [one.id for one in day.people],
        "car": [one.id for one in day.cars],
        "helmet": [one.id for one in day.helmets],
    }
    for heading, (field, links) in _LINKS.items():
        records = day.event.entries if heading == "entry" else getattr(day, field)
        tables = top.tables(heading)
        for record, table in zip(records, tables, strict=True):
            for name, kind, key in _named(record, links):
                if key not in known[kind]:
                    listed = ", ".join(known[kind][:12]) or "none"
                    hint = f"Ids of [[{kind}]] in this file: {listed}."
                    table.fail(f"'{name}' is \"{key}\"; there is no {kind} of that id.", name, hint=hint)


def _named(record: Record, links: dict[str, str]) -> Iterator[tuple[str, str, str]]:
    """Field, kind and id of what a record refers to."""
    for name, kind in links.items():
        if key := getattr(record, name):
            yield name, kind, key
