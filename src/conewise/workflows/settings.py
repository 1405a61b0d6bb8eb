"""Which settings are best for these courses, and what does a click off cost? The answer of `conewise settings`."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.cars.adjustable_file import read_settings
from conewise.errors import ByFace, InputError
from conewise.workflows.advise_question import WorkersError, courses_of, weights_of
from conewise.workflows.directions import Work
from conewise.workflows.line import driver_named, pace_used, refuse_files, refuse_pace, surface_named
from conewise.workflows.named import car_from, settings_from
from conewise.workflows.setting_positions import Asked, space_of, usual_settings

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from conewise.cars.adjustable import Setting
    from conewise.reports.settings_answer import SettingsAnswer
    from conewise.reports.units import Units
    from conewise.workflows.named import Source

_NO_RANGES = "No ranges are given, so only the tyre pressures are looked at. "
NO_RANGES = ByFace(
    f"{_NO_RANGES}[[setting]] in the car file says what else can be adjusted.",
    typed=f"{_NO_RANGES}A file given by --ranges, or [[setting]] in the car file, says what else can be adjusted.",
)


class NothingToSetError(InputError):
    """No setting of this car can be moved."""

    code = "nothing-to-set"

    def __init__(self, car: str, reasons: Sequence[str]) -> None:
        super().__init__(
            f"There is no setting of '{car}' that can be moved.",
            where="; ".join(reasons),
            hint=ByFace(
                "Say under [[setting]] in the car file what can be adjusted.",
                typed="Say in --ranges FILE, or under [[setting]] in the car file, what can be adjusted.",
            ),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingsQuestion:
    """What `settings` is asked."""

    courses: tuple[Source, ...]
    car: Source
    day: dt.date  # on which the age of tyres counts
    ranges: Path | None = None
    weights: tuple[float, ...] = ()  # one a course; all alike where empty
    driver: str | Source = "expert"  # a level, or a driver file
    pace: float | None = None  # the driver's own where None
    surface: str = "dry"
    report: Path | None = None  # where the HTML report will go
    workers: int | None = None  # every core where None


def answer_settings(
    question: SettingsQuestion,
    *,
    progress: Callable[[str], None],
    step: Callable[[int], None] = lambda _done: None,
) -> SettingsAnswer:
    """Read, solve the runs with the settings as they are, search, keep what can be told, and look around the best.

    Parameters
    ----------
    question : SettingsQuestion
    progress : callable
        Told in words what is going on.
    step : callable, optional
        Told how many runs have been solved again.

    Raises
    ------
    InputError, NotFoundError
        If a file or a condition cannot be used.
    NothingToSetError
        If no setting can be moved.
    NoAllowedSettingError
        If no combination keeps the bounds.
    BaseUnsolvedError
        If the run with the settings as they are was not found.
    """
    asked = read_question(question)
    from conewise.workflows.setting_search import searched  # the solver, after the files

    return searched(asked, progress=progress, step=step)


def read_question(question: SettingsQuestion) -> Asked:
    """Read every file and refuse what cannot be.

    Raises
    ------
    InputError, NotFoundError
        If a file or a condition cannot be used, or no setting can be moved.
    """
    refuse_files(report=question.report)
    work = _work(question)
    settings, notes = _settings(question)
    space = space_of(work.car, settings)
    if not space.adjustables:
        raise NothingToSetError(work.car.name, [f"{n.name}: {n.reason}" for n in space.not_moved])
    return Asked(work=work, space=space, notes=notes)


def write_report(answer: SettingsAnswer, units: Units, path: Path) -> None:
    """Write the answer as one HTML file.

    Raises
    ------
    UnwritableFileError
        If the file cannot be written.
    """
    from conewise.reports.files import write_whole
    from conewise.reports.settings_report import settings_html

    write_whole(path, settings_html(answer, units).encode())


def _work(question: SettingsQuestion) -> Work:
    if question.workers is not None and question.workers < 1:
        raise WorkersError(question.workers)
    refuse_pace(question.pace)
    surface, driver = surface_named(question.surface), driver_named(question.driver)
    courses = courses_of(question.courses)
    return Work(
        courses=courses,
        car=car_from(question.car),
        changes=(),
        driver=driver,
        pace=pace_used(question.pace, driver),
        surface=surface.middle,
        workers=question.workers or os.cpu_count() or 1,
        weights=weights_of(question.weights, courses),
        day=question.day,
    )


def _settings(question: SettingsQuestion) -> tuple[tuple[Setting, ...], tuple[str, ...]]:
    """What is to be set: the file of ranges, else the car file's list, else what any owner can adjust."""
    if question.ranges is not None:
        return read_settings(question.ranges), ()
    own = settings_from(question.car)
    return (own, ()) if own else (usual_settings(), (NO_RANGES,))
