"""The phone's page, which works out of range of the laptop once it is open; and the drill on the laptop."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response

from conewise.records import Id
from conewise.web.here import Here, Place
from conewise.web.pages import render
from conewise.workflows.events import load_day
from conewise.workflows.field_pack import course_pack, field_pack

router = APIRouter()

# What each role has on the lot: a driver the own card and no run entry, a recorder the runs alone.
PARTS = {"mentor": ("walk", "card", "drill", "runs"), "driver": ("walk", "card", "drill"), "recorder": ("runs",)}
_KEPT = "private, max-age=43200"  # by the phone's browser, so that the page opens again out of range [s]


@router.get("/field", include_in_schema=False)
def field(request: Request, at: Place) -> Response:
    """The phone's page."""
    event = at.chosen.event
    pack = _pack(event.id, at) if event else None
    answer = render(request, "field.html.j2", at=at, pack=pack)
    if pack is not None:
        answer.headers["Cache-Control"] = _KEPT
    return answer


@router.get("/api/events/{event}/field")
def field_as_record(event: Id, at: Place) -> dict[str, Any]:
    """What the phone takes along."""
    return _pack(event, at)


def _pack(event: str, at: Here) -> dict[str, Any]:
    """What the phone of a role takes along."""
    visitor = at.visitor
    assert visitor is not None
    parts = PARTS[visitor.role]
    only = None if visitor.role == "mentor" else visitor.person if visitor.role == "driver" else ""
    pack = field_pack(at.source, event, system=at.shown.units.name, only=only, with_runs="runs" in parts)
    return pack | {"parts": list(parts)} | ({} if "walk" in parts else {"course": None})


@router.get("/walk/drill", include_in_schema=False)
def drill(request: Request, at: Place) -> Response:
    """The drill."""
    event = at.chosen.event
    course = course_pack(load_day(Path(event.id), source=at.source), system=at.shown.units.name) if event else None
    return render(request, "drill.html.j2", at=at, course=course)
