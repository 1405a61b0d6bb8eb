"""The best packages for a budget: an integer program over the solved changes, its best sets solved as wholes."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cached_property
from itertools import accumulate, combinations
from typing import TYPE_CHECKING

import numpy as np

from conewise.advisor.advice import Package, PackageAnswer, PackageRow, Rung, Step, in_order
from conewise.advisor.choice import LEAST_EXTRA, Candidate, Choice, best_sets
from conewise.cars.change import ImpossibleChangeError
from conewise.findings import Finding
from conewise.money import Money
from conewise.vehicle.staging import staged_like
from conewise.workflows.directions import total_hours

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from conewise.advisor.choice import Pair
    from conewise.advisor.rows import Effect, Row
    from conewise.cars.change import Change
    from conewise.cars.classes import CarClass
    from conewise.vehicle.parameters import ModelParameters
    from conewise.workflows.directions import Direction, Work
    from conewise.workflows.effects import Evaluation

N_PACKAGES = 5
N_RUNGS = 20
_LEFT_OUT = {
    "price-missing": "they have no price",
    "price-currency": "their prices are not in the money of the budget",
    "hours-missing": "nobody said how many hours they take",
    "needs-missing": "what they need is not there",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What packages are sought for."""

    budget: Money | None
    hours: float | None
    car_class: CarClass | None = None  # the class that every package keeps; None: no rules


@dataclass(kw_only=True)
class PackageSearch:
    """The packages of one advice, from its solved rows."""

    work: Work
    evaluation: Evaluation
    rows: Mapping[str, Row]
    wanted: Wanted
    findings: list[Finding] = field(default_factory=list)

    def answer(self) -> PackageAnswer:
        """The best packages, solved as wholes; best first by what was solved."""
        changes = self._candidates()
        choice = self._choice(changes)
        found = best_sets(choice, N_PACKAGES, accept=lambda chosen: self._is_accepted([changes[k] for k in chosen]))
        if found.is_given_up:
            words = "The search for further packages was given up; those shown are the best found."
            self.findings.append(Finding("note", "packages-given-up", words, "--budget"))
        packages = self._solved([([changes[k] for k in chosen], choice.value(chosen)) for chosen in found.sets])
        if not packages:
            self.findings.append(Finding("note", "no-package", self._why_none(choice), "--budget"))
        return PackageAnswer(
            budget=self.wanted.budget,
            hours=self.wanted.hours,
            car_class="" if self.wanted.car_class is None else self.wanted.car_class.code,
            packages=tuple(sorted(packages, key=lambda package: -package.row.gain)),
            findings=tuple(self.findings),
            rungs=self._rungs(changes, choice),
        )

    def _rungs(self, changes: Sequence[Change], choice: Choice) -> tuple[Rung, ...]:
        """What more and less money would buy, dearest budget first by steps of a share of everything together."""
        most = choice.price(range(len(changes)))
        step, budget = most / N_RUNGS, most
        found: list[Rung] = []
        while step > 0 and budget >= 0:
            sets = best_sets(
                replace(choice, budget=budget), 1, accept=lambda chosen: self._is_accepted([changes[k] for k in chosen])
            ).sets
            if not sets:
                break
            members = [changes[k] for k in sets[0]]
            price = self._price(members)
            found.append(Rung(names=tuple(one.name for one in members), price=price, expected=choice.value(sets[0])))
            budget = min(price.amount - Decimal("0.01"), budget - step)
        return tuple(reversed(found))

    def _why_none(self, choice: Choice) -> str:
        if self.work.is_stopped:
            return "The car as it is should not run: conewise car show says why. Mend that before anything else."
        required = [one for one in choice.candidates if one.is_required]
        if required and choice.budget is not None and sum(one.price for one in required) > choice.budget:
            names = ", ".join(one.name for one in required)
            return f"The budget does not cover what inspection asks for: {names}. Do that before anything else."
        return "No set of these changes gains time within the budget, the hours and the class."

    def _candidates(self) -> list[Change]:
        """Changes that could be in a package; why the others cannot is a finding."""
        kept: list[Change] = []
        left: dict[str, list[str]] = {code: [] for code in _LEFT_OUT}
        for change in self.work.changes:
            row = self.rows[change.name]
            if not (row.option.is_proposed or change.needs) or (row.effects and not row.solved):
                continue  # what should not run alone may with what it needs: the whole set is looked at
            if change.price is None:
                left["price-missing"].append(change.name)
            elif self._is_other_money(change.price):
                left["price-currency"].append(f"{change.name} ({change.price})")
            elif change.hours is None and self.wanted.hours is not None:
                left["hours-missing"].append(change.name)
            else:
                kept.append(change)
        while lacking := [c for c in kept if not set(c.needs) <= {other.name for other in kept}]:
            left["needs-missing"] += [change.name for change in lacking]
            kept = [change for change in kept if change not in lacking]
        for code, names in left.items():
            if names:
                words = f"Ranked, but in no package, since {_LEFT_OUT[code]}: {', '.join(names)}."
                self.findings.append(Finding("warning", code, words, "packages"))
        return kept

    def _is_other_money(self, price: Money) -> bool:
        budget = self.wanted.budget
        return budget is not None and bool(budget.currency and price.currency) and budget.currency != price.currency

    def _choice(self, changes: Sequence[Change]) -> Choice:
        """The integer program: gains that can be told, pairs that interact, exclude or need each other."""
        place = {change.name: k for k, change in enumerate(changes)}
        candidates = tuple(self._candidate(change) for change in changes)
        needed = {name for change in changes for name in change.needs}
        telling = [k for k, change in enumerate(changes) if candidates[k].gain or change.name in needed]
        pairs = set(combinations(range(len(changes)), 2))
        exclusive = {(i, j) for i, j in pairs if changes[i].excludes(changes[j])}
        extras: dict[Pair, float] = {}
        for i, j in sorted(set(combinations(telling, 2)) - exclusive):
            extra = self._extra(changes[i], changes[j])
            if extra is None:  # a car that cannot be
                exclusive.add((i, j))
            elif abs(extra) >= LEAST_EXTRA:
                extras[i, j] = extra
        return Choice(
            candidates=candidates,
            extras=extras,
            exclusive=frozenset(exclusive),
            needs=frozenset((k, place[name]) for k, change in enumerate(changes) for name in change.needs),
            budget=None if self.wanted.budget is None else self.wanted.budget.amount,
            hours=self.wanted.hours,
        )

    def _candidate(self, change: Change) -> Candidate:
        row = self.rows[change.name]
        told = bool(row.solved) and not row.is_small
        return Candidate(
            name=change.name,
            gain=row.gain if told else 0.0,
            price=Decimal(0) if change.price is None else change.price.amount,
            hours=change.hours or 0.0,
            is_required=change.required,
        )

    def _extra(self, one: Change, other: Change) -> float | None:
        """What a pair gains over the sum of its two, by the derivatives at both changed runs; None for no such car. [s]

        Notes
        -----
        With s_0 and s_i the slopes of the time at the run without a change and with i, and p the numbers of the cars:
        j gains -s_i (p_ij - p_i) in the car with i and -s_0 (p_j - p_0) in the car without. The extra is their
        difference, taken as the mean of both orders; exact where the time bends like a parabola.
        """
        try:
            both = self.work.direction_numbers((one, other))
        except ImpossibleChangeError:
            return None
        extras = []
        for k in range(len(self.work.courses)):
            base, slopes = self.evaluation.bases.bases[k].p, self.evaluation.bases.slopes[k]
            start, end = base.vector(), staged_like(both, base).vector()
            orders = []
            for first, second in ((one, other), (other, one)):
                at_first, at_second = (staged_like(self._numbers[c.name], base).vector() for c in (first, second))
                changed = self.evaluation.slopes(first.name, k)
                if changed is not None:
                    orders.append(float(slopes @ (at_second - start) - changed @ (end - at_first)))
            extras.append(float(np.mean(orders)) if orders else 0.0)
        weights = [self.work.weights.get(course.name, 1.0) for course in self.work.courses]
        return float(np.average(extras, weights=weights))

    @cached_property
    def _numbers(self) -> dict[str, ModelParameters]:
        """The model's numbers of the car with each change alone."""
        return {change.name: self.work.direction_numbers((change,)) for change in self.work.changes}

    def _is_accepted(self, changes: Sequence[Change]) -> bool:
        """Whether the car with all of them can exist, is proposed, and stays in the class."""
        try:
            direction = self.work.direction(changes)
        except ImpossibleChangeError:
            return False
        wanted = self.wanted.car_class
        if wanted is not None:
            kinds = {*(self.work.car.modified or ()), *(change.kind for change in changes)}
            if wanted.refusals(direction.car, kinds):
                return False
        return direction.option.is_proposed

    def _solved(self, sets: Sequence[tuple[list[Change], float]]) -> list[Package]:
        """Every set solved as a whole and step by step; what several sets begin with is solved once."""
        chains = [self._chain(changes) for changes, _ in sets]
        wanted = dict.fromkeys(names for chain in chains for names in accumulate(chain))
        directions = {names: self._direction(names) for names in wanted}
        new = {names: d for names, d in directions.items() if len(names) > 1 and d.option.has_effect}
        effects = dict(zip(new, self.evaluation.of(list(new.values())), strict=True))
        rows = {names: self._row(names, directions[names], effects.get(names)) for names in wanted}
        found = []
        for chain, (_, expected) in zip(chains, sets, strict=True):
            package = self._package(chain, rows, expected)
            if package is not None:
                found.append(package)
        return found

    def _chain(self, changes: Sequence[Change]) -> list[tuple[str, ...]]:
        """The steps of a set: in a sensible order, together where a half-done car should not run."""
        by_name = {change.name: change for change in changes}
        order = in_order({name: self.rows[name] for name in by_name}, {c.name: c.needs for c in changes})
        steps: list[tuple[str, ...]] = []
        pending: tuple[str, ...] = ()
        for name in order:
            pending = (*pending, name)
            done = [by_name[one] for step in (*steps, pending) for one in step]
            is_last = len(done) == len(order)
            if is_last or self.work.direction(done).option.is_proposed:
                steps.append(pending)
                pending = ()
        return steps

    def _direction(self, names: Sequence[str]) -> Direction:
        """Several changes as one, made in the order of the files, whatever the order of the steps."""
        return self.work.direction([change for change in self.work.changes if change.name in names])

    def _row(self, names: tuple[str, ...], direction: Direction, effects: tuple[Effect, ...] | None) -> PackageRow:
        own = self.rows[names[0]].effects if len(names) == 1 else effects or ()
        told = [self.rows[name] for name in names]
        members = tuple((row.option.kind, row.gain if row.solved else 0.0) for row in told)
        return PackageRow(option=direction.option, effects=own, weights=self.work.weights, members=members)

    def _package(
        self, chain: Sequence[tuple[str, ...]], rows: Mapping[tuple[str, ...], PackageRow], expected: float
    ) -> Package | None:
        names = tuple(name for step in chain for name in step)
        whole = rows[names]
        if whole.effects and not whole.solved:
            words = f"The package {', '.join(names)} was not solved: {whole.effects[0].stopped}"
            self.findings.append(Finding("warning", "package-unsolved", words, "packages"))
            return None
        steps, before = [], 0.0
        for step, done in zip(chain, accumulate(chain), strict=True):
            gain = rows[done].gain if rows[done].solved else before
            steps.append(self._step(step, gain - before))
            before = gain
        by_name = {change.name: change for change in self.work.changes}
        effect = whole.option.car_class
        return Package(
            names=names,
            row=whole,
            price=self._price([by_name[name] for name in names]),
            hours=whole.option.hours,
            expected=expected,
            steps=tuple(steps),
            car_class="" if effect is None else effect.code,
        )

    def _step(self, names: tuple[str, ...], gain: float) -> Step:
        changes = [change for change in self.work.changes if change.name in names]
        reason = "Together: with only one of them the car should not run." if len(names) > 1 else ""
        if any(change.required for change in changes):
            reason = "Inspection asks for it."
        return Step(names=names, gain=gain, price=self._price(changes), hours=total_hours(changes), reason=reason)

    def _price(self, changes: Sequence[Change]) -> Money:
        amounts = [change.price.amount for change in changes if change.price is not None]
        named = [change.price.currency for change in changes if change.price is not None and change.price.currency]
        budget = "" if self.wanted.budget is None else self.wanted.budget.currency
        return Money(sum(amounts, Decimal(0)), named[0] if named else budget)
