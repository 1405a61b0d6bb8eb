"""What every direction is worth: the runs without a change, the ranking by derivatives, and the solved gains."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.advisor.advice import Advice
from conewise.advisor.rows import Effect, Row, ranked
from conewise.errors import ByFace, ConvergenceError
from conewise.sweeps import Question, base_of, closes, slopes_and_lean, sweep
from conewise.vehicle.file_slopes import by_error, slopes_by_file
from conewise.vehicle.staging import staged_like
from conewise.workflows.line_solves import LineSolves

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from conewise.course.layout import Course
    from conewise.solver.result import Solution
    from conewise.sweeps import Base, Resolved
    from conewise.workflows.directions import Direction, Work

Array = NDArray[np.float64]


ROUNDS = 3  # how often changes may be solved where faster runs without them are found


class BaseUnsolvedError(ConvergenceError):
    """The run without any change was not solved, so that there is nothing to compare with."""

    code = "base-unsolved"
    default_hint = ByFace(
        "See what the page of the line says about this course and car, and mend the place named.",
        typed="See what conewise line says about this course and car, and mend the place named.",
    )

    def __init__(self, course: str, *, feature: str, reason: str) -> None:
        super().__init__(
            f"The run through '{course}' without a change could not be solved: {reason}", where=f"{course}, {feature}"
        )


@dataclass(kw_only=True)
class Bases:
    """The runs without a change; improved at most once."""

    bases: list[Base]
    slopes: list[Array]
    leans: list[float]
    doubts: list[str] = field(default_factory=list)  # checks that a run failed, in words


def solved_bases(work: Work, progress: Callable[[str], None], *, known: Mapping[str, Solution] | None = None) -> Bases:
    """The runs without a change, one a course, as `line` finds them.

    Parameters
    ----------
    work : Work
    progress : callable
        Told in words what is going on.
    known : Mapping of course to Solution, optional
        Runs that `line` has found already, for the same car, driver, pace and surface.

    Raises
    ------
    BaseUnsolvedError
        Where there is none on a course.
    """
    found = Bases(bases=[], slopes=[], leans=[])
    for course in work.courses:
        solution = (known or {}).get(course.name) or _solved(work, course, progress)
        if solution.fallback is not None:
            raise BaseUnsolvedError(course.name, feature=solution.fallback.feature, reason=solution.fallback.reason)
        failed = [check.name for check in solution.checks if not check.ok]
        if failed:
            found.doubts.append(
                f"{course.name}: the run without a change failed {len(failed)} of {len(solution.checks)} checks "
                f"({', '.join(failed)}): do not rely on what is compared with it."
            )
        slopes, lean = slopes_and_lean(solution.warm)
        found.bases.append(base_of(solution.warm))
        found.slopes.append(slopes)
        found.leans.append(lean)
    return found


def _solved(work: Work, course: Course, progress: Callable[[str], None]) -> Solution:
    solves = LineSolves(
        course=course,
        car=work.car,
        driver=work.driver,
        level="transient",
        pace=work.pace,
        surface=work.surface,
        progress=lambda words: progress(f"{course.name}: {words}"),
    )
    return solves.best().solution


def by_derivatives(work: Work, bases: Bases, directions: Sequence[Direction]) -> Advice:
    """The ranking by derivatives, before anything is solved."""
    base = {course.name: base.point.time for course, base in zip(work.courses, bases.bases, strict=True)}
    rows: list[Row] = []
    for direction in directions:
        gains = linear_gains(bases, direction) if direction.option.has_effect else []
        effects = (
            Effect(course=course, linear=gain, base=time)
            for (course, time), gain in zip(base.items(), gains, strict=False)  # none where nothing is known to change
        )
        rows.append(Row(option=direction.option, effects=tuple(effects), weights=work.weights))
    return Advice(base=base, rows=ranked(rows), doubts=tuple(bases.doubts), weights=work.weights)


def linear_gains(bases: Bases, direction: Direction) -> list[float]:
    """Gain by the derivative, one a course. [s]"""
    return [
        -float(slopes @ (staged_like(direction.p, base.p).vector() - base.p.vector()))
        for base, slopes in zip(bases.bases, bases.slopes, strict=True)
    ]


@dataclass(kw_only=True)
class Evaluation:
    """The exact effects; where a change's way back finds a faster run without it, that one stands for all."""

    work: Work
    bases: Bases
    directions: list[Direction]
    step: Callable[[int, int], None] | None
    partial: Callable[[Row], None] | None = None  # given every row as soon as it is solved on all courses
    answers: dict[tuple[str, int], Resolved] = field(default_factory=dict)  # by option and course, as far as solved

    def times(self) -> Mapping[str, float]:
        """Time of each course without a change. [s]"""
        pairs = zip(self.work.courses, self.bases.bases, strict=True)
        return {course.name: base.point.time for course, base in pairs}

    def slopes(self, name: str, course: int) -> Array | None:
        """Slopes of the time at the run with a change; None where there is none."""
        answer = self.answers.get((name, course))
        return None if answer is None else answer.slopes

    def effects(self) -> list[tuple[Effect, ...]]:
        """Effects of every direction, one a course; none where the model does not know what changes.

        Notes
        -----
        Where a faster run without a change is found, only the changes whose round trip does not close with it are
        solved again.
        """
        solvable = [direction for direction in self.directions if direction.option.has_effect]
        for remaining in reversed(range(ROUNDS)):
            self._sweep(solvable, self.answers)
            if not remaining or not self._is_improved():
                break
        return self.so_far()

    def so_far(self) -> list[tuple[Effect, ...]]:
        """Effects of every direction; by the slopes alone where a run is not solved yet."""
        return [self._effects(direction, self.answers) for direction in self.directions]

    def stopped_at(self) -> str:
        """How far it came, in a sentence, where somebody stopped it."""
        known = [d for d in self.directions if d.option.has_effect]
        done = sum(all((d.option.name, k) in self.answers for k in range(len(self.bases.bases))) for d in known)
        if done == len(known):
            return "Stopped when every change was solved: packages that were asked for are not sought to the end."
        return (
            f"Stopped before the end: {done} of {len(known)} changes are solved on every course; what the others gain "
            "is told by their slopes alone, without an interval."
        )

    def of(self, directions: Sequence[Direction]) -> list[tuple[Effect, ...]]:
        """Effects of other directions, such as packages, from the bases as they are now."""
        answers: dict[tuple[str, int], Resolved] = {}
        self._sweep(directions, answers)
        return [self._effects(direction, answers) for direction in directions]

    def _effects(self, direction: Direction, answers: Mapping[tuple[str, int], Resolved]) -> tuple[Effect, ...]:
        if not direction.option.has_effect:
            return ()
        courses = range(len(self.work.courses))
        return tuple(self._effect(direction, k, answers.get((direction.option.name, k))) for k in courses)

    def _sweep(self, directions: Sequence[Direction], answers: dict[tuple[str, int], Resolved]) -> None:
        """Solve what has no answer yet, what promises most first, so that partial answers say most."""
        courses = range(len(self.bases.bases))
        promise = {d.option.name: -max(linear_gains(self.bases, d)) for d in directions}
        ordered = sorted(directions, key=lambda d: promise[d.option.name])
        wanted = [(d, k) for d in ordered for k in courses if (d.option.name, k) not in answers]
        by_name = {direction.option.name: direction for direction in directions}

        def tell(answer: Resolved) -> None:
            answers[answer.name, answer.course] = answer
            if self.step is not None:
                self.step(len(answers), len(directions) * len(courses))
            if self.partial is not None and all((answer.name, k) in answers for k in courses):
                direction = by_name[answer.name]
                effects = self._effects(direction, answers)
                self.partial(Row(option=direction.option, effects=effects, weights=self.work.weights))

        questions = [self._question(direction, k) for direction, k in wanted]
        sweep(self.bases.bases, questions, workers=self.work.workers, tell=tell)

    def _question(self, direction: Direction, course: int) -> Question:
        return Question(
            course=course,
            name=direction.option.name,
            p=staged_like(direction.p, self.bases.bases[course].p),
            shift_time=direction.shift_time,
        )

    def _is_improved(self) -> bool:
        """Whether a way back found a faster run without a change; what does not close with it is let go."""
        is_improved = False
        for k, base in enumerate(self.bases.bases):
            found = [a.better for a in self.answers.values() if a.course == k and a.better is not None]
            fastest = min(found, key=lambda better: better.point.time, default=None)
            if fastest is None or not fastest.point.time < base.point.time:
                continue
            slopes, lean = slopes_and_lean(fastest.run())
            kept = {key: a for key, a in self.answers.items() if a.course != k or closes(a, fastest)}
            self.bases.bases[k], self.bases.slopes[k], self.bases.leans[k] = fastest, slopes, lean
            self.answers = kept
            is_improved = True
        return is_improved

    def _effect(self, direction: Direction, k: int, answer: Resolved | None) -> Effect:
        base, name = self.bases.bases[k], self.work.courses[k].name
        linear = linear_gains(self.bases, direction)[k]
        if answer is None or answer.slopes is None:
            stopped = "" if answer is None else answer.stopped
            lean = (self.bases.leans[k], np.nan)
            return Effect(course=name, linear=linear, base=base.point.time, lean=lean, stopped=stopped)
        before = np.nanmin([base.point.time, answer.back])  # the better optimum stands for both
        back = answer.back
        if not np.isnan(answer.reference):  # both on the mesh of the run with the change
            before = back = answer.reference
        return Effect(
            course=name,
            linear=linear,
            base=float(before),
            gain=float(before - answer.time),
            closure=0.0 if np.isnan(back) else float(back - base.point.time),
            draws=-direction.draws @ (self.bases.slopes[k] + answer.slopes) / 2.0,
            common=self._spread.common(direction, k, answer.slopes),
            lean=(self.bases.leans[k], answer.lean),
            own_mesh=answer.own_mesh and np.isnan(answer.reference),
        )

    @property
    def _spread(self) -> _Spread:
        return _Spread(work=self.work, bases=self.bases)


@dataclass(kw_only=True)
class _Spread:
    """What the uncertainty of the car's own numbers does to a gain: the difference of the gradients."""

    work: Work
    bases: Bases

    def common(self, direction: Direction, course: int, slopes: Array) -> dict[str, float]:
        """Deviation of the gain for one standard deviation of each number, by name. [s]"""
        before = slopes_by_file(self.work.car, self.bases.slopes[course], driver=self.work.driver)
        after = slopes_by_file(direction.car, slopes, driver=self.work.driver)
        kept = sorted(before.keys() & after.keys() - direction.replaced)
        return by_error({name: before[name] - after[name] for name in kept}, self.work.car.values)
