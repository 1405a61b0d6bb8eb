"""Who asks: the laptop itself, or a device that was let in; and what each may ask."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse

from conewise.errors import ConewiseError
from conewise.web.failures import answer, wants_json
from conewise.web.settings import LOOPBACK
from conewise.workflows.web_sessions import device_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from starlette.types import ASGIApp, Receive, Scope, Send

ROLES = ("mentor", "driver", "recorder")
_HOME_CLIENTS = {"127.0.0.1", "::1"}

# What everybody may ask, let in or not.
OPEN = (r"GET /static/.*", r"GET /pair", r"POST /api/pair")
# What the laptop alone may ask: letting others in, the other book, and what is private.
LAPTOP_ONLY = (r"\w+ /phones(/.*)?", r"\w+ /book", r"\w+ /first", r"\w+ .*(emergency|medical|contact|backup|export).*")
_ALL_ROLES = (r"GET /choices", r"POST /choices", r"GET /help(/.*)?", r"POST /leave", r"GET /api/who")
_ID = r"[a-z0-9-]+"
# What each role may ask; a mentor all that is not the laptop's.
ALLOWED: Mapping[str, tuple[str, ...]] = {
    "mentor": (r".*",),
    "recorder": (
        *_ALL_ROLES,
        r"GET /drive/runs",
        r"GET /field",
        rf"GET /api/events/{_ID}/(run-list|field)",
        rf"POST /api/events/{_ID}/runs(/{_ID}/(taken-back|corrections))?",
    ),
    "driver": (
        *_ALL_ROLES,
        r"GET /",
        r"GET /(walk|drive|debrief)",
        r"GET /walk/.*",
        r"GET /time",
        r"GET /drive/(results|driver|build-up|line)",
        r"GET /field",
        rf"GET /api/events/{_ID}/field",
        rf"GET /api/events/{_ID}/results",
        rf"GET /api/events/{_ID}/drivers/{{own}}(/build-up)?",
        r"GET /debrief/sheet/.*",
        r"POST /api/recordings",
        r"POST /api/jobs",  # of these `reach` lets pass what is about the driver's own
        rf"GET /api/jobs/{_ID}(/events)?",
        rf"DELETE /api/jobs/{_ID}",
        rf"POST /api/jobs/{_ID}/put-away",
        r"GET /api/(courses|drills)/.*",
        r"POST /api/drills/.*",
    ),
}


class NotLetInError(ConewiseError):
    """A device that was not let in, or is not any more."""

    code = "not-let-in"
    status = 401
    default_hint = "Ask the laptop for a code: its page 'Phones' shows one to be read with the camera."

    def __init__(self) -> None:
        super().__init__("This device is not let in, or not any more.", where="/pair")


class NotAllowedError(ConewiseError):
    """A device asks for what its role may not have."""

    code = "not-allowed"
    status = 403
    default_hint = "The laptop can let this device in anew with another role."

    def __init__(self, role: str, path: str) -> None:
        super().__init__(f"As {role} this device may not ask for this.", where=path[:200])


@dataclass(frozen=True, slots=True, kw_only=True)
class Visitor:
    """Who asks.

    role: "mentor", "driver" or "recorder".
    person: id of whose device it is; empty where nobody's.
    session: id of its session; empty for the laptop.
    device: what it is called; empty for the laptop.
    """

    role: str
    person: str = ""
    session: str = ""
    device: str = ""

    @property
    def is_laptop(self) -> bool:
        """Whether this is a browser on the laptop itself."""
        return not self.session

    def may(self, method: str, path: str) -> bool:
        """Whether this may be asked."""
        asked = f"{'GET' if method == 'HEAD' else method} {path}"
        if self.is_laptop or _matches(asked, OPEN):
            return True
        own = re.escape(self.person) if self.person else r"(?!)"
        allowed = [pattern.replace("{own}", own) for pattern in ALLOWED[self.role]]
        return not _matches(asked, LAPTOP_ONLY) and _matches(asked, allowed)


LAPTOP = Visitor(role="mentor")


class Gate:
    """Middleware: nobody comes further who was not let in, or whose role may not."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, with who asks in its state."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        request = Request(scope, receive)
        visitor = await run_in_threadpool(visitor_of, request)
        scope.setdefault("state", {})["visitor"] = visitor
        method, path = scope["method"], scope["path"]
        is_open = _matches(f"{method} {path}", OPEN)
        if is_open or (visitor is not None and visitor.may(method, path)):
            await self._app(scope, receive, send)
        elif visitor is None and method == "GET" and not wants_json(request):
            await RedirectResponse("/pair", status_code=303)(scope, receive, send)
        elif visitor is not None and path == "/" and not wants_json(request):
            await RedirectResponse("/field", status_code=303)(scope, receive, send)
        else:
            error = NotLetInError() if visitor is None else NotAllowedError(visitor.role, path)
            refused = await run_in_threadpool(answer, request, error)
            await refused(scope, receive, send)


def visitor_of(request: Request) -> Visitor | None:
    """Who asks; None for a device that was not let in."""
    if is_laptop(request):
        return LAPTOP
    shelf = request.app.state.shelf
    found = device_of(shelf.place(shelf.home), request.cookies.get(shelf.settings.session_cookie, ""))
    if found is None or found.role not in ROLES:
        return None
    return Visitor(role=found.role, person=found.person, session=found.id, device=found.device)


def is_laptop(request: Request) -> bool:
    """Whether a browser on this machine asks, by a name of this machine that nobody else has."""
    host = urlsplit(f"//{request.headers.get('host', '')}").hostname or ""
    names = {name.strip("[]") for name in LOOPBACK}
    return request.client is not None and request.client.host in _HOME_CLIENTS and host in names


def _matches(asked: str, patterns: tuple[str, ...] | list[str]) -> bool:
    return any(re.fullmatch(pattern, asked) for pattern in patterns)
