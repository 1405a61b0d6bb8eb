"""What to change next, for this car and driver on these courses? The whole answer of `conewise advise`."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from conewise.reports.files import refuse_unwritable, write_whole
from conewise.workflows.advise_question import AdviceQuestion, read_question, wanted_class
from conewise.workflows.seat_time import debriefed_row

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from conewise.advisor.advice import Advice
    from conewise.advisor.rows import Effect, Row
    from conewise.solver.result import Solution
    from conewise.workflows.advise_question import Asked
    from conewise.workflows.effects import Evaluation
    from conewise.workflows.packages import Wanted

__all__ = ["AdviceQuestion", "answer_advise"]


def answer_advise(
    question: AdviceQuestion,
    *,
    progress: Callable[[str], None],
    first: Callable[[Advice], None] | None = None,
    step: Callable[[int, int], None] | None = None,
    partial: Callable[[Row], None] | None = None,
    stopped: Callable[[Advice], None] | None = None,
    known: Mapping[str, Solution] | None = None,
) -> Advice:
    """Read, solve the runs without a change, rank by derivatives, solve every change, rank again, find the packages.

    Parameters
    ----------
    question : AdviceQuestion
    progress : callable
        Told in words what is going on.
    first : callable, optional
        Given the ranking by derivatives, without intervals, before the changes are solved.
    step : callable, optional
        Told how many of how many solves are done.
    partial : callable, optional
        Given every row as soon as it is solved on all courses.
    stopped : callable, optional
        Given what is known so far where the keyboard stops the solving of changes or packages; KeyboardInterrupt goes
        on from here.
    known : Mapping of course to Solution, optional
        Runs without a change that `line` has found already, for the same car, driver, pace and surface.

    Raises
    ------
    InputError, NotFoundError
        If a file or a condition cannot be used.
    BaseUnsolvedError
        If the run without a change was not found.
    """
    asked = read_question(question)
    work = asked.work
    from conewise.advisor import advice as ranking
    from conewise.workflows import effects  # the solver, after the files: a mistake in one is said without waiting

    bases = effects.solved_bases(work, progress, known=known)
    directions = work.directions()
    options = [direction.option for direction in directions]
    if first is not None:
        first(_told(effects.by_derivatives(work, bases, directions), asked))
    evaluation = effects.Evaluation(work=work, bases=bases, directions=directions, step=step, partial=partial)

    def told(found: Sequence[tuple[Effect, ...]]) -> Advice:
        weights, first = work.weights, asked.driver_first
        known = ranking.advise(options, found, base=evaluation.times(), weights=weights, driver_first=first)
        return _told(replace(known, doubts=tuple(bases.doubts)), asked)

    try:
        advice = told(evaluation.effects())
        if question.budget is None and question.hours is None:
            return advice
        progress("Finding the best packages")
        return _with_packages(advice, asked, evaluation)
    except KeyboardInterrupt:
        if stopped is not None:
            stopped(replace(told(evaluation.so_far()), stopped=evaluation.stopped_at()))
        raise


def refuse_report(report: Path | None) -> None:
    """Say before the work that a report cannot be written where it was asked for.

    Raises
    ------
    FileEndingError, UnwritableFileError
    """
    if report is not None:
        refuse_unwritable(report, "A report", ".html", ".htm")


def write_report(advice: Advice, report: Path | None) -> None:
    """Write the report, if a file is named for it.

    Raises
    ------
    UnwritableFileError
        If it cannot be written.
    """
    if report is not None:
        from conewise.reports.advice_report import advice_html

        write_whole(report, advice_html(advice).encode())


def _told(advice: Advice, asked: Asked) -> Advice:
    """The advice with what was read beside the changes: class, findings, seat time by debriefs."""
    from conewise.advisor.rows import ranked

    work, rows = asked.work, list(advice.rows)
    for k, row in enumerate(rows):
        if row.option.kind == "driver" and row.option.price is None and asked.debriefs:
            rows[k] = debriefed_row(row, asked.debriefs, advice.base) or row
    has_classes = bool(work.classes)
    return replace(
        advice,
        rows=ranked(rows, driver_first=bool(asked.driver_first)),
        car=work.car.name,
        driver_first=asked.driver_first,
        findings=(*advice.findings, *asked.findings),
        car_class=work.own_class.code if has_classes else "",
        class_reason=work.own_class.reason if has_classes else "",
    )


def _with_packages(advice: Advice, asked: Asked, evaluation: Evaluation) -> Advice:
    from conewise.workflows.packages import PackageSearch

    rows = {row.option.name: row for row in advice.rows}
    search = PackageSearch(work=asked.work, evaluation=evaluation, rows=rows, wanted=_wanted(asked))
    return replace(advice, packages=search.answer())


def _wanted(asked: Asked) -> Wanted:
    from conewise.workflows.packages import Wanted

    question, classes = asked.question, asked.work.classes
    wanted = wanted_class(question.car_class, classes)
    if wanted is None and classes:
        wanted = asked.work.own_class.car_class
    return Wanted(budget=asked.budget, hours=question.hours, car_class=wanted)
