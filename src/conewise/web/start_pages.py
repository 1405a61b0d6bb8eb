"""The first page: what is due now at the event that is chosen; and which book is shown."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from conewise.web.here import Here, Place, Shelf
from conewise.web.pages import forget_choice, render
from conewise.workflows.demo_book import keep_demo_book
from conewise.workflows.due import Due, due
from conewise.workflows.events import load_day

router = APIRouter()


@router.get("/", include_in_schema=False)
def start(request: Request, at: Place) -> Response:
    """The first page."""
    if at.chosen.event is None:
        return render(request, "empty.html.j2", at=at)
    days = (at.chosen.event.day - at.today).days
    return render(request, "start.html.j2", at=at, due=due_here(at), days=days)


@router.post("/book", include_in_schema=False)
def show_book(request: Request, which: Annotated[Literal["demo", "own"], Form()]) -> Response:
    """Show the invented book, which is made where it is not there yet, or one's own."""
    shelf: Shelf = request.app.state.shelf
    if which == "demo":
        keep_demo_book(shelf.settings.demo, now=shelf.settings.now)
    shelf.is_demo = which == "demo"
    answer = RedirectResponse("/", status_code=303)
    forget_choice(answer)
    return answer


def due_here(at: Here) -> tuple[Due, ...]:
    """What is due at the event that is chosen; nothing where there is none."""
    if at.chosen.event is None:
        return ()
    loaded = load_day(Path(at.chosen.event.id), source=at.source)
    now = at.now().astimezone().replace(tzinfo=None)
    return due(loaded, now=now, driver=at.chosen.driver.id if at.chosen.driver else "")
