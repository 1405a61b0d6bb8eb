"""How this browser shows things: look, units, decimals. Kept in cookies, so that every phone has its own."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from conewise.web.here import Place
from conewise.web.pages import YEAR, render
from conewise.web.shown import COOKIES, DECIMALS, LOOKS

router = APIRouter()


@router.get("/choices", include_in_schema=False)
def choices(request: Request, at: Place) -> Response:
    """The page on which they are made."""
    return render(request, "choices.html.j2", at=at, looks=LOOKS, decimals=tuple(DECIMALS))


@router.post("/choices", include_in_schema=False)
def choose(
    look: Annotated[Literal["light", "sunlight", "dark"], Form()],
    units: Annotated[Literal["metric", "us"], Form()],
    decimal: Annotated[Literal["point", "comma"], Form()],
) -> Response:
    """Keep them, and go back to the page."""
    answer = RedirectResponse("/choices", status_code=303)
    for name, value in (("look", look), ("units", units), ("decimal", decimal)):
        answer.set_cookie(COOKIES[name], value, max_age=YEAR, samesite="strict")
    return answer
