"""The first event in three pages: car, event, course; then the time. Nothing is kept before the last one."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Form, Query, Request
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

    page: Annotated[int, Field(ge=1, le=3)] = 1
    back: bool = False
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
def first(request: Request, at: Place, form: Annotated[FirstForm, Query()]) -> Response:
    """The first page, the car; or the page after the one sent, by an address to which a browser can go back."""
    if "page" in request.query_params:
        return _onward(request, at, form)
    return _page(request, at, FirstForm(day=at.today.isoformat(), notes=text("first.example")))


@router.post("/first", include_in_schema=False)
def last(request: Request, at: Place, form: Annotated[FirstForm, Form()]) -> Response:
    """After the last page all is kept, and the time is worked out; a page before it leads to the next."""
    if form.back or form.page < len(FIELDS):
        return _onward(request, at, form)
    answers = form.model_dump(exclude={"page", "back"})
    try:
        check_answers(answers, form.page)
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


def _onward(request: Request, at: Here, form: FirstForm) -> Response:
    """The next page, or the one before where that is asked; nothing is kept."""
    if form.back:
        return _page(request, at, form.model_copy(update={"page": max(form.page - 1, 1)}))
    try:
        check_answers(form.model_dump(exclude={"page", "back"}), form.page)
    except FirstAnswerError as problem:
        return _page(request, at, form, problem=problem)
    return _page(request, at, form.model_copy(update={"page": min(form.page + 1, len(FIELDS))}))


def _page(request: Request, at: Here, form: FirstForm, *, problem: FirstAnswerError | None = None) -> Response:
    own = FIELDS[form.page - 1]
    kept = {name: value for name, value in form.model_dump(exclude={"page", "back"}).items() if name not in own}
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
