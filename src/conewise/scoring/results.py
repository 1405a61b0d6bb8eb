"""Provisional results of an event day: places by class and over all classes, ties by rule."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from conewise.scoring.counting import DIGITS, CountedRun, best_first, counted

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from conewise.event.day import Entry, EventDay
    from conewise.event.rules import EventRules, ResultRule

WHO_DECIDES = "Provisional: the event's timekeeper decides."


@dataclass(frozen=True, slots=True, kw_only=True)
class ResultRow:
    """One entry with its runs.

    raw_time, cones: of the fastest run that counts [s]
    total: raw time and penalties of the counted runs; None without a time [s]
    indexed: total by the index of the class, to its last digit; None without a time [s]
    place, overall_place: in the class by total, and among all by indexed time; None without a time
    is_tied: the place in the class could not be decided by the rules
    """

    person: str
    name: str
    car: str
    car_name: str
    number: str
    class_code: str
    index: float
    runs: tuple[CountedRun, ...]
    raw_time: float | None
    cones: int
    total: float | None
    indexed: float | None
    behind: float | None = None  # total behind the first of the class [s]
    place: int | None = None
    overall_place: int | None = None
    is_tied: bool = False

    @property
    def best(self) -> CountedRun | None:
        """The fastest run that counts."""
        found = best_first(self.runs)
        return found[0] if found else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Results:
    """Rows of a day, in the order of classes and places."""

    event: str
    rows: tuple[ResultRow, ...]
    rule: ResultRule
    not_entered: tuple[str, ...] = ()  # who drove without an entry: outside the results

    def of_class(self, code: str) -> tuple[ResultRow, ...]:
        """The rows of one class."""
        return tuple(row for row in self.rows if row.class_code == code)

    @property
    def classes(self) -> tuple[str, ...]:
        """Codes in the order of the rows."""
        return tuple(dict.fromkeys(row.class_code for row in self.rows))

    @property
    def overall(self) -> tuple[ResultRow, ...]:
        """All rows by indexed time; those without one last."""
        last = len(self.rows) + 1
        return tuple(sorted(self.rows, key=lambda row: row.overall_place or last))


def day_results(day: EventDay, rules: EventRules, *, indexes: Mapping[str, float] | None = None) -> Results:
    """The results of a day as far as it has come.

    Parameters
    ----------
    day : EventDay
        With its runs as they stand; corrections are in them.
    rules : EventRules
        Penalties, how many runs count, and how ties are decided.
    indexes : mapping of str to float, optional
        Factor on total times by class code; 1 where a class has none. An entry's own index goes before.
    """
    runs: dict[tuple[str, str], list[CountedRun]] = {}
    for run in day.runs:
        if run.event == day.event.id:
            runs.setdefault((run.person, run.car), []).append(counted(run, rules.penalty))
    rows = [_row(entry, day, runs=runs, rules=rules, indexes=indexes or {}) for entry in day.event.entries]
    codes = list(dict.fromkeys([*day.event.classes, *(row.class_code for row in rows)]))
    by_class = [_in_class([row for row in rows if row.class_code == code], rules.results) for code in codes]
    rows = [row for in_class in by_class for row in in_class]
    overall = _standings(rows, rules.results, is_indexed=True)
    rows = [replace(row, overall_place=standing.place) for row, standing in zip(rows, overall, strict=True)]
    entered = {(row.person, row.car) for row in rows}
    strangers = dict.fromkeys(day.called(person) for person, car in runs if (person, car) not in entered)
    return Results(event=day.event.name, rows=tuple(rows), rule=rules.results, not_entered=tuple(strangers))


def _row(
    entry: Entry,
    day: EventDay,
    *,
    runs: Mapping[tuple[str, str], list[CountedRun]],
    rules: EventRules,
    indexes: Mapping[str, float],
) -> ResultRow:
    own = tuple(sorted(runs.get((entry.person, entry.car), []), key=lambda one: one.run.order))
    fastest = best_first(own)[: rules.results.counted_runs]
    total = None
    if len(fastest) == rules.results.counted_runs:
        total = round(sum(one.total for one in fastest if one.total is not None), DIGITS)
    index = entry.index or indexes.get(entry.class_code, 1.0)
    return ResultRow(
        person=entry.person,
        name=day.called(entry.person),
        car=entry.car,
        car_name=next((car.name for car in day.cars if car.id == entry.car), entry.car),
        number=entry.number,
        class_code=entry.class_code,
        index=index,
        runs=own,
        raw_time=fastest[0].run.raw_time if fastest else None,
        cones=fastest[0].run.cones if fastest else 0,
        total=total,
        indexed=None if total is None else _product(total, index),
    )


def _product(time: float, index: float) -> float:
    """A time by an index without what binary numbers add to it: nothing is rounded before it is shown or compared."""
    return float(Decimal(repr(time)) * Decimal(repr(index)))


@dataclass(frozen=True, slots=True)
class _Standing:
    """Where a row stands among others; all None without a time."""

    place: int | None = None
    behind: float | None = None
    is_tied: bool = False


def _in_class(rows: Sequence[ResultRow], rule: ResultRule) -> list[ResultRow]:
    """Rows of one class in the order of their places; those without a time last."""
    standings = _standings(rows, rule, is_indexed=False)
    placed = [
        replace(row, place=standing.place, behind=standing.behind, is_tied=standing.is_tied)
        for row, standing in zip(rows, standings, strict=True)
    ]
    return sorted(placed, key=lambda row: row.place or len(placed) + 1)


def _standings(rows: Sequence[ResultRow], rule: ResultRule, *, is_indexed: bool) -> list[_Standing]:
    """The standing of each row, by total or by indexed time."""
    keys = [_key(row, rule, factor=row.index if is_indexed else 1.0) for row in rows]
    order = sorted(key for key in keys if key is not None)
    first = {key: rank for rank, key in reversed(list(enumerate(order, start=1)))}
    n_alike = Counter(order)
    return [
        _Standing()
        if key is None
        else _Standing(first[key], round(key[0] - order[0][0], DIGITS), is_tied=n_alike[key] > 1)
        for key in keys
    ]


def _key(row: ResultRow, rule: ResultRule, *, factor: float) -> tuple[float, ...] | None:
    """What decides: the time; then, by rule, the other runs from the fastest on, or who was there first."""
    if row.total is None:
        return None
    time = round(_product(row.total, factor), DIGITS)
    if rule.ties == "next-best":
        return (time, *_others(row, rule.counted_runs, factor=factor))
    if rule.ties == "earlier":
        best = row.best
        return (time, float(best.run.order) if best else 0.0)
    return (time,)


def _others(row: ResultRow, n_counted: int, *, factor: float) -> list[float]:
    """Times behind the counted ones, the fastest first; who has none stands behind who has one."""
    rest = [
        round(_product(one.total, factor), DIGITS) for one in best_first(row.runs)[n_counted:] if one.total is not None
    ]
    return [*rest, float("inf")]
