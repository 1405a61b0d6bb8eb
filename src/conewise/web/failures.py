"""How a failure is answered: as JSON for scripts, as a page for people, with what is wrong, where, and what to do."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from starlette.exceptions import HTTPException

from conewise.errors import ConewiseError, InputError, NotFoundError
from conewise.refusals import refusal
from conewise.web.here import NotInBookError
from conewise.web.pages import render
from conewise.workflows.faults import fault

if TYPE_CHECKING:
    from fastapi import FastAPI
    from starlette.requests import Request
    from starlette.types import ASGIApp, Message, Receive, Scope, Send


class NoPageError(NotFoundError):
    """An address that leads nowhere."""

    code = "no-page"
    default_hint = "Start from the first page; its links lead everywhere."

    def __init__(self, path: str) -> None:
        super().__init__("There is no such page.", where=path[:200])


class RequestError(InputError):
    """A request that cannot be understood: a field is missing or is not what it has to be."""

    code = "request"
    default_hint = "Correct the field named; /api/description says what each address takes."


class NoFileError(InputError):
    """A form that takes a file came without one."""

    code = "no-file"
    default_hint = "Choose the file, then press the button beside it."

    def __init__(self) -> None:
        super().__init__("No file is chosen yet.", where="file")


class RefusedMethodError(ConewiseError):
    """An address that does not take this kind of request."""

    code = "method"
    status = 405
    default_hint = "/api/description says how each address is asked."

    def __init__(self, method: str, path: str) -> None:
        super().__init__(f"This address does not take {method}.", where=path[:200])


class Faults:
    """Middleware, outermost: what nobody foresaw is said in a sentence and kept in a log."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on."""
        begun = False

        async def noted(message: Message) -> None:
            nonlocal begun
            begun = begun or message["type"] == "http.response.start"
            await send(message)

        try:
            await self._app(scope, receive, noted)
        except Exception as error:  # noqa: BLE001  # the outermost edge
            told = fault(error, doing=f"{scope.get('method', '')} {scope.get('path', '')}")
            if scope["type"] == "http" and not begun:
                await JSONResponse(told.as_dict(), status_code=told.status)(scope, receive, send)


def add_failures(app: FastAPI) -> None:
    """Answer every failure in one shape."""
    app.add_exception_handler(ConewiseError, _own)
    app.add_exception_handler(RequestValidationError, _request)
    app.add_exception_handler(HTTPException, _http)


def _own(request: Request, error: Exception) -> Response:
    assert isinstance(error, ConewiseError)
    return answer(request, error)


def _request(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    return answer(request, request_error(error.errors()))


def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if error.status_code == 404:
        return answer(request, NoPageError(request.url.path))
    if error.status_code == 405:
        return answer(request, RefusedMethodError(request.method, request.url.path), headers=error.headers)
    return answer(request, RequestError(str(error.detail), where=request.url.path[:200]), status=error.status_code)


def request_error(problems: Any) -> RequestError:
    """What is wrong with a request's fields: the first in words, the others counted."""
    first, *others = problems
    field = ".".join(str(part) for part in first["loc"][1:])
    if first["type"] == "json_invalid" or not field:
        field = str(first["loc"][0])
    name = field.removeprefix("question.")
    counted = "1 more field has" if len(others) == 1 else f"{len(others)} more fields have"
    more = f" {counted} problems." if others else ""
    return RequestError(refusal(name[:80], first) + more, where=field[:80])


def answer(request: Request, error: ConewiseError, *, status: int | None = None, headers: Any = None) -> Response:
    """A failure as its reader takes it: scripts get JSON, people a page."""
    status = status or error.status
    if wants_json(request):
        return JSONResponse(error.as_dict(), status_code=status, headers=headers)
    template = "not_in_book.html.j2" if isinstance(error, NotInBookError) else "error.html.j2"
    page = render(request, template, status=status, error=error)
    page.headers.update(headers or {})
    return page


def wants_json(request: Request) -> bool:
    """Whether a script asks."""
    accepted = request.headers.get("accept", "")
    return request.url.path.startswith("/api/") or "text/html" not in accepted
