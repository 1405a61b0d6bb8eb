"""Whom to call: on the laptop alone, two taps from anywhere."""

from __future__ import annotations

from pathlib import Path

from fastapi import APIRouter, Request
from fastapi.responses import Response

from conewise.web.here import Place
from conewise.web.pages import render
from conewise.workflows.event_plan import emergency_contacts
from conewise.workflows.events import load_day

router = APIRouter()


@router.get("/emergency", include_in_schema=False)
def emergency(request: Request, at: Place) -> Response:
    """The contact and the medical notes of everybody who is entered."""
    event = at.chosen.event
    people = emergency_contacts(load_day(Path(event.id), source=at.source)) if event else []
    return render(request, "emergency.html.j2", at=at, people=sorted(people, key=lambda one: one[1].casefold()))
