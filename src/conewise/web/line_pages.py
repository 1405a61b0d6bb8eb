"""The page of the line: the fastest clean way through, cone by cone, and two set-ups side by side."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from conewise.web.here import Here, NotInBookError, Place
from conewise.web.pages import render
from conewise.web.reach import named_within, own_here
from conewise.workflows import course_book
from conewise.workflows.line import SURFACES
from conewise.workflows.line_choices import LineChoices, line_choices

router = APIRouter()

Name = Annotated[str, Query(max_length=60)]


@router.get("/walk/line", include_in_schema=False)
def line(
    request: Request,
    at: Place,
    *,
    course: Name = "",
    with_car: Name = "",
    as_driver: Name = "",
    surface: Name = "dry",
    other: Name = "",
) -> Response:
    """The page; the run itself is worked out beside it and shown as it comes.

    `with_car` and `other` are car files of the book, each with a colon and the number of a set-up behind it where an
    earlier one is meant.
    """
    event = at.chosen.event
    name = course or (event.course_file if event else "")
    car = with_car or at.chosen.car_file
    if not (at.has_book and name and car):
        return render(request, "line.html.j2", at=at, is_open=False, choices=_choices(at, car))
    choices = _choices(at, car)
    assert choices is not None
    named = {
        "course": (name, choices.courses, "course"),
        "with_car": (str(_setup(car)["car"]), choices.cars, "car"),
        "other": (str(_setup(other)["car"]), choices.cars, "car"),
        "as_driver": (as_driver, choices.drivers, "driver"),
    }
    for key, (word, known, of) in named.items():
        if word and word not in {one.id for one in known}:
            raise NotInBookError(key, word, known, of=of)
    kept = course_book.kept_course(at.source, name)
    drawn = course_book.drawn_here(kept.course, at.source, system=at.shown.units.name)
    common = {"course": name, "driver": as_driver or at.chosen.level, "surface": surface}
    asked = [common | _setup(one) for one in (car, other) if one]
    picked = {"course": name, "with_car": car, "as_driver": common["driver"], "surface": surface, "other": other}
    return render(
        request,
        "line.html.j2",
        at=at,
        is_open=True,
        course=kept.course,
        record=drawn.as_dict(),
        asked=asked,
        picked=picked,
        choices=choices,
        surfaces=tuple(SURFACES),
    )


def _choices(at: Here, car: str) -> LineChoices | None:
    if not at.has_book:
        return None
    found, own = line_choices(at.source, str(_setup(car)["car"]) if car else ""), own_here(at)
    return replace(
        found,
        courses=named_within(own, "course", found.courses),
        cars=named_within(own, "car-file", found.cars),
        drivers=named_within(own, "driver-file", found.drivers),
    )


def _setup(word: str) -> dict[str, Any]:
    """A car file and the number of its set-up: "marigold:3"; 0 stands for the present one."""
    car, _, version = word.partition(":")
    return {"car": car, "setup": int(version) if version.isdecimal() and len(version) < 7 else 0}
