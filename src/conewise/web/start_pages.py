"""The first page: which event comes, and what is due now."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from conewise.web.here import Place
from conewise.web.pages import render

router = APIRouter()


@router.get("/", include_in_schema=False)
def start(request: Request, at: Place) -> Response:
    """The first page."""
    return render(request, "start.html.j2", at=at)
