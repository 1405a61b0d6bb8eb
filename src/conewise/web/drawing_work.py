"""The work "drawing": the exact time of a course that is being drawn, which the book does not have."""

from __future__ import annotations

from typing import Any

from conewise.course.layout import Course
from conewise.records import Id, Record
from conewise.web.work import Desk, Kind, register

_WORDS = 3  # of progress, for about two thirds of a run


class DrawingAsked(Record):
    """What is asked: a course as it is drawn, and a car of the book."""

    course: Course
    car: Id
    driver: Id = "expert"


def drawing(asked: DrawingAsked, desk: Desk) -> dict[str, Any]:
    """Time and line of the transient run, as `POST /api/course/line` gives those of the quasi-steady one."""
    from conewise.course.toml_text import course_text
    from conewise.reports.record import quick_record
    from conewise.workflows.line import LineQuestion
    from conewise.workflows.line import asked as solves_of
    from conewise.workflows.named import BookText, driver_source, source

    question = LineQuestion(
        course=BookText(kind="course", name="drawing", text=course_text(asked.course)),
        car=source(asked.car, "car-file", desk.place),
        driver=driver_source(asked.driver, desk.place),
    )
    _, _, solves = solves_of(question, progress=desk.steps(_WORDS))
    found = solves.best().solution
    return quick_record(found, step=1.0) | {"car": found.car, "is_checked": found.is_checked}


register(Kind(name="drawing", asks=DrawingAsked, work=drawing, names={"car": "car-file", "driver": "driver-file?"}))
