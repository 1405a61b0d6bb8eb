"""Courses with a choice of sides: every permitted choice is solved, the fastest answers, the unsolved are named."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from conewise.errors import ConewiseError, ConvergenceError, InfeasibleError
from conewise.findings import Finding
from conewise.reports.answer import OTHER_HAND

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from conewise.solver.result import Solution

Choices = dict[str, str]  # for each either-side feature: the side of its first open cone on which the car goes


@dataclass(frozen=True, kw_only=True)
class Sides:
    """One run for every choice that has one, the fastest first; the reason for every other."""

    solved: tuple[tuple[Choices, Solution], ...]
    unsolved: tuple[tuple[Choices, ConewiseError], ...]

    @property
    def best(self) -> tuple[Choices, Solution]:
        """The fastest run and its sides; where there is no run, the first reason is raised."""
        if not self.solved:
            raise (self.stopped or self.unsolved)[0][1]
        return self.solved[0]

    @property
    def fastest(self) -> Solution:
        """The fastest run, with a finding for every side that has none."""
        return noted(self.best[1], self.findings)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """One for every side without a run."""
        return tuple(
            Finding("warning", "side-unsolved", f"{_unsolved(choices)}: the answer is the fastest of the others.")
            for choices, _ in self.unsolved
        )

    @property
    def stopped(self) -> tuple[tuple[Choices, ConewiseError], ...]:
        """The choices on which a solver stopped; on the others there is no way through."""
        return tuple(pair for pair in self.unsolved if isinstance(pair[1], ConvergenceError))


def on_every_side(options: Iterable[Choices], solve: Callable[[Choices], Solution]) -> Sides:
    """Solve every choice.

    Parameters
    ----------
    options : iterable of dict
        Choices of sides, the most natural first.
    solve : callable
        The run of one choice; a solver that stops and a side without a way through are kept as reasons.
    """
    solved, unsolved = [], []
    for choices in options:
        try:
            solved.append((choices, solve(choices)))
        except (ConvergenceError, InfeasibleError) as error:
            unsolved.append((choices, error))
    return Sides(solved=tuple(sorted(solved, key=lambda pair: pair[1].time)), unsolved=tuple(unsolved))


def noted(solution: Solution, findings: Sequence[Finding]) -> Solution:
    """The same run with more findings."""
    return replace(solution, findings=(*solution.findings, *findings)) if findings else solution


def in_words(choices: Choices) -> str:
    """Sides as a driver sees them: "slalom 2, first cone on your right"."""
    return "; ".join(f"{feature}, first cone on your {OTHER_HAND[side]}" for feature, side in choices.items())


def _unsolved(choices: Choices) -> str:
    return f"The run with {in_words(choices)} could not be solved" if choices else "One run could not be solved"
