"""The work "line": the fastest clean way through a course of the book, for a car of the book."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, Field

from conewise.records import Id  # noqa: TC001  # pydantic reads the annotations
from conewise.web.work import Desk, Kind, register

_WORDS = 8  # of progress, for about two thirds of a line


class LineAsked(BaseModel):
    """What is asked; names are ids of the book."""

    model_config = ConfigDict(extra="forbid")

    course: Id
    car: Id
    driver: Id = "expert"  # a level, or a driver file of the book
    pace: float | None = Field(default=None, ge=0.3, le=1.0)
    surface: str = Field(default="dry", min_length=1, max_length=20)
    setup: int = Field(default=0, ge=0)  # version of the car file; 0: as it is now


def line(asked: LineAsked, desk: Desk) -> dict[str, Any]:
    """The whole answer, as `conewise line --json` prints it; the run alone is shown as soon as it is solved."""
    from conewise.reports.record import line_record
    from conewise.workflows.line import LineQuestion, answer_line
    from conewise.workflows.line_choices import car_setup
    from conewise.workflows.named import driver_source, source

    now = source(asked.car, "car-file", desk.place)
    question = LineQuestion(
        course=source(asked.course, "course", desk.place),
        car=car_setup(desk.place, asked.car, asked.setup) if asked.setup else now,
        driver=driver_source(asked.driver, desk.place),
        pace=asked.pace,
        surface=asked.surface,
    )
    answer = answer_line(question, progress=desk.steps(_WORDS), first=lambda found: desk.show(line_record(found)))
    return line_record(answer)


_NAMES = {"course": "course", "car": "car-file", "driver": "driver-file?"}
register(Kind(name="line", asks=LineAsked, work=line, names=_NAMES, own={}))
