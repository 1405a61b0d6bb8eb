"""What to change next, for this car and driver on these courses? The whole answer of `conewise advise`."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from conewise.cars.car_file import read_car
from conewise.cars.change import changed_car
from conewise.cars.changes_file import read_changes
from conewise.course.files import read_course
from conewise.errors import InputError
from conewise.workflows.directions import Work
from conewise.workflows.line import driver_named, pace_used, refuse_pace, surface_named

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from conewise.advisor import Advice
    from conewise.course.layout import Course


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
    from conewise.workflows import effects  # the solver, after the files: a mistake in one is said without waiting

    bases = effects.solved_bases(work, progress)
    directions = work.directions()
    options = [direction.option for direction in directions]
    if first is not None:
        first(effects.by_derivatives(work, bases, directions))
    evaluation = effects.Evaluation(work=work, bases=bases, directions=directions, step=step)
    advice = advisor.advise(options, evaluation.effects, base=evaluation.times)
    return replace(advice, doubts=tuple(bases.doubts))


def _read(question: AdviceQuestion) -> Work:
    if question.workers is not None and question.workers < 1:
        raise WorkersError(question.workers)
    refuse_pace(question.pace)
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
    return Work(
        courses=tuple(courses),
        car=car,
        changes=changes,
        driver=driver,
        pace=pace_used(question.pace, driver),
        surface=surface.middle,
        workers=question.workers or os.cpu_count() or 1,
    )
