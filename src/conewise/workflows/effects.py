"""What every direction is worth: the runs without a change, the ranking by derivatives, and the solved gains."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.advisor.advice import Advice
from conewise.advisor.rows import Effect, Row, ranked
from conewise.errors import ConvergenceError
from conewise.sweeps import Question, base_of, slopes_and_lean, sweep
from conewise.vehicle import build
from conewise.vehicle.staging import staged_like
from conewise.workflows.line_solves import LineSolves

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from conewise.advisor.rows import Option
    from conewise.cars.car import Car
    from conewise.course.layout import Course
    from conewise.quantities import Sourced
    from conewise.solver.result import Solution
    from conewise.sweeps import Base, Resolved
    from conewise.workflows.directions import Direction, Work

Array = NDArray[np.float64]


class BaseUnsolvedError(ConvergenceError):
    """The run without any change was not solved, so that there is nothing to compare with."""

    code = "base-unsolved"
    default_hint = "See what conewise line says about this course and car, and mend the place named."

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
    """The ranking by derivatives; its gains are the linear ones."""
    base = {course.name: base.point.time for course, base in zip(work.courses, bases.bases, strict=True)}
    rows: list[Row] = []
    for direction in directions:
        gains = linear_gains(bases, direction) if direction.option.has_effect else []
        effects = (
            Effect(course=course, linear=gain, gain=gain, base=time)
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
    """The exact effects; the bases are replaced once if a change's way back finds faster ones."""

    work: Work
    bases: Bases
    directions: list[Direction]
    step: Callable[[int, int], None] | None
    partial: Callable[[Row], None] | None = None  # given every row as soon as it is solved on all courses
    slopes: dict[tuple[str, int], Array] = field(default_factory=dict)  # at the changed runs, by option and course

    def times(self) -> Mapping[str, float]:
        """Time of each course without a change. [s]"""
        pairs = zip(self.work.courses, self.bases.bases, strict=True)
        return {course.name: base.point.time for course, base in pairs}

    def effects(self, _options: Sequence[Option]) -> list[tuple[Effect, ...]]:
        """Effects of every direction, one a course; none where the model does not know what changes."""
        solvable = [direction for direction in self.directions if direction.option.has_effect]
        answers = self._swept(solvable)
        if self._improved(answers):
            answers = self._swept(solvable)
        self.slopes |= {(a.name, a.course): a.slopes for a in answers if a.slopes is not None}
        return self._by_direction(answers, self.directions)

    def of(self, directions: Sequence[Direction]) -> list[tuple[Effect, ...]]:
        """Effects of other directions, such as packages, from the bases as they are now."""
        return self._by_direction(self._swept(directions), directions)

    def _by_direction(self, answers: Sequence[Resolved], directions: Sequence[Direction]) -> list[tuple[Effect, ...]]:
        spread = _Spread(work=self.work, bases=self.bases)
        found = {(answer.name, answer.course): answer for answer in answers}
        courses = range(len(self.work.courses))
        return [
            tuple(self._effect(d, found[d.option.name, k], spread) for k in courses) if d.option.has_effect else ()
            for d in directions
        ]

    def _swept(self, directions: Sequence[Direction]) -> tuple[Resolved, ...]:
        """Every direction on every course, those that promise most first, so that partial answers say most."""
        promise = {d.option.name: -max(linear_gains(self.bases, d)) for d in directions}
        ordered = sorted(directions, key=lambda d: promise[d.option.name])
        questions = [self._question(direction, k) for direction in ordered for k in range(len(self.bases.bases))]
        by_name = {direction.option.name: direction for direction in directions}
        done: list[Resolved] = []

        def tell(answer: Resolved) -> None:
            done.append(answer)
            if self.step is not None:
                self.step(len(done), len(questions))
            mine = [one for one in done if one.name == answer.name]
            if self.partial is not None and len(mine) == len(self.bases.bases):
                direction = by_name[answer.name]
                effects = self._by_direction(mine, [direction])[0]
                self.partial(Row(option=direction.option, effects=effects, weights=self.work.weights))

        return sweep(self.bases.bases, questions, workers=self.work.workers, tell=tell)

    def _question(self, direction: Direction, course: int) -> Question:
        return Question(
            course=course,
            name=direction.option.name,
            p=staged_like(direction.p, self.bases.bases[course].p),
            shift_time=direction.shift_time,
        )

    def _improved(self, answers: Sequence[Resolved]) -> bool:
        """Take the fastest run without a change that any way back found."""
        is_improved = False
        for k, base in enumerate(self.bases.bases):
            better = [a.better for a in answers if a.course == k and a.better is not None]
            fastest = min(better, key=lambda found: found.point.time, default=None)
            if fastest is not None and fastest.point.time < base.point.time:
                self.bases.bases[k] = fastest
                self.bases.slopes[k], self.bases.leans[k] = slopes_and_lean(fastest.run())
                is_improved = True
        return is_improved

    def _effect(self, direction: Direction, answer: Resolved, spread: _Spread) -> Effect:
        k = answer.course
        base, name = self.bases.bases[k], self.work.courses[k].name
        linear = linear_gains(self.bases, direction)[k]
        if answer.slopes is None:
            lean = (self.bases.leans[k], np.nan)
            return Effect(course=name, linear=linear, base=base.point.time, lean=lean, stopped=answer.stopped)
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
            common=spread.common(direction, k, answer.slopes),
            lean=(self.bases.leans[k], answer.lean),
            own_mesh=answer.own_mesh and np.isnan(answer.reference),
        )


@dataclass(kw_only=True)
class _Spread:
    """What the uncertainty of the car's own numbers does to a gain: the difference of the gradients."""

    work: Work
    bases: Bases

    def common(self, direction: Direction, course: int, slopes: Array) -> dict[str, float]:
        """Deviation of the gain for one standard deviation of each number, by name. [s]"""
        before = self._by_file(self.work.car, self.bases.slopes[course])
        after = self._by_file(direction.car, slopes)
        values = self.work.car.values
        found: dict[str, float] = {}
        for name in sorted(before.keys() & after.keys() - direction.replaced):
            source = shared_name(name, values)
            found[source] = found.get(source, 0.0) - (after[name] - before[name]) * values[name].uncertainty
        return found

    def _by_file(self, car: Car, slopes: Array) -> dict[str, float]:
        by_file: Array = slopes @ build.jacobian(car, driver=self.work.driver)
        return {facts.name: float(slope) for facts, slope in zip(build.file_parameters(car), by_file, strict=True)}


def shared_name(name: str, values: Mapping[str, Sourced]) -> str:
    """The name under which a number's error counts: the same tyre front and rear is off alike."""
    other = name.replace("rear.tyre.", "front.tyre.", 1)
    return other if other in values and values[other] == values[name] else name
