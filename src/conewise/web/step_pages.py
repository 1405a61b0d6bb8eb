"""The first page of each step that has none of its own: what is due there, and which pages it has."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from conewise.web.here import Place
from conewise.web.pages import render
from conewise.web.start_pages import due_here
from conewise.web.way import STEPS, WAY

router = APIRouter()


def step_page(request: Request, at: Place) -> Response:
    """What a step is for, and its pages."""
    step = request.url.path.strip("/")
    now = [one for one in due_here(at) if one.step == step]
    return render(request, "step.html.j2", at=at, step=step, due=now, places=WAY[step])


for _step in STEPS:
    router.add_api_route(f"/{_step}", step_page, methods=["GET"], include_in_schema=False)
