"""The whole advice: ranked rows, the runs they are compared with, and the best packages for a budget."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from conewise.advisor.kinds import CAUTIONS, LEAST_SHARE, MODEL_PARTS
from conewise.advisor.rows import Row, ranked

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from conewise.advisor.rows import Effect, Option
    from conewise.findings import Finding
    from conewise.money import Money

FEW_RUNS = 30  # runs in a car below which seat time comes first; common practice, no source
# What is done first, whatever it gains; everything else follows by its price for a tenth.
FIRST_KINDS = ("safety", "restraint", "brake")


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of a package: what is done together, and what it adds to what was done before."""

    names: tuple[str, ...]
    gain: float  # [s]
    price: Money
    hours: float | None  # None: of some part not known
    reason: str = ""  # why it stands here


@dataclass(frozen=True, slots=True, kw_only=True)
class PackageRow(Row):
    """A set of changes solved as one; `members` are its kinds with the share of the gain that is theirs."""

    members: tuple[tuple[str, float], ...] = ()

    @property
    def model(self) -> float:
        """Half width of the model part: alike within a kind, independent between kinds. [s]"""
        by_kind: dict[str, float] = {}
        for kind, gain in self.members:
            by_kind[kind] = by_kind.get(kind, 0.0) + abs(gain)
        parts = [
            max(max(MODEL_PARTS[kind].share, LEAST_SHARE) * gain, MODEL_PARTS[kind].floor)
            for kind, gain in by_kind.items()
        ]
        return max(float(np.linalg.norm(parts)), LEAST_SHARE * abs(self.gain))

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to mind before any of it: findings about the whole, the parts' own, those of every kind; each once."""
        found = (finding.message for finding in self.option.findings)
        of_kinds = (caution for kind, _ in self.members for caution in CAUTIONS[kind])
        return tuple(dict.fromkeys((*found, *self.option.cautions, *of_kinds)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Package:
    """A set of changes for a budget: solved as a whole, and as steps in the order in which to do them."""

    names: tuple[str, ...]  # in the order of the steps
    row: PackageRow
    price: Money
    hours: float | None
    expected: float  # gain by the integer program, before it was solved [s]
    steps: tuple[Step, ...]
    car_class: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rung:
    """The best set of changes for any money from its price up to that of the next rung, by sums and pairs alone."""

    names: tuple[str, ...]
    price: Money
    expected: float  # gain, not solved as a whole [s]


@dataclass(frozen=True, slots=True, kw_only=True)
class PackageAnswer:
    """The best packages, best first, and under which limits they were sought."""

    budget: Money | None
    hours: float | None
    car_class: str = ""  # class that the packages keep; empty where no rules were given
    packages: tuple[Package, ...] = ()
    findings: tuple[Finding, ...] = ()
    rungs: tuple[Rung, ...] = ()  # what other budgets would buy, cheapest first


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """Ranked rows with the runs they are compared with."""

    base: Mapping[str, float]  # time of each course without a change [s]
    rows: tuple[Row, ...]
    car: str = ""  # its name
    doubts: tuple[str, ...] = ()  # why the runs without a change are not to be relied on
    stopped: str = ""  # how far it came where somebody stopped it; empty where it is whole
    weights: Mapping[str, float] = field(default_factory=dict)  # of each course
    findings: tuple[Finding, ...] = ()
    car_class: str = ""  # of the car without a change; empty where no rules were given
    class_reason: str = ""
    driver_first: str = ""  # why seat time and safety items stand first; empty where they do not
    packages: PackageAnswer | None = None

    @property
    def best(self) -> Row | None:
        """The proposed change with the greatest gain that can be told; None where nothing gains."""
        rows = [row for row in self.rows if row.option.is_proposed and row.solved and not row.is_small]
        best = max(rows, key=lambda row: row.gain, default=None)
        return None if best is None or best.gain <= 0.0 else best


def advise(
    options: Sequence[Option],
    effects: Iterable[tuple[Effect, ...]],
    *,
    base: Mapping[str, float],
    weights: Mapping[str, float] | None = None,
    driver_first: str = "",
) -> Advice:
    """Options ranked by their gain, those that are not proposed or not solved last.

    Parameters
    ----------
    options : sequence of Option
    effects : iterable of tuple of Effect
        Of each option, one a course, in the order of the options.
    base : Mapping
        The time of each course without a change. [s]
    weights : Mapping, optional
        Weight of each course; equal where left out.
    driver_first : str, default ""
        Why seat time and safety items stand first; empty where they do not.
    """
    told = weights or {}
    rows = [Row(option=option, effects=of, weights=told) for option, of in zip(options, effects, strict=True)]
    return Advice(
        base=base, rows=ranked(rows, driver_first=bool(driver_first)), weights=told, driver_first=driver_first
    )


def in_order(rows: Mapping[str, Row], needs: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    """Names in the order in which to do them: what inspection asks for, safety, then the cheapest seconds.

    Parameters
    ----------
    rows : Mapping of name to Row
        The members of a package, each on its own.
    needs : Mapping of name to sequence of str
        What each member needs; that is done before it.
    """

    def place(name: str) -> tuple[bool, int, float, str]:
        row = rows[name]
        kind = row.option.kind
        rank = FIRST_KINDS.index(kind) if kind in FIRST_KINDS else len(FIRST_KINDS)
        price = 0.0 if row.option.price is None else float(row.option.price.amount)
        dear = price / row.gain if row.solved and row.gain > 0.0 else np.inf
        return not row.option.is_required, rank, dear, name

    ordered: dict[str, None] = {}

    def take(name: str, asking: tuple[str, ...]) -> None:
        for other in needs.get(name, ()):
            if other in rows and other not in asking:  # two that need each other are done together
                take(other, (*asking, other))
        ordered.setdefault(name)

    for name in sorted(rows, key=place):
        take(name, (name,))
    return tuple(ordered)
