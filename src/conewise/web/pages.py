"""Pages: a template filled with facts, and with what every page has."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any
from urllib.parse import parse_qsl, urlencode

from fastapi.responses import HTMLResponse
from jinja2 import Environment, PackageLoader, StrictUndefined, pass_context
from jinja2.utils import htmlsafe_json_dumps
from markupsafe import Markup

from conewise.web.assets import address
from conewise.web.here import CHOICE, here
from conewise.web.texts import catalogue, text
from conewise.web.way import STEPS

if TYPE_CHECKING:
    from fastapi import Request
    from fastapi.responses import Response
    from jinja2.runtime import Context

    from conewise.web.here import Here

YEAR = 31_536_000  # [s]


def render(request: Request, template: str, *, at: Here | None = None, status: int = 200, **facts: Any) -> HTMLResponse:
    """A page.

    Parameters
    ----------
    request : Request
    template : str
        File name of the template, which extends `base.html.j2`.
    at : Here, optional
        What the request is about, where the route knows it already.
    status : int, default 200
    **facts
        What the template shows beside what every page has: `at`, `chosen`, `shown`, `steps`, and the functions `t`,
        `asset`, `link`, `texts` and `data`.
    """
    at = at or here(request)
    page = _environment().get_template(template)
    steps = [step for step in STEPS if at.may(f"/{step}")]
    words = page.render(at=at, chosen=at.chosen, shown=at.shown, steps=steps, path=request.url.path, **facts)
    answer = HTMLResponse(words, status_code=status)
    if at.query and request.cookies.get(CHOICE) != at.query:
        answer.set_cookie(CHOICE, at.query, max_age=YEAR, samesite="strict", httponly=True)
    return answer


def forget_choice(answer: Response) -> None:
    """Let the browser choose anew: the book is another one."""
    answer.delete_cookie(CHOICE, samesite="strict", httponly=True)


@cache
def _environment() -> Environment:
    made = Environment(
        loader=PackageLoader("conewise.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals |= {"t": text, "asset": address, "link": _link, "texts": _texts, "data": _data}
    made.filters |= {"number": _number, "signed": _signed, "drawing": _drawing, "figures": _figures}
    return made


@pass_context
def _link(context: Context, path: str, **more: str) -> str:
    """The address of a page with what is chosen kept in it; a keyword takes the place of a choice."""
    query = urlencode({name: value for name, value in (dict(parse_qsl(context["at"].query)) | more).items() if value})
    return f"{path}?{query}" if query else path


def _texts(*keys: str) -> Markup:
    """The strings that the page's scripts use, and no others; `text.js` reads them."""
    return _block("texts", {key: words for key, words in catalogue().items() if _is_named(key, keys)})


def _is_named(key: str, names: tuple[str, ...]) -> bool:
    """Whether a string is named: by its key, by a key for one and for many, or by a table that ends with a dot."""
    return any(
        key == name or key in (f"{name}.one", f"{name}.many") or (name.endswith(".") and key.startswith(name))
        for name in names
    )


def _data(name: str, value: object) -> Markup:
    """Facts for the page's scripts; `data(name)` of dom.js reads them."""
    return _block(f"data-{name}", value)


def _block(name: str, value: object) -> Markup:
    """JSON in the page, which a browser does not run; what could end the element is escaped."""
    written = htmlsafe_json_dumps(value, separators=(",", ":"), allow_nan=False)
    return Markup('<script type="application/json" id="{}">{}</script>').format(name, written)


@pass_context
def _number(context: Context, value: float | None, digits: int = 0) -> str:
    written: str = context["shown"].number(value, digits)
    return written


def _drawing(svg: str) -> Markup:
    """A drawing of the reports, whose every text is escaped."""
    return Markup(svg)  # noqa: S704


@pass_context
def _figures(context: Context, words: str) -> str:
    """Words of the reports, with the reader's sign before decimals."""
    written: str = context["shown"].words(words)
    return written


@pass_context
def _signed(context: Context, value: float | None, digits: int = 2) -> str:
    written: str = context["shown"].signed(value, digits)
    return written
