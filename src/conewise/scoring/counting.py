"""What a run counts: raw time, cones and leaving the course, by the rules of the event."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from conewise.event.rules import PenaltyRule
    from conewise.event.runs import Run

DIGITS = 4  # of a time that is compared; timers give three


@dataclass(frozen=True, slots=True, kw_only=True)
class CountedRun:
    """A run and what it counts.

    total: raw time and penalties; None where the run gives no time [s]
    why: what became of a run without a total, in a word
    """

    run: Run
    total: float | None
    why: str = ""


def counted(run: Run, rule: PenaltyRule) -> CountedRun:
    """A run with its penalties.

    A void run counts for nothing; DNF, DNS and DSQ give no time; off course gives none or costs seconds, as the rules
    say.
    """
    if run.is_void:
        return CountedRun(run=run, total=None, why="re-run")
    if run.outcome == "off" and rule.off_course is not None and run.raw_time is not None:
        return CountedRun(run=run, total=_total(run, rule, extra=rule.off_course))
    if run.outcome != "timed":
        return CountedRun(run=run, total=None, why=run.outcome.upper())
    return CountedRun(run=run, total=_total(run, rule))


def _total(run: Run, rule: PenaltyRule, *, extra: float = 0.0) -> float:
    assert run.raw_time is not None
    return round(run.raw_time + rule.cone * run.cones + extra, DIGITS)


def best_first(runs: Iterable[CountedRun]) -> list[CountedRun]:
    """The runs that give a time, the fastest first; the earlier of two equal ones first."""
    timed = [run for run in runs if run.total is not None]
    return sorted(timed, key=lambda counted_run: (counted_run.total, counted_run.run.order))
