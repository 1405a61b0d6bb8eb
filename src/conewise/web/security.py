"""What every answer carries, and which requests are not heard: other names, other pages, too much at once."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.middleware.trustedhost import TrustedHostMiddleware
from starlette.responses import HTMLResponse, JSONResponse

from conewise.errors import ConewiseError
from conewise.proof import times_file
from conewise.workflows import course_book, photos, recordings

if TYPE_CHECKING:
    from collections.abc import Sequence

    from starlette.types import ASGIApp, Message, Receive, Scope, Send

_SOURCES = {
    "default-src": "'none'",
    "script-src": "'self'",
    "style-src": "'self'",
    "img-src": "'self' data: blob:",  # a photo under a course comes from the reader's own disk
    "connect-src": "'self'",
    "form-action": "'self'",
    "base-uri": "'none'",
    "object-src": "'none'",
    "frame-ancestors": "'none'",
}
POLICY = "; ".join(f"{kind} {source}" for kind, source in _SOURCES.items())
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",  # with no-referrer a form would be sent without its origin
    "X-Frame-Options": "DENY",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=(), payment=()",
}
MOST_BYTES = 1_000_000  # that a request may send
_OVER = 40_000_000  # that a form with a file may send beyond what the file may have: its page says so beside the field
LIMITS = {
    "/api/recordings": recordings.MOST_BYTES,
    "/api/photos": photos.MOST_BYTES,
    "/prepare/courses/file": course_book.MOST_BYTES + _OVER,
    "/prove/file": times_file.MOST_BYTES + _OVER,
}  # where more is taken
_READING = {"GET", "HEAD", "OPTIONS"}


class ForeignRequestError(ConewiseError):
    """A request that another site's page made a browser send."""

    code = "foreign-request"
    status = 403
    default_hint = "Open the page from the address that the server printed, and try again there."

    def __init__(self, origin: str) -> None:
        shown = f" ('{origin[:80]}')" if origin else ""
        super().__init__(f"This request did not come from a page of this server{shown}.", where="Origin")


class UnknownHostError(ConewiseError):
    """A request that calls the server by a name that is not its own, as a page of another site may make it."""

    code = "unknown-host"
    status = 400
    default_hint = (
        "Open the address that the program printed when it was started; a phone opens the one that its code leads to."
    )

    def __init__(self, host: str) -> None:
        super().__init__(f"This server does not answer to the name '{host[:80]}'.", where="Host")


class UnsizedBodyError(ConewiseError):
    """A request that does not say how much it sends."""

    code = "unsized"
    status = 411
    default_hint = "Send it with Content-Length, as every browser does."

    def __init__(self) -> None:
        super().__init__("The request does not say how much it sends.", where="Content-Length")


class PackedBodyError(ConewiseError):
    """A request whose content is packed: what it unpacks to is not known before."""

    code = "packed"
    status = 415
    default_hint = "Send it as it is."

    def __init__(self, encoding: str) -> None:
        super().__init__(f"Packed content is not taken ('{encoding[:20]}').", where="Content-Encoding")


class TooLargeError(ConewiseError):
    """A request that sends more than its address takes."""

    code = "too-large"
    status = 413

    def __init__(self, sent: int, most: int) -> None:
        super().__init__(
            f"{sent / 1e6:.1f} MB were to be sent; this address takes {most / 1e6:.1f} MB.",
            where="Content-Length",
            hint="Send less at once.",
        )


class KnownHosts:
    """Middleware: only who calls the server by one of its own names is heard; others are told what to do.

    The page for them says nothing of the book and loads nothing: its addresses would not be heard either.
    """

    def __init__(self, app: ASGIApp, hosts: Sequence[str]) -> None:
        self._app = app
        self._hosts = list(hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        is_known = False

        async def known(scope: Scope, receive: Receive, send: Send) -> None:
            nonlocal is_known
            is_known = True
            await self._app(scope, receive, send)

        async def passed(message: Message) -> None:
            if is_known:
                await send(message)

        judge = TrustedHostMiddleware(known, allowed_hosts=self._hosts, www_redirect=False)
        await judge(scope, receive, passed)
        if not is_known:
            headers = Headers(scope=scope)
            error = UnknownHostError(headers.get("host", ""))
            wants_page = "text/html" in headers.get("accept", "")
            answer = _bare(error) if wants_page else JSONResponse(error.as_dict(), status_code=error.status)
            await answer(scope, receive, send)


def _bare(error: ConewiseError) -> HTMLResponse:
    """A failure as a page without style or script."""
    words = "".join(f"<p>{escape(said)}</p>" for said in (error.message, error.hint))
    page = '<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
    return HTMLResponse(f"{page}<title>conewise</title><h1>Not this address</h1>{words}", status_code=error.status)


class Guard:
    """Middleware: headers on every answer; nothing changed by a page of another site; not too much at once."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def marked(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("Cache-Control", "no-store")
            await send(message)

        refused = refusal(scope)
        if refused is not None:
            await JSONResponse(refused.as_dict(), status_code=refused.status)(scope, receive, marked)
            return
        await self._app(scope, receive, marked)


def refusal(scope: Scope) -> ConewiseError | None:
    """Why a request is not heard; None where it is."""
    headers = Headers(scope=scope)
    if scope["method"] in _READING:
        return None
    if not is_from_here(headers, scope["method"]):
        return ForeignRequestError(headers.get("origin", ""))
    if packed := headers.get("content-encoding", ""):
        return PackedBodyError(packed)
    length = headers.get("content-length", "0")
    if "transfer-encoding" in headers or not length.isdecimal():
        return UnsizedBodyError()
    most = next((size for path, size in LIMITS.items() if scope["path"].startswith(path)), MOST_BYTES)
    return TooLargeError(int(length), most) if int(length) > most else None


def is_from_here(headers: Headers, method: str) -> bool:
    """Whether a request that changes something was sent by a page of this server, or by a program that is no browser.

    A browser names the origin of the page with every such request. A program that does not is heard only with what no
    form can send: JSON, or another method than POST.
    """
    origin, site = headers.get("origin"), headers.get("sec-fetch-site")
    if site not in (None, "same-origin", "none"):
        return False
    if origin is not None:
        return urlsplit(origin).netloc == headers.get("host", "") != ""
    is_json = headers.get("content-type", "").split(";")[0].strip() == "application/json"
    return site is not None or is_json or method != "POST"
