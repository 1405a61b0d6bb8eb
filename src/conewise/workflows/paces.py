"""Runs of a car on a course at several paces: solved once, kept as the answer of a job, used by every build-up."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from conewise.event.naming import People
from conewise.mentoring.build_up import FeatureSpeed, PacePrediction
from conewise.workflows.jobs import answered
from conewise.workflows.mentoring import predicted
from conewise.workflows.named import car_from, course_from, source

if TYPE_CHECKING:
    from collections.abc import Callable

    from conewise.workflows.book_place import BookPlace
    from conewise.workflows.events import LoadedDay

KIND = "paces"
NAMES = {"course": "course", "car": "car-file"}  # fields of the question that name texts of the book


def solved_paces(place: BookPlace, course: str, car: str, *, progress: Callable[[str], None]) -> dict[str, Any]:
    """Solve the runs; times in seconds, speeds in metres per second.

    Parameters
    ----------
    place : BookPlace
    course, car : str
        Names in the book.
    progress : callable
        Told in words what is going on.

    Raises
    ------
    ConewiseError
        If the book has no such course or car, or the car has no way through.
    """
    rows = predicted(
        course_from(source(course, "course", place)), car_from(source(car, "car-file", place)), progress=progress
    )
    return {
        "paces": [
            {
                "pace": row.pace,
                "time_s": row.time,
                "speeds": [{"feature": one.feature, "slowest_speed_m_per_s": one.speed} for one in row.speeds],
            }
            for row in rows
        ]
    }


def solved_before(loaded: LoadedDay, driver: str) -> tuple[PacePrediction, ...]:
    """As `kept_paces`, for a driver as somebody names them; none where the day is of no book.

    Raises
    ------
    ConewiseError
        If nobody is called so.
    """
    if loaded.source is None:
        return ()
    return kept_paces(loaded.source, loaded, People(loaded.day).named(driver, where="--driver").id)


def kept_paces(place: BookPlace, loaded: LoadedDay, driver: str) -> tuple[PacePrediction, ...]:
    """The runs that were solved before for the car of a driver on the course of a day; none where they were not."""
    question = paces_question(loaded, driver)
    found = answered(place, KIND, question, names=NAMES) if question else None
    return tuple(
        PacePrediction(
            pace=row["pace"],
            time=row["time_s"],
            speeds=tuple(FeatureSpeed(one["feature"], one["slowest_speed_m_per_s"]) for one in row["speeds"]),
        )
        for row in (found or {}).get("paces", ())
    )


def paces_question(loaded: LoadedDay, driver: str) -> dict[str, str] | None:
    """What has to be asked for the build-up of a driver; None where the day names no course or no car file."""
    entry = loaded.day.entry(driver)
    car = loaded.day.car(entry.car) if entry else None
    course = loaded.day.event.course_file
    if not course or car is None or not car.car_file:
        return None
    return {"course": course, "car": car.car_file}
