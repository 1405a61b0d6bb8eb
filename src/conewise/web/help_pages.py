"""Help: the user guide and the file formats, without a network."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from conewise.web.assets import TYPES
from conewise.web.guide import FIRST, NoHelpError, folder, help_page
from conewise.web.here import Place
from conewise.web.pages import render

router = APIRouter()


@router.get("/help", include_in_schema=False)
def guide(request: Request, at: Place) -> Response:
    """The guide."""
    return render(request, "help.html.j2", at=at, page=help_page(FIRST))


@router.get("/help/pictures/{name}", include_in_schema=False)
def picture(name: str) -> Response:
    """A picture of the guide."""
    known = {one.name: one for one in (folder() / "pictures").iterdir() if one.is_file()}
    kind = TYPES.get(name[name.rfind(".") :])
    if name not in known or kind is None:
        raise NoHelpError(name)
    return Response(known[name].read_bytes(), media_type=kind, headers={"Cache-Control": "private, max-age=3600"})


@router.get("/help/{name:path}", include_in_schema=False)
def page(name: str, request: Request, at: Place) -> Response:
    """A page that the guide leads to."""
    return render(request, "help.html.j2", at=at, page=help_page(name))
