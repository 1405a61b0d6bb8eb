"""Classes of a rule book: which kinds of change and which numbers of a car each allows, and the class of a car."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from conewise.cars.car import Car, field
from conewise.errors import NotFoundError
from conewise.findings import Finding
from conewise.quantities import Origin, show
from conewise.records import Record

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

ALL = "all"
FREE = frozenset({"driver", "safety"})  # kinds of change that no class asks about
_SAME = 1e-9  # a limit is kept by what differs from it by less than this share


class UnknownClassError(NotFoundError):
    """The rules have no class of that name."""

    code = "class-unknown"

    def __init__(self, name: str, known: Sequence[CarClass], *, where: str) -> None:
        codes = ", ".join(f"{one.code} ({one.name})" for one in known)
        super().__init__(f"There is no class '{name}' in these rules.", where=where, hint=f"They have: {codes}.")


class Limit(Record):
    """Numbers of the car file that a class limits."""

    fields: tuple[str, ...]
    at_least: float | None = None  # SI
    at_most: float | None = None  # SI

    def broken(self, car: Car) -> list[str]:
        """What a car breaks, in words."""
        found = []
        for name in self.fields:
            if name not in car.values:
                found.append(f"{name} is not known")
                continue
            value, dimension = car.value(name), field(name).dimension
            for limit, sign, words in ((self.at_least, 1.0, "at least"), (self.at_most, -1.0, "at most")):
                if limit is not None and sign * (value - limit) < -_SAME * abs(limit):
                    shown = f"{show(limit, dimension)}; it is {show(value, dimension)}"
                    found.append(f"{name} must be {words} {shown}")
        return found


class CarClass(Record):
    """One class. `allows` are kinds of change against the car as it was sold, or "all"."""

    code: str
    name: str
    index: Annotated[float, Field(gt=0.0, le=2.0)] = 1.0  # factor on raw times
    allows: tuple[str, ...] = ()
    drives: tuple[str, ...] = ()  # none: every layout
    limits: tuple[Limit, ...] = ()
    source: str = ""

    def refusals(self, car: Car, modified: Collection[str]) -> list[str]:
        """Why the class does not take a car, in words; empty where it does."""
        forbidden = [] if ALL in self.allows else sorted(set(modified) - FREE - set(self.allows))
        found = [f"{self.code} does not allow changes of the kind {kind}" for kind in forbidden]
        if self.drives and car.drive not in self.drives:
            found.append(f"{self.code} is for {' and '.join(self.drives)} drive")
        return found + [f"in {self.code} {words}" for limit in self.limits for words in limit.broken(car)]

    def takes_all_of(self, other: CarClass) -> bool:
        """Whether every car that the other class takes is taken by this one."""
        kinds = ALL in self.allows or set(other.allows) <= set(self.allows)
        drives = not self.drives or (bool(other.drives) and set(other.drives) <= set(self.drives))
        return kinds and drives and all(_follows(limit, other.limits) for limit in self.limits)


def _follows(limit: Limit, others: Sequence[Limit]) -> bool:
    """Whether others are as strict as a limit in all its fields."""
    return all(_bounds(name, others).within(_bounds(name, [limit])) for name in limit.fields)


@dataclass(frozen=True, slots=True)
class _Bounds:
    low: float
    high: float

    def within(self, other: _Bounds) -> bool:
        return other.low <= self.low and self.high <= other.high


def _bounds(name: str, limits: Sequence[Limit]) -> _Bounds:
    """Both limits of a field."""
    own = [limit for limit in limits if name in limit.fields]
    lows = [limit.at_least for limit in own if limit.at_least is not None]
    highs = [limit.at_most for limit in own if limit.at_most is not None]
    return _Bounds(max(lows, default=float("-inf")), min(highs, default=float("inf")))


def contradictions(car_class: CarClass) -> list[str]:
    """Limits of a class that no car can keep, in words."""
    names = dict.fromkeys(name for limit in car_class.limits for name in limit.fields)
    found = []
    for name in names:
        bounds, dimension = _bounds(name, car_class.limits), field(name).dimension
        if bounds.low > bounds.high:
            asked = f"at least {show(bounds.low, dimension)} and at most {show(bounds.high, dimension)}"
            found.append(f"{name} must be {asked}")
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Classed:
    """The class of a car, and why."""

    car_class: CarClass | None  # None: no class takes it
    reason: str

    @property
    def code(self) -> str:
        """Its code; empty without one."""
        return "" if self.car_class is None else self.car_class.code

    @property
    def index(self) -> float:
        """Factor on raw times; 1 without a class."""
        return 1.0 if self.car_class is None else self.car_class.index


def class_of(car: Car, modified: Collection[str], classes: Sequence[CarClass]) -> Classed:
    """The first class that takes a car, in the order of the rules.

    Parameters
    ----------
    car : Car
        Completed with typical values.
    modified : collection of str
        Kinds of change made to it since it was sold.
    classes : sequence of CarClass
        The most restricted first.
    """
    before: list[str] = []
    for one in classes:
        refused = one.refusals(car, modified)
        if not refused:
            kinds = sorted(set(modified) - FREE)
            made = f"changed: {', '.join(kinds)}" if kinds else "as it was sold"
            reason = "; ".join([*before, f"{one.code} takes it ({made})"])
            return Classed(car_class=one, reason=reason)
        before.append(refused[0])
    return Classed(car_class=None, reason="; ".join(before) or "the rules have no class")


def class_named(name: str, classes: Sequence[CarClass], *, where: str) -> CarClass:
    """The class of a code or a name, whatever the case; UnknownClassError where there is none, saying `where`."""
    wanted = name.casefold().strip()
    for one in classes:
        if wanted in {one.code.casefold(), one.name.casefold()}:
            return one
    raise UnknownClassError(name, classes, where=where)


def class_findings(car: Car, classes: Sequence[CarClass]) -> list[Finding]:
    """What is doubtful in the rules, and which limits hang on values that nobody gave."""
    found = []
    for k, later in enumerate(classes):
        for earlier in classes[:k]:
            if earlier.takes_all_of(later):
                words = (
                    f"No car ends in {later.code}: {earlier.code} stands before it and takes every car that it takes."
                )
                found.append(Finding("warning", "class-unreachable", words, later.source))
                break
    named = dict.fromkeys(name for one in classes for limit in one.limits for name in limit.fields)
    unsure = [
        name for name in named
        if name in car.values and car.values[name].origin in {Origin.TYPICAL, Origin.ESTIMATED}
    ]  # fmt: skip
    if unsure:
        words = (
            f"The class hangs on values that the car file does not give: {', '.join(unsure)}. Measure or look them up."
        )
        found.append(Finding("warning", "class-rests-on-typical", words, car.source))
    return found
