"""What to change next, for this car and driver on these courses? The whole answer of `conewise advise`."""

from __future__ import annotations

import os
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from conewise.cars.car_file import read_car
from conewise.cars.change import ImpossibleChangeError, changed_car
from conewise.cars.changes_file import read_changes
from conewise.cars.driver import typical_driver
from conewise.course.files import read_course
from conewise.errors import ConvergenceError, InputError
from conewise.workflows.line import PaceRangeError, driver_named, surface_named

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from conewise.advisor import Advice, Effect, Option, Row
    from conewise.cars.car import Car
    from conewise.cars.change import Change
    from conewise.cars.driver import Driver
    from conewise.course.layout import Course
    from conewise.findings import Finding
    from conewise.quantities import Sourced
    from conewise.sweeps import Base, Question, Resolved
    from conewise.vehicle.parameters import ModelParameters

Array = NDArray[np.float64]

N_DRAWS = 64
SEED = 20
_PACE_RANGE = (0.3, 1.0)  # as `line` takes it
_NEXT_LEVEL = {"novice": "regular", "regular": "expert"}
_WORSE_BALANCE = 0.99  # a critical deceleration below this share of the car's own is a worse brake balance


class CourseTwiceError(InputError):
    """Two courses of one name: their gains could not be told apart."""

    code = "course-twice"
    default_hint = "Name each course once, and give each course file a name of its own."

    def __init__(self, name: str, file: Path) -> None:
        super().__init__(f"Two courses are called '{name}'.", where=str(file))


class WorkersError(InputError):
    """A number of processes that cannot be."""

    code = "workers"

    def __init__(self, workers: int) -> None:
        super().__init__(
            f"The number of workers is {workers}; it must be 1 or more.",
            where="--workers",
            hint="--workers 2 solves in two processes; without it every core is used.",
        )


class BaseUnsolvedError(ConvergenceError):
    """The run without any change was not solved, so that there is nothing to compare with."""

    code = "base-unsolved"
    default_hint = "See what conewise line says about this course and car, and mend the place named."

    def __init__(self, course: str, *, feature: str, reason: str) -> None:
        super().__init__(
            f"The run through '{course}' without a change could not be solved: {reason}", where=f"{course}, {feature}"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class AdviceQuestion:
    """What `advise` is asked."""

    courses: tuple[Path, ...]
    car: Path
    changes: Path
    driver: str = "expert"  # a level, or a driver file
    pace: float | None = None  # the driver's own where None
    surface: str = "dry"
    workers: int | None = None  # every core where None


@dataclass(frozen=True, kw_only=True)
class _Direction:
    """One option as the model sees it; `draws` are model numbers for draws of its uncertain amounts."""

    option: Option
    p: ModelParameters
    shift_time: float
    draws: Array  # deviations of the model's numbers from `p`, shape (n_draws, n_parameters)
    car: Car
    is_set: frozenset[str] = frozenset()  # fields whose old uncertainty no longer counts


@dataclass(kw_only=True)
class _Bases:
    """The runs without a change; improved at most once."""

    bases: list[Base]
    slopes: list[Array]
    leans: list[float]
    doubts: list[str] = field(default_factory=list)  # checks that a run failed, in words


def answer_advise(
    question: AdviceQuestion,
    *,
    progress: Callable[[str], None],
    first: Callable[[Advice], None] | None = None,
    step: Callable[[int, int], None] | None = None,
) -> Advice:
    """Read, solve the runs without a change, rank by derivatives, solve every change, and rank again.

    Parameters
    ----------
    question : AdviceQuestion
    progress : callable
        Told in words what is going on.
    first : callable, optional
        Given the ranking by derivatives, without intervals, before the changes are solved.
    step : callable, optional
        Told how many of how many solves are done.

    Raises
    ------
    InputError, NotFoundError
        If a file or a condition cannot be used.
    BaseUnsolvedError
        If the run without a change was not found.
    """
    work = _read(question)
    from conewise import advisor

    bases = work.solved_bases(progress)
    directions = work.directions()
    options = [direction.option for direction in directions]
    if first is not None:
        first(_linear(work, bases, directions))
    evaluation = _Evaluation(work=work, bases=bases, directions=directions, step=step)
    advice = advisor.advise(options, evaluation.effects, base=evaluation.times)
    return replace(advice, doubts=tuple(bases.doubts))


def _read(question: AdviceQuestion) -> _Work:
    if question.workers is not None and question.workers < 1:
        raise WorkersError(question.workers)
    low, high = _PACE_RANGE
    if question.pace is not None and not low <= question.pace <= high:
        raise PaceRangeError(question.pace)
    surface, driver = surface_named(question.surface), driver_named(question.driver)
    courses: list[Course] = []
    for file in question.courses:
        course = read_course(file)
        if course.name in {known.name for known in courses}:
            raise CourseTwiceError(course.name, file)
        courses.append(course)
    car, changes = read_car(question.car), read_changes(question.changes)
    for change in changes:  # a change that does not fit this car is said without waiting
        changed_car(car, change)
    own = driver.friction_share
    assert own is not None
    return _Work(
        courses=tuple(courses),
        car=car,
        changes=changes,
        driver=driver,
        pace=own.value if question.pace is None else question.pace,
        surface=surface.middle,
        workers=question.workers or os.cpu_count() or 1,
    )


@dataclass(frozen=True, kw_only=True)
class _Work:
    """Everything that was read."""

    courses: tuple[Course, ...]
    car: Car
    changes: tuple[Change, ...]
    driver: Driver
    pace: float
    surface: float
    workers: int

    def parameters(self, car: Car, **others: Any) -> ModelParameters:
        """The model's numbers of a car; staging is left to the course."""
        from conewise.vehicle import build

        told: dict[str, Any] = {"driver": self.driver, "pace": self.pace, "surface": self.surface} | others
        return build.model_parameters(car, **told)

    def solved_bases(self, progress: Callable[[str], None]) -> _Bases:
        """The runs without a change, one a course, as `line` finds them."""
        from conewise.sweeps import base_of, slopes_and_lean
        from conewise.workflows.line_solves import LineSolves

        found = _Bases(bases=[], slopes=[], leans=[])
        for course in self.courses:
            solves = LineSolves(
                course=course,
                car=self.car,
                driver=self.driver,
                level="transient",
                pace=self.pace,
                surface=self.surface,
                progress=lambda words, name=course.name: progress(f"{name}: {words}"),  # type: ignore[misc]
            )
            solution = solves.best().solution
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

    def directions(self) -> list[_Direction]:
        """Every change and the seat time as the model sees them."""
        return [*map(self._direction, self.changes), *self._seat_time()]

    def _direction(self, change: Change) -> _Direction:
        from conewise.advisor import Option
        from conewise.vehicle import build

        car = changed_car(self.car, change)
        p = self.parameters(car)
        option = Option(
            name=change.name,
            kind=change.kind,
            price=change.price,
            hours=change.hours,
            note=change.note,
            findings=_new_findings(self.car, car),
        )
        set_fields = {name for edit in change.edits if edit.action == "set" for name in edit.fields}
        return _Direction(
            option=option,
            p=p,
            shift_time=build.gearbox(car).shift_time,
            draws=self._draws(change, p),
            car=car,
            is_set=frozenset(set_fields),
        )

    def _draws(self, change: Change, p: ModelParameters) -> Array:
        spread = [amount.uncertainty for amount in change.uncertain]
        if not any(spread):
            return np.zeros((0, len(p.vector())))
        random = np.random.default_rng(SEED)
        found, at = [], p.vector()
        for draw in random.standard_normal((N_DRAWS, len(spread))):
            try:
                found.append(self.parameters(changed_car(self.car, change, draws=draw.tolist())).vector() - at)
            except ImpossibleChangeError:  # a draw that no car could have says nothing
                continue
        return np.array(found).reshape(len(found), len(at))

    def _seat_time(self) -> list[_Direction]:
        """What a driver of the next level would gain in this car; typical values."""
        from conewise.advisor import Option
        from conewise.vehicle import build

        own, level = self.parameters(self.car), _NEXT_LEVEL.get(self.driver.level)
        if level is None:
            name, wanted = "seat time: all of the friction, an upper bound", replace(own, friction_share=1.0)
        else:
            name = f"seat time: as quick as a typical {level} driver"
            typical = self.parameters(self.car, driver=typical_driver(level), pace=None)
            names = ("friction_share", "road_wheel_rate", "pedal_rate", "launch_share")
            wanted = replace(own, **{n: max(getattr(own, n), getattr(typical, n)) for n in names})
        spread = self.driver.friction_share
        assert spread is not None
        if np.array_equal(wanted.vector(), own.vector()):
            return []
        draws = np.zeros((N_DRAWS, len(own.vector())))
        draws[:, own.names().index("friction_share")] = spread.uncertainty * np.random.default_rng(
            SEED
        ).standard_normal(N_DRAWS)
        option = Option(name=name, kind="driver", note="Typical values.")
        shift_time = build.gearbox(self.car).shift_time
        return [_Direction(option=option, p=wanted, shift_time=shift_time, draws=draws, car=self.car)]


def _new_findings(before: Car, after: Car) -> tuple[Finding, ...]:
    """What the changed car is found unsafe for and the car was not, or was less."""
    from conewise.vehicle.build import model_parameters
    from conewise.vehicle.derived import brake_balance, safety_findings

    known = {finding.code for finding in safety_findings(before)}
    old, new = (brake_balance(model_parameters(car)).critical for car in (before, after))
    if new < _WORSE_BALANCE * old:
        known.discard("rear-locks-first")
    return tuple(finding for finding in safety_findings(after) if finding.code not in known)


def _linear(work: _Work, bases: _Bases, directions: Sequence[_Direction]) -> Advice:
    """The ranking by derivatives; its gains are the linear ones."""
    from conewise.advisor import Advice, Effect, Row, ranked

    rows: list[Row] = []
    for direction in directions:
        gains = _linear_gains(work, bases, direction)
        effects = (
            Effect(course=course.name, linear=gain, gain=gain) for course, gain in zip(work.courses, gains, strict=True)
        )
        rows.append(Row(option=direction.option, effects=tuple(effects)))
    base = {course.name: base.point.time for course, base in zip(work.courses, bases.bases, strict=True)}
    return Advice(base=base, rows=ranked(rows), doubts=tuple(bases.doubts))


def _linear_gains(work: _Work, bases: _Bases, direction: _Direction) -> list[float]:
    return [
        -float(slopes @ (_on(course, direction.p).vector() - base.p.vector()))
        for course, base, slopes in zip(work.courses, bases.bases, bases.slopes, strict=True)
    ]


def _on(course: Course, p: ModelParameters) -> ModelParameters:
    return replace(p, staging=course.staging)


@dataclass(kw_only=True)
class _Evaluation:
    """The exact effects; the bases are replaced once if a change's way back finds faster ones."""

    work: _Work
    bases: _Bases
    directions: list[_Direction]
    step: Callable[[int, int], None] | None

    def times(self) -> Mapping[str, float]:
        """Time of each course without a change. [s]"""
        pairs = zip(self.work.courses, self.bases.bases, strict=True)
        return {course.name: base.point.time for course, base in pairs}

    def effects(self, _options: Sequence[Option]) -> list[tuple[Effect, ...]]:
        """Effects of every direction, one a course."""
        answers = self._swept()
        if self._improved(answers):
            answers = self._swept()
        spread = _Spread(work=self.work, bases=self.bases)
        found = iter(answers)
        return [
            tuple(self._effect(direction, next(found), spread) for _ in self.work.courses)
            for direction in self.directions
        ]

    def _swept(self) -> tuple[Resolved, ...]:
        from conewise.sweeps import sweep

        questions = [
            self._question(direction, k) for direction in self.directions for k in range(len(self.bases.bases))
        ]
        done = 0

        def tell(_answer: Resolved) -> None:
            nonlocal done
            done += 1
            if self.step is not None:
                self.step(done, len(questions))

        return sweep(self.bases.bases, questions, workers=self.work.workers, tell=tell)

    def _question(self, direction: _Direction, course: int) -> Question:
        from conewise.sweeps import Question

        return Question(
            course=course,
            name=direction.option.name,
            p=_on(self.work.courses[course], direction.p),
            shift_time=direction.shift_time,
        )

    def _improved(self, answers: Sequence[Resolved]) -> bool:
        """Take the fastest run without a change that any way back found."""
        from conewise.sweeps import slopes_and_lean

        is_improved = False
        for k, base in enumerate(self.bases.bases):
            better = [a.better for a in answers if a.course == k and a.better is not None]
            fastest = min(better, key=lambda found: found.point.time, default=None)
            if fastest is not None and fastest.point.time < base.point.time:
                self.bases.bases[k] = fastest
                self.bases.slopes[k], self.bases.leans[k] = slopes_and_lean(fastest.run())
                is_improved = True
        return is_improved

    def _effect(self, direction: _Direction, answer: Resolved, spread: _Spread) -> Effect:
        from conewise.advisor import Effect

        k = answer.course
        base, name = self.bases.bases[k], self.work.courses[k].name
        linear = _linear_gains(self.work, self.bases, direction)[k]
        if answer.slopes is None:
            return Effect(course=name, linear=linear, lean=(self.bases.leans[k], np.nan), stopped=answer.stopped)
        before = np.nanmin([base.point.time, answer.back])  # the better optimum stands for both
        return Effect(
            course=name,
            linear=linear,
            gain=float(before - answer.time),
            closure=0.0 if np.isnan(answer.back) else float(answer.back - base.point.time),
            draws=-direction.draws @ (self.bases.slopes[k] + answer.slopes) / 2.0,
            common=spread.common(direction, k, answer.slopes),
            lean=(self.bases.leans[k], answer.lean),
            own_mesh=answer.own_mesh,
        )


@dataclass(kw_only=True)
class _Spread:
    """What the uncertainty of the car's own numbers does to a gain: the difference of the gradients."""

    work: _Work
    bases: _Bases

    def common(self, direction: _Direction, course: int, slopes: Array) -> dict[str, float]:
        """Deviation of the gain for one standard deviation of each number, by name. [s]"""
        before = self._by_file(self.work.car, self.bases.slopes[course])
        after = self._by_file(direction.car, slopes)
        values = self.work.car.values
        found: dict[str, float] = {}
        for name in sorted(before.keys() & after.keys() - direction.is_set):
            source = _shared(name, values)
            found[source] = found.get(source, 0.0) - (after[name] - before[name]) * values[name].uncertainty
        return found

    def _by_file(self, car: Car, slopes: Array) -> dict[str, float]:
        from conewise.vehicle import build

        told: dict[str, Any] = {"driver": self.work.driver, "pace": self.work.pace, "surface": self.work.surface}
        by_file: Array = slopes @ build.jacobian(car, **told)
        return {facts.name: float(slope) for facts, slope in zip(build.file_parameters(car), by_file, strict=True)}


def _shared(name: str, values: Mapping[str, Sourced]) -> str:
    """The name under which a number's error counts: the same tyre front and rear is off alike."""
    other = name.replace("rear.tyre.", "front.tyre.", 1)
    return other if other in values and values[other] == values[name] else name
