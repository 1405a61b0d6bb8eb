"""The best sets of changes for a budget and for hours: an integer program over gains and interactions of pairs."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.advisor.silence import silent

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

Array = NDArray[np.float64]
Pair = tuple[int, int]  # of indices, the smaller first

CHEAPER = 1e-6  # of two equal sets the cheaper or smaller one: what all prices together are worth [s]
LEAST_EXTRA = 0.002  # interactions below this are left to the exact solve [s]
MOST_TRIES = 200  # sets that are looked at before the search is given up
_MILLI = 1e3  # the program counts in ms: its own tolerance is 1e-6
_FREE = 1e-9  # a set that is worth less than this is no set [s]


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A change that could be in a set."""

    name: str
    gain: float  # alone [s]
    price: Decimal = Decimal(0)
    hours: float = 0.0
    is_required: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """What may be chosen, and under which limits. Pairs hold indices of candidates."""

    candidates: Sequence[Candidate]
    extras: Mapping[Pair, float] = field(default_factory=dict)  # gain of a pair over the sum of its two [s]
    exclusive: frozenset[Pair] = frozenset()
    needs: frozenset[Pair] = frozenset()  # the first needs the second, in this order
    budget: Decimal | None = None
    hours: float | None = None

    def value(self, chosen: Sequence[int]) -> float:
        """Gain of a set by its members and pairs. [s]"""
        alone = sum(self.candidates[k].gain for k in chosen)
        return float(alone + sum(self.extras.get(pair, 0.0) for pair in combinations(sorted(chosen), 2)))

    def price(self, chosen: Sequence[int]) -> Decimal:
        """Price of a set."""
        return sum((self.candidates[k].price for k in chosen), Decimal(0))

    def has_idle(self, chosen: Sequence[int]) -> bool:
        """Whether a member of a set could be left out without a loss, and nothing asks for it."""
        whole = self.value(chosen)
        asked = {second for first, second in self.needs if first in chosen}
        spare = [k for k in chosen if k not in asked and not self.candidates[k].is_required]
        return any(self.value([k for k in chosen if k != one]) >= whole - _FREE for one in spare)

    def may_serve(self, k: int) -> bool:
        """Whether a candidate is required, needed by another, or can add a gain to some set; else it is idle in all."""
        one = self.candidates[k]
        most = one.gain + sum(max(extra, 0.0) for pair, extra in self.extras.items() if k in pair)
        return one.is_required or any(second == k for _, second in self.needs) or most > _FREE

    def is_possible(self, chosen: Sequence[int]) -> bool:
        """Whether a set keeps every limit."""
        members = set(chosen)
        pairs = set(combinations(sorted(chosen), 2))
        required = {k for k, one in enumerate(self.candidates) if one.is_required}
        worked = sum(self.candidates[k].hours for k in chosen)
        return (
            not pairs & self.exclusive
            and all(second in members for first, second in self.needs if first in members)
            and required <= members
            and (self.budget is None or self.price(chosen) <= self.budget)
            and (self.hours is None or worked <= self.hours + _FREE)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """The best sets, best first, and whether the search was given up."""

    sets: tuple[tuple[int, ...], ...]
    is_given_up: bool = False


def best_sets(choice: Choice, n: int, *, accept: Callable[[tuple[int, ...]], bool] | None = None) -> Found:
    """The sets of the greatest value that keep every limit, best first; none that gains nothing or has an idle member.

    Parameters
    ----------
    choice : Choice
    n : int
        Sets wanted.
    accept : callable, optional
        Asked for every set found, as a tuple of indices; a set that it refuses is passed over.

    Notes
    -----
    Maximise sum g_i x_i + sum q_ij y_ij over binary x, with y_ij = x_i x_j written as y_ij <= x_i, y_ij <= x_j and
    y_ij >= x_i + x_j - 1. A set that was found is cut off by sum_{i in S} (1 - x_i) + sum_{i not in S} x_i >= 1.

    References
    ----------
    Linearisation of products of binaries: Glover and Woolsey, Converting the 0-1 polynomial programming problem to a
    0-1 linear program, Operations Research 22, 1974 (from memory). Solver: HiGHS by scipy.optimize.milp.
    """
    program = _Program(choice)
    found: list[tuple[int, ...]] = []
    cuts: list[tuple[int, ...]] = []
    while len(found) < n:
        if len(cuts) >= MOST_TRIES:
            return Found(sets=tuple(found), is_given_up=True)
        chosen = program.best(cuts)
        if chosen is None or (choice.value(chosen) <= _FREE and not _has_required(choice)):
            break
        cuts.append(chosen)
        if choice.is_possible(chosen) and not choice.has_idle(chosen) and (accept is None or accept(chosen)):
            found.append(chosen)
    return Found(sets=tuple(sorted(found, key=lambda s: -choice.value(s))))


def _has_required(choice: Choice) -> bool:
    return any(one.is_required for one in choice.candidates)


class _Program:
    """The integer program of a choice; unknowns are x of the candidates, then y of the pairs that interact."""

    def __init__(self, choice: Choice) -> None:
        self.n = len(choice.candidates)
        self.pairs = [pair for pair, extra in sorted(choice.extras.items()) if abs(extra) > 0.0]
        self.size = self.n + len(self.pairs)
        gains = [one.gain - self._worth(one.price, choice) for one in choice.candidates]
        self.cost = -_MILLI * np.array([*gains, *(choice.extras[pair] for pair in self.pairs)])
        self.least = np.array([1.0 if one.is_required else 0.0 for one in choice.candidates] + [0.0] * len(self.pairs))
        self.most = np.array([float(choice.may_serve(k)) for k in range(self.n)] + [1.0] * len(self.pairs))
        self.rows: list[tuple[Array, float, float]] = []
        self._limits(choice)
        for k, (i, j) in enumerate(self.pairs, start=self.n):
            self._at_most({k: 1.0, i: -1.0}, 0.0)
            self._at_most({k: 1.0, j: -1.0}, 0.0)
            self._at_most({i: 1.0, j: 1.0, k: -1.0}, 1.0)

    def best(self, cuts: Sequence[tuple[int, ...]]) -> tuple[int, ...] | None:
        """The best set that is none of the cut ones; None where there is none."""
        from scipy.optimize import Bounds, LinearConstraint, milp

        if self.n == 0:
            return None
        rows = [*self.rows, *(self._cut(chosen) for chosen in cuts)]
        limits = [LinearConstraint(np.array([row[0]]), row[1], row[2]) for row in rows]
        with silent():
            answer = milp(
                self.cost,
                integrality=np.ones(self.size, dtype=np.int64),
                bounds=Bounds(self.least, self.most),
                constraints=limits,
                options={"mip_rel_gap": 0.0, "presolve": False},
            )
        if answer.x is None:
            return None
        return tuple(int(k) for k in np.flatnonzero(answer.x[: self.n] > 0.5))

    @staticmethod
    def _worth(price: Decimal, choice: Choice) -> float:
        """What a price counts against a gain, so that the cheaper of two equal sets comes first. [s]"""
        whole = sum((one.price for one in choice.candidates), Decimal(1))
        return CHEAPER * (float(price / whole) + 1.0 / len(choice.candidates)) / 2.0

    def _limits(self, choice: Choice) -> None:
        if choice.budget is not None:
            self._at_most({k: float(one.price) for k, one in enumerate(choice.candidates)}, float(choice.budget))
        if choice.hours is not None:
            self._at_most({k: one.hours for k, one in enumerate(choice.candidates)}, choice.hours)
        for i, j in sorted(choice.exclusive):
            self._at_most({i: 1.0, j: 1.0}, 1.0)
        for first, second in sorted(choice.needs):
            self._at_most({first: 1.0, second: -1.0}, 0.0)

    def _at_most(self, terms: Mapping[int, float], most: float) -> None:
        row = np.zeros(self.size)
        for k, factor in terms.items():
            row[k] = factor
        self.rows.append((row, -np.inf, most))

    def _cut(self, chosen: Sequence[int]) -> tuple[Array, float, float]:
        row = np.zeros(self.size)
        row[: self.n] = 1.0
        row[list(chosen)] = -1.0
        return row, 1.0 - len(chosen), np.inf
