"""What `advise` is asked, and everything that it was given, read before anything is solved."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.cars.change import changed_car, changed_driver
from conewise.cars.classes import class_findings, class_named
from conewise.cars.classes_file import classes_of
from conewise.cars.toml_file import Table
from conewise.errors import ByFace, InputError
from conewise.findings import Finding
from conewise.money import Money, budget_of
from conewise.workflows.directions import Work
from conewise.workflows.line import driver_named, pace_used, refuse_pace, surface_named
from conewise.workflows.named import car_from, changes_from, course_from, parts_from, rules_from
from conewise.workflows.seat_time import read_debrief, reason_first

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence
    from pathlib import Path

    from conewise.cars.change import Change
    from conewise.cars.classes import CarClass
    from conewise.course.layout import Course
    from conewise.workflows.named import Source
    from conewise.workflows.seat_time import Debriefed


class CourseTwiceError(InputError):
    """Two courses of one name: their gains could not be told apart."""

    code = "course-twice"
    default_hint = "Name each course once, and give each course file a name of its own."

    def __init__(self, name: str, file: Source) -> None:
        super().__init__(f"Two courses are called '{name}'.", where=str(file))


class ChangeTwiceError(InputError):
    """A part and a change of one name: their gains could not be told apart."""

    code = "change-twice"
    default_hint = "Give one of the two another name."

    def __init__(self, name: str, file: str) -> None:
        super().__init__(f"A part and a change are both called '{name}'.", where=file)


class WorkersError(InputError):
    """A number of processes that cannot be."""

    code = "workers"

    def __init__(self, workers: int) -> None:
        super().__init__(
            f"The number of workers is {workers}; it must be 1 or more.",
            where=ByFace("workers", typed="--workers"),
            hint="--workers 2 solves in two processes; without it every core is used.",
        )


class NothingToCompareError(InputError):
    """Neither parts nor changes were given."""

    code = "nothing-to-compare"
    default_hint = ByFace(
        "Choose parts to buy, other changes, or both.",
        typed="Choose a file of parts (--parts), of other changes (--changes), or both.",
    )

    def __init__(self) -> None:
        super().__init__(
            "There is nothing to compare: no list of parts and none of changes was named.",
            where=ByFace("parts", typed="advise"),
        )


class WeightsError(InputError):
    """Weights that do not belong to the courses."""

    code = "weights"

    def __init__(self, weights: Sequence[float], n_courses: int) -> None:
        shown = ", ".join(f"{weight:g}" for weight in weights)
        super().__init__(
            f"The weights are {shown}; {n_courses} of them are wanted, each more than zero.",
            where=ByFace("weights", typed="--weight"),
            hint=ByFace(
                "Give one weight for every course, in their order: how many of your events are like it.",
                typed="Say --weight once for every course, in their order: how many of your events are like it.",
            ),
        )


class HoursError(InputError):
    """A number of hours that cannot be."""

    code = "hours"

    def __init__(self, hours: float) -> None:
        super().__init__(
            f"The hours are {hours:g}; they must be 0 or more.",
            where=ByFace("hours", typed="--hours"),
            hint=ByFace(
                "12 keeps every package within twelve hours of work.",
                typed="--hours 12 keeps every package within twelve hours of work.",
            ),
        )


class ClassWithoutRulesError(InputError):
    """A class was asked for, and no rules say what it is."""

    code = "class-without-rules"
    default_hint = ByFace(
        "Choose the rule set that has the class, or leave the class empty.",
        typed="Name the file of the rules with --rules.",
    )

    def __init__(self, name: str) -> None:
        super().__init__(
            f"The class '{name}' was asked for, and no rules were named.", where=ByFace("car_class", typed="--class")
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class AdviceQuestion:
    """What `advise` is asked."""

    courses: tuple[Source, ...]
    car: Source
    day: dt.date  # on which the age of tyres counts
    changes: Source | None = None
    parts: Source | None = None
    rules: str | Source | None = None  # shipped, of a file, or of the book
    car_class: str | None = None  # that of the car as it stands where None
    budget: str | None = None  # an amount, with or without a currency
    hours: float | None = None
    weights: tuple[float, ...] = ()  # one a course; equal where left out
    driver: str | Source = "expert"  # a level, or a driver file
    runs: int | None = None  # made in this car
    debriefs: tuple[Path, ...] = ()
    pace: float | None = None  # the driver's own where None
    surface: str = "dry"
    workers: int | None = None  # every core where None


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Everything that was asked, read."""

    question: AdviceQuestion
    work: Work
    driver_first: str
    debriefs: tuple[Debriefed, ...]
    budget: Money | None
    findings: tuple[Finding, ...]


def read_question(question: AdviceQuestion) -> Asked:
    """Read every file and refuse what cannot be.

    Raises
    ------
    InputError, NotFoundError
        If a file, an option or a condition cannot be used.
    """
    if question.workers is not None and question.workers < 1:
        raise WorkersError(question.workers)
    if question.hours is not None and not question.hours >= 0.0:
        raise HoursError(question.hours)
    refuse_pace(question.pace)
    surface, driver = surface_named(question.surface), driver_named(question.driver)
    courses = courses_of(question.courses)
    car, changes = car_from(question.car), _changes(question)
    for change in changes:  # a change that does not fit this car or driver is said without waiting
        changed_car(car, change)
        changed_driver(driver, change)
    work = Work(
        courses=courses,
        car=car,
        changes=changes,
        driver=driver,
        pace=pace_used(question.pace, driver),
        surface=surface.middle,
        workers=question.workers or os.cpu_count() or 1,
        day=question.day,
        weights=weights_of(question.weights, courses),
        classes=() if question.rules is None else _classes(question.rules),
    )
    return Asked(
        question=question,
        work=work,
        driver_first=reason_first(driver, question.runs),
        debriefs=tuple(read_debrief(path) for path in question.debriefs),
        budget=_budget(question, changes),
        findings=_findings(question, work),
    )


def courses_of(files: Sequence[Source]) -> tuple[Course, ...]:
    """Courses of files or of the book, each with a name of its own; CourseTwiceError where two have one."""
    courses: list[Course] = []
    for file in files:
        course = course_from(file)
        if course.name in {known.name for known in courses}:
            raise CourseTwiceError(course.name, file)
        courses.append(course)
    return tuple(courses)


def _classes(rules: str | Source) -> tuple[CarClass, ...]:
    found = rules_from(rules)
    return classes_of(Table.of_text(found.text, file=found.file))


def _changes(question: AdviceQuestion) -> tuple[Change, ...]:
    """Parts and changes, in this order."""
    if question.parts is None and question.changes is None:
        raise NothingToCompareError
    parts = () if question.parts is None else parts_from(question.parts)
    changes = () if question.changes is None else changes_from(question.changes)
    names = {part.name for part in parts}
    for change in changes:
        if change.name in names:
            raise ChangeTwiceError(change.name, change.source)
    return (*parts, *changes)


def weights_of(given: Sequence[float], courses: Sequence[Course]) -> dict[str, float]:
    """Weight of each course by its name, equal where none is given; WeightsError where they do not belong to them."""
    weights = given or (1.0,) * len(courses)
    if len(weights) != len(courses) or not all(0.0 < weight < float("inf") for weight in weights):
        raise WeightsError(weights, len(courses))
    return {course.name: weight for course, weight in zip(courses, weights, strict=True)}


def _budget(question: AdviceQuestion, changes: Sequence[Change]) -> Money | None:
    """The budget; in the one currency of the parts where it names none."""
    if question.budget is None:
        return None
    budget = budget_of(question.budget, where=ByFace("budget", typed="--budget"))
    named = {change.price.currency for change in changes if change.price is not None and change.price.currency}
    return Money(budget.amount, named.pop()) if not budget.currency and len(named) == 1 else budget


def wanted_class(name: str | None, classes: Sequence[CarClass]) -> CarClass | None:
    """The class that a package must keep; None where none was asked for.

    Raises
    ------
    UnknownClassError
        If the rules have none of that name.
    """
    if not name:
        return None
    file = classes[0].source if classes else ""
    return class_named(name, classes, where=ByFace("car_class", typed=file))


def _findings(question: AdviceQuestion, work: Work) -> tuple[Finding, ...]:
    """What is doubtful about the rules, and about the car in its class."""
    if not work.classes:
        if question.car_class:
            raise ClassWithoutRulesError(question.car_class)
        return ()
    found = class_findings(work.car, work.classes)
    if work.car.modified is None:
        words = (
            "The car file does not say what was modified; the car is taken to be as it was sold. "
            'List the kinds of change in it: modified = ["tyre", "bar"].'
        )
        found.append(Finding("warning", "modified-unknown", words, str(question.car)))
    wanted = wanted_class(question.car_class, work.classes)
    if wanted is not None and (refused := wanted.refusals(work.car, work.car.modified or ())):
        words = f"{work.car.name} as it stands is not in the class {wanted.code}: {'; '.join(refused)}."
        found.append(Finding("warning", "not-in-class", words, str(question.car)))
    if wanted is None and not work.own_class.code:
        words = f"No class of these rules takes {work.car.name} as it stands: {work.own_class.reason}."
        found.append(Finding("warning", "no-class", words, str(question.car)))
    return tuple(found)
