"""The first event in three pages: car, event, course; then the time. Nothing is kept before the last one."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response
from pydantic import BaseModel, ConfigDict, Field

from conewise.cars.driver import LEVELS
from conewise.web.here import Here, Place
from conewise.web.pages import render
from conewise.web.texts import text
from conewise.workflows.first_event import FIELDS, KINDS, FirstAnswerError, check_answers, keep_first_event

router = APIRouter()

Short = Annotated[str, Field(max_length=300)]


class FirstForm(BaseModel):
    """What one of the pages sends: its own fields, and those of the pages before."""

    model_config = ConfigDict(extra="ignore")

    page: Annotated[int, Field(ge=1, le=3)]
    car_name: Short = ""
    kind: Short = "sedan"
    mass: Short = ""
    power: Short = ""
    tyre: Short = ""
    event_name: Short = ""
    day: Short = ""
    driver_name: Short = ""
    level: Short = "novice"
    course_name: Short = ""
    notes: Annotated[str, Field(max_length=40_000)] = ""


@router.get("/first", include_in_schema=False)
def first(request: Request, at: Place) -> Response:
    """The first page: the car."""
    return _page(request, at, FirstForm(page=1, day=at.today.isoformat(), notes=text("first.example")))


@router.post("/first", include_in_schema=False)
def onward(request: Request, at: Place, form: Annotated[FirstForm, Form()]) -> Response:
    """The next page; after the last one all is kept, and the time is worked out."""
    answers = form.model_dump(exclude={"page"})
    try:
        check_answers(answers, form.page)
        if form.page < len(FIELDS):
            return _page(request, at, form.model_copy(update={"page": form.page + 1}))
        kept = keep_first_event(at.source, answers)
    except FirstAnswerError as problem:
        return _page(request, at, form, problem=problem)
    query = urlencode({"event": kept.event, "driver": kept.driver, "car": kept.car, "course": kept.course})
    return RedirectResponse(f"/time?{query}", status_code=303)


@router.get("/time", include_in_schema=False)
def time(request: Request, at: Place, course: Short = "") -> Response:
    """The time of the course of the event that is chosen, for its car: worked out, and shown as it comes."""
    event = at.chosen.event
    name = course or (event.course_file if event else "")
    asked = {"course": name, "car": at.chosen.car_file, "driver": at.chosen.level}
    return render(request, "time.html.j2", at=at, asked=asked, is_open=bool(name and at.chosen.car_file))


def _page(request: Request, at: Here, form: FirstForm, *, problem: FirstAnswerError | None = None) -> Response:
    own = FIELDS[form.page - 1]
    kept = {name: value for name, value in form.model_dump(exclude={"page"}).items() if name not in own}
    return render(
        request,
        "first.html.j2",
        at=at,
        status=422 if problem else 200,
        form=form,
        own=own,
        kept=kept,
        problem=problem,
        kinds=KINDS,
        levels=LEVELS,
        n_pages=len(FIELDS),
    )
