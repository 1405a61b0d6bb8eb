"""Phones: a code to let one in, those that are let in, and the page on which a phone shows its code."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Literal

from fastapi import APIRouter, Form, Request
from fastapi.responses import JSONResponse, RedirectResponse, Response
from markupsafe import Markup
from pydantic import BaseModel, ConfigDict, Field

from conewise.errors import InputError
from conewise.web.here import Here, Place, Shelf
from conewise.web.pages import render
from conewise.web.pairing import GOOD_FOR, Pairings, code_address, code_picture
from conewise.web.visitors import ROLES
from conewise.workflows import web_sessions

if TYPE_CHECKING:
    from conewise.workflows.book_place import BookPlace

router = APIRouter()

Role = Literal["mentor", "driver", "recorder"]


class NobodyChosenError(InputError):
    """A driver's phone without a driver."""

    code = "nobody-chosen"
    default_hint = "Choose whose phone it is."

    def __init__(self) -> None:
        super().__init__("A driver's phone shows what is that driver's own.", where="person")


class CodeShown(BaseModel):
    """A device shows the code that it read, and says what it is called."""

    model_config = ConfigDict(extra="forbid")

    code: Annotated[str, Field(min_length=1, max_length=100)]
    device: Annotated[str, Field(max_length=60)] = ""


@router.get("/phones", include_in_schema=False)
def phones(request: Request, at: Place) -> Response:
    """Those that are let in, and the way in for another."""
    return _page(request, at)


@router.post("/phones", include_in_schema=False)
def code(
    *, request: Request, at: Place, role: Annotated[Role, Form()], person: Annotated[str, Form(max_length=60)] = ""
) -> Response:
    """A new code, shown once."""
    if role == "driver" and not person:
        raise NobodyChosenError
    shelf: Shelf = request.app.state.shelf
    pairings: Pairings = request.app.state.pairings
    made = pairings.offer(role, person if role == "driver" else "")
    picture = Markup(code_picture(code_address(shelf.settings.origin, made)))  # noqa: S704  # our own drawing
    return _page(request, at, picture=picture, role=role, person=person)


@router.post("/phones/out", include_in_schema=False)
def out(request: Request, session: Annotated[str, Form(max_length=64)] = "") -> Response:
    """Show a device out; all of them where none is named."""
    home = _home(request)
    if session:
        web_sessions.show_out(home, session)
    else:
        web_sessions.show_all_out(home)
    return RedirectResponse("/phones", status_code=303)


@router.get("/pair", include_in_schema=False)
def pair(request: Request, at: Place) -> Response:
    """Where a phone shows the code that it read."""
    return render(request, "pair.html.j2", at=at)


@router.post("/api/pair")
def let_in(shown: CodeShown, request: Request) -> JSONResponse:
    """Let a device in that shows a good code. The answer sets the cookie by which it is known."""
    shelf: Shelf = request.app.state.shelf
    pairings: Pairings = request.app.state.pairings
    offer = pairings.take(shown.code, address=request.client.host if request.client else "")
    device = " ".join(shown.device.split())[:60] or offer.role
    secret = web_sessions.let_in(_home(request), device=device, role=offer.role, person=offer.person)
    to = "/field" if offer.role == "recorder" else "/"
    answer = JSONResponse({"role": offer.role, "person": offer.person, "to": to})
    answer.set_cookie(
        shelf.settings.session_cookie,
        secret,
        max_age=int(web_sessions.LASTS.total_seconds()),
        httponly=True,
        samesite="strict",
    )
    return answer


@router.get("/api/who")
def who(at: Place) -> dict[str, Any]:
    """Who this device is to the server."""
    visitor = at.visitor
    assert visitor is not None
    return {"role": visitor.role, "person": visitor.person, "device": visitor.device, "is_laptop": visitor.is_laptop}


@router.post("/leave", include_in_schema=False)
def leave(request: Request, at: Place) -> Response:
    """End the session of the device that asks."""
    shelf: Shelf = request.app.state.shelf
    if at.visitor is not None and at.visitor.session:
        web_sessions.show_out(_home(request), at.visitor.session)
    answer = RedirectResponse("/pair", status_code=303)
    answer.delete_cookie(shelf.settings.session_cookie, httponly=True, samesite="strict")
    answer.headers["Clear-Site-Data"] = '"cache"'
    return answer


def _home(request: Request) -> BookPlace:
    """The book that the server was started with: it knows the devices."""
    shelf: Shelf = request.app.state.shelf
    return shelf.place(shelf.home)


def _page(request: Request, at: Here, **more: Any) -> Response:
    shelf: Shelf = request.app.state.shelf
    home = _home(request)
    people = web_sessions.people(home)
    facts = {"picture": None, "role": "recorder", "person": ""} | more
    return render(
        request,
        "phones.html.j2",
        at=at,
        lan=shelf.settings.origin,
        roles=ROLES,
        people=people,
        names=dict(people),
        devices=web_sessions.devices(home),
        minutes=int(GOOD_FOR.total_seconds() // 60),
        **facts,
    )
