"""Where did I lose time: my line, or my speed on it? The whole answer of `conewise debrief`."""

from __future__ import annotations

import difflib
import os
import time as clock
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from conewise.course.reference import lay_out
from conewise.errors import InputError
from conewise.findings import Finding, Sentence, Value, in_system
from conewise.logs import causes
from conewise.logs.causes import LEAST_RATE, MOST_DEVIATION
from conewise.logs.where import standing_out
from conewise.reports.debrief_answer import DebriefAnswer
from conewise.reports.run_told import RunTold, TriedRun
from conewise.workflows.advise_question import WorkersError
from conewise.workflows.line import surface_named
from conewise.workflows.named import car_from, course_from
from conewise.workflows.recorded import lateral_deviation, measured, recorded, tells_line

if TYPE_CHECKING:
    from collections.abc import Callable, Collection

    from conewise.cars.car import Car
    from conewise.course.geometry import CourseGeometry
    from conewise.course.layout import Course
    from conewise.logs.breakdown import FrictionFound
    from conewise.logs.laid import LaidRun
    from conewise.quantities import System
    from conewise.runs import Body
    from conewise.workflows.debrief_runs import Solved
    from conewise.workflows.line import Surface
    from conewise.workflows.logs import LogOptions, Question
    from conewise.workflows.named import LogSource, Source
    from conewise.workflows.recorded import Recorded

TIME_FOR_MORE = 20.0  # after the question, in which drawn lines are begun and other sides waited for [s]
NO_LINES = "The car can follow hardly any line that this recording allows: line and speed are not told apart."
SEED = 20  # of the drawn paths: the same ones each time, of which as many are solved as time allows


@dataclass(frozen=True, slots=True, kw_only=True)
class DebriefQuestion:
    """What `debrief` is asked.

    run: number of the run in the recording; the last finished one where None
    hit: ids of the cones that this run hit
    surface: a factor or a name, where something is known of the surface
    limits: recordings of a circle or of stops at the limit, on the same kind of tyre
    others: recordings of other drivers of the day, on the same kind of tyre
    system: units in which evidence is said
    """

    log: LogSource
    course: Source
    car: Source
    run: int | None = None
    hit: frozenset[str] = frozenset()
    surface: str | None = None
    limits: tuple[LogSource, ...] = ()
    others: tuple[LogSource, ...] = ()
    options: LogOptions | None = None
    n_paths: int = 16
    workers: int | None = None  # every core where None
    system: System = "metric"


class DebriefUsageError(InputError):
    """Options of `debrief` that do not go together, or none."""

    code = "debrief-usage"

    def __init__(self, message: str, hint: str) -> None:
        super().__init__(message, where="conewise debrief", hint=hint)


def refuse_unknown_cones(hit: frozenset[str], course: Course) -> None:
    """Say which of the cones that a run hit the course does not have.

    Raises
    ------
    DebriefUsageError
        Where there is one.
    """
    ids = [cone.id for cone in course.cones]
    unknown = hit - set(ids)
    if unknown:
        name = min(unknown)
        near = difflib.get_close_matches(name, ids, n=5, cutoff=0.3) or ids[:12]
        hint = f"Cones it has, among others: {', '.join(near)}."
        raise DebriefUsageError(f"Course '{course.name}' has no cone '{name}'.", hint)


# Options that a question does not take: of times alone, and of two recorded runs, which are compared without a solve.
_NOT_OF_TIMES = (
    "--run", "--against", "--hit", "--limit", "--other", "--mapping", "--map", "--dbc", "--report", "--best", "--pdf",
    "--keep", "--keep-as", "--workers",
)  # fmt: skip
_NOT_OF_TWO = ("--surface", "--limit", "--other", "--best", "--pdf", "--keep", "--keep-as", "--workers")


def refuse_question(
    *, log: LogSource | None, times: list[str] | None, workers: int | None, given: Collection[str]
) -> None:
    """Say before a file is read what cannot be asked.

    Parameters
    ----------
    log : Path or BookLog, optional
    times : list of str, optional
    workers : int, optional
    given : collection of str
        The options that were typed, such as "--hit".

    Raises
    ------
    DebriefUsageError
        Where there is neither a recording nor a time, or both, or an option that the question does not take.
    WorkersError
        Where the number of processes is none.
    """
    if workers is not None and workers < 1:
        raise WorkersError(workers)
    if log is None and not times:
        hint = "Name a recording, or say the times: --time 47.31 --time 46.02+1."
        raise DebriefUsageError("There is neither a recording nor a time.", hint)
    if log is not None and times:
        raise DebriefUsageError("There are a recording and times.", "Leave out one of them.")
    if log is None:
        _refuse_options("Times alone do not take", _NOT_OF_TIMES, given, hint="or name a recording in place of --time")
    elif "--against" in given:
        _refuse_options("Two runs that are compared do not take", _NOT_OF_TWO, given, hint="or leave out --against")


def _refuse_options(what: str, refused: Collection[str], given: Collection[str], *, hint: str) -> None:
    over = [option for option in refused if option in given]
    if over:
        *others, last = over
        names = f"{', '.join(others)} and {last}" if others else last
        raise DebriefUsageError(f"{what} {names}.", f"Leave out {names}, {hint}.")


def answer_debrief(
    question: DebriefQuestion,
    *,
    progress: Callable[[str], None],
    first: Callable[[RunTold], None] | None = None,
    ask: Callable[[Question], str] | None = None,
) -> DebriefAnswer:
    """Read, lay, solve, split the gap, and name what to work on.

    Parameters
    ----------
    question : DebriefQuestion
    progress : callable
        Told in words what is going on.
    first : callable, optional
        Given the run's own times as soon as these are known.
    ask : callable, optional
        As `open_log` takes it.

    Raises
    ------
    ConewiseError
        If a file cannot be used, there is no such run, or no run was found to compare with.
    """
    began = clock.monotonic()
    surface = None if question.surface is None else surface_named(question.surface)
    course, car = course_from(question.course), car_from(question.car)
    geometry = lay_out(course)
    refuse_unknown_cones(question.hit, course)
    from conewise.solver.line_results import body_of
    from conewise.workflows import predict  # after the files: a mistake in one is said without waiting

    body = body_of(predict.parameters(geometry, car))
    progress(f"Reading {question.log.name}")
    day = recorded(question.log, geometry, body, options=question.options, ask=ask, hit={question.run: question.hit})
    laid = day.run(question.run)
    told = told_run(day, laid, car=car, body=body, system=question.system)
    if first is not None:
        first(told)
    debrief = _Debrief(question=question, car=car, day=day, body=body, began=began, progress=progress)
    return debrief.answer(told, laid, surface)


def told_run(day: Recorded, laid: LaidRun, *, car: Car, body: Body, system: System = "metric") -> RunTold:
    """What the recording alone says of a finished run; findings in the units of a system."""
    assert laid.run.time is not None
    return RunTold(
        file=day.log.file,
        car=car.name,
        run=laid.run.number,
        time=laid.run.time,
        time_deviation=laid.run.time_deviation or 0.0,
        tries=tuple(
            TriedRun(number=r.run.number, kind=r.run.kind, time=r.run.time, furthest=r.run.furthest)
            for r in day.day.runs
        ),
        measures=measured(day, laid, geometry=laid.geometry, body=body),
        position_rate=day.track.position_rate,
        lateral_deviation=lateral_deviation(laid),
        speed_deviation=float(np.median(laid.track.speed_deviation[laid.run.samples])),
        findings=in_system((*day.findings, *laid.run.findings, *laid.shift.findings), system),
    )


@dataclass(frozen=True, kw_only=True)
class _Debrief:
    """One debrief on its way."""

    question: DebriefQuestion
    car: Car
    day: Recorded
    body: Body
    began: float
    progress: Callable[[str], None]

    def answer(self, told: RunTold, laid: LaidRun, surface: Surface | None) -> DebriefAnswer:
        """The whole answer."""
        from conewise.workflows import debrief_friction, debrief_lines, debrief_runs, debrief_sides

        self.progress("Solving the best run")
        workers = self.question.workers or os.cpu_count() or 1
        factor = 1.0 if surface is None else surface.middle
        sides = debrief_sides.other_sides(laid.geometry, self.car, surface=factor, workers=workers)
        free = debrief_runs.free_run(laid, self.car, surface=factor)
        rng = np.random.default_rng(SEED)
        withheld = self._withheld(laid)
        allowed = None
        if not withheld:
            allowed = debrief_lines.allowed_lines(free, rng, self.question.n_paths, hit=self.question.hit)
        self.progress("Solving the best run on this line")
        grounds = debrief_friction.Grounds(
            day=self.day, others=self._others(laid.geometry), limits=self.question.limits, told=surface
        )
        found = debrief_friction.with_friction(
            free, None if allowed is None else allowed.line, surface=factor, grounds=grounds
        )
        free, line, friction = found.free, found.on_line, found.friction
        findings = [*told.findings, *withheld, *found.findings]
        if line is not None:
            free, more = debrief_runs.not_beaten(free, line)
            findings += more
        spread, until = None, self.began + TIME_FOR_MORE
        if line is not None and allowed is not None:
            self.progress("Solving lines that the recording allows")
            spread = debrief_lines.spread_of(free, allowed, line=line, until=until, rng=rng)
            if len(spread.on_line) < debrief_runs.LEAST_PATHS:
                line = spread = None
                findings.append(Finding("warning", "line-unsolved", NO_LINES, self.day.log.file))
        self.progress("Solving the other sides")
        other, more = sides.fastest(free, until=until)
        findings += more
        best = other or free.solution(free.run)
        solved = debrief_runs.Solved(free=free, on_line=line, best=best, spread=spread)
        return self._assembled(told, solved, friction, findings)

    def _withheld(self, laid: LaidRun) -> tuple[Finding, ...]:
        """Why this recording cannot carry a line; empty where it can."""
        rate, deviation = self.day.track.position_rate, lateral_deviation(laid)
        if tells_line(self.day, laid):
            return ()
        words = Sentence(
            f"The recording has {rate:.3g} positions a second, known to {{}} across the course: it cannot tell the line"
            " from the speed on it, nor how near to cones the car was. That takes"
            f" {LEAST_RATE:g} a second or more, known to {{}} or better.",
            Value(deviation, "length", 2), Value(MOST_DEVIATION, "length", 1),
        )  # fmt: skip
        return (Finding("warning", "line-withheld", words, self.day.log.file),)

    def _others(self, geometry: CourseGeometry) -> tuple[Recorded, ...]:
        return tuple(recorded(path, geometry, self.body) for path in self.question.others)

    def _assembled(
        self, told: RunTold, solved: Solved, friction: FrictionFound, findings: list[Finding]
    ) -> DebriefAnswer:
        from conewise.workflows.debrief_bend import held_against
        from conewise.workflows.debrief_runs import breakdown_of
        from conewise.workflows.traces import predicted_trace

        free = solved.free
        best = predicted_trace(solved.best, free.geometry, name="best run")
        on_line = best if solved.on_line is None else free.trace(solved.on_line, "best on this line")
        breakdown = breakdown_of(solved, friction=friction, on_line=on_line, best=best)
        same = free.trace(free.run, "best run on these sides")
        beside = breakdown_of(solved, friction=friction, on_line=on_line, best=same)
        done = measured(self.day, free.laid, geometry=free.geometry, body=self.body)
        held = on_line if breakdown.tells_line else held_against(free, same)
        guessed = free.laid.run.guessed  # nothing is named where nobody knows how the car went
        focuses = causes.focuses(
            beside,
            driven=free.driven,
            on_line=held,
            best=same,
            measures=done,
            system=self.question.system,
            has_rate=free.laid.track.has_rate,
        )
        focuses = tuple(focus for focus in focuses if focus.feature not in guessed)
        where = None if focuses or breakdown.tells_line else standing_out(beside, done)
        where = None if where is not None and where.feature in guessed else where
        notes = causes.withheld(
            breakdown,
            driven=free.driven,
            measures=done,
            tells_bend=held is not None,
            position_rate=told.position_rate,
            has_rate=free.laid.track.has_rate,
        )
        return DebriefAnswer(
            car=self.car.name,
            geometry=free.geometry,
            driven=free.driven,
            other=best,
            on_line=None if solved.on_line is None else on_line,
            breakdown=breakdown,
            focuses=focuses,
            where=where,
            measures=done,
            position_rate=told.position_rate,
            told=told,
            findings=in_system((*findings, *solved.best.findings, *notes), self.question.system),
            seconds=clock.monotonic() - self.began,
        )
