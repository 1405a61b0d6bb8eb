"""Lists of the day: what to pack, what a first event asks, what the season has cost."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from importlib import resources
from typing import TYPE_CHECKING, Literal

from conewise.event.people import age
from conewise.event.tables import Table
from conewise.records import Line, Record

if TYPE_CHECKING:
    from collections.abc import Iterable

    from conewise.event.day import EventDay, Expense

_FILE = "2026.toml"


class _PackingItem(Record):
    """One thing of the packing list, and when it is asked for."""

    item: Line
    weather: tuple[Literal["", "dry", "wet", "hot", "cold"], ...] = ()
    shared_car: bool = False
    minor: bool = False


@dataclass(frozen=True, slots=True)
class PackingRow:
    """One thing to pack, and whether it is in the car."""

    item: str
    is_packed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonCost:
    """Money of one year in one currency, in all and by kind."""

    year: int
    currency: str
    total: Decimal
    by_kind: dict[str, Decimal]


def first_event_card() -> tuple[str, ...]:
    """What somebody needs to know who comes for the first time, one sentence each."""
    return tuple(map(str, _data().values["first_event"]))


def packing_list(day: EventDay, *, adult_age: int = 18) -> tuple[PackingRow, ...]:
    """What to pack for a day, by its weather and who comes.

    Parameters
    ----------
    day : EventDay
        With what is packed already.
    adult_age : int, default 18
        Below it a guardian signs.
    """
    event = day.event
    cars = [entry.car for entry in event.entries]
    has_minor = any(person.born and age(person.born, event.day) < adult_age for person in day.people)
    items = [one.record(_PackingItem) for one in _data().tables("item")]
    wanted = [
        item.item
        for item in items
        if (not item.weather or event.weather in item.weather)
        and (not item.shared_car or len(set(cars)) < len(cars))
        and (not item.minor or has_minor)
    ]
    packed = {one.item: one.is_packed for one in day.packed if one.event == event.id}
    rows = [PackingRow(item, packed.get(item, False)) for item in wanted]
    return (*rows, *(PackingRow(item, state) for item, state in packed.items() if item not in wanted))


def season_costs(days: Iterable[EventDay]) -> tuple[SeasonCost, ...]:
    """What the events of each year have cost, by currency; the fee counts once for each entry unless it was entered.

    An expense of the kind `entry` at an event stands in place of its fee.
    """
    found: dict[tuple[int, str], dict[str, Decimal]] = {}
    seen: set[str] = set()
    for day in days:
        fresh = [one for one in day.expenses if one.id not in seen]
        seen.update(one.id for one in fresh)
        for expense in fresh:
            _add(found, expense)
        fee = day.event.fee
        if fee is not None and not any(one.kind == "entry" for one in day.expenses if one.event == day.event.id):
            kinds = found.setdefault((day.event.day.year, fee.currency), {})
            kinds["entry"] = kinds.get("entry", Decimal(0)) + fee.amount * len(day.event.entries)
    return tuple(
        SeasonCost(year=year, currency=currency, total=sum(kinds.values(), Decimal(0)), by_kind=kinds)
        for (year, currency), kinds in sorted(found.items())
    )


def _add(found: dict[tuple[int, str], dict[str, Decimal]], expense: Expense) -> None:
    kinds = found.setdefault((expense.day.year, expense.money.currency), {})
    kinds[expense.kind] = kinds.get(expense.kind, Decimal(0)) + expense.money.amount


def _data() -> Table:
    text = resources.files("conewise").joinpath("reference", "day", _FILE).read_text(encoding="utf-8")
    return Table.of_text(text, file=f"day/{_FILE}")
