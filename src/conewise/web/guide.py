"""The guide and what it leads to, from the installed package: Markdown made into pages."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

from markdown_it import MarkdownIt
from markupsafe import Markup

from conewise.errors import NotFoundError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from importlib.resources.abc import Traversable

    from markdown_it.token import Token

FIRST = "guide"
_NAME = re.compile(r"[a-z][a-z0-9-]*(?:/[a-z][a-z0-9-]*)?")


class NoHelpError(NotFoundError):
    """A page of the guide that is not there."""

    code = "no-help"
    default_hint = "The guide begins at /help."

    def __init__(self, name: str) -> None:
        super().__init__(f"There is no page '{name[:80]}' in the guide.", where="/help")


@dataclass(frozen=True, slots=True, kw_only=True)
class HelpPage:
    """One page of the guide: its title, its sections with their anchors, and its text as HTML of our own."""

    title: str
    sections: tuple[tuple[str, str], ...]
    html: Markup


def folder() -> Traversable:
    """Where the guide is: in the package, or beside its sources."""
    packed = files("conewise.web") / "docs"
    return packed if packed.is_dir() else Path(__file__).resolve().parents[3] / "docs"


@cache
def help_page(name: str) -> HelpPage:
    """A page of the guide.

    Parameters
    ----------
    name : str
        Such as "guide", "formats-cars" or "models/settings".

    Raises
    ------
    NoHelpError
        If there is none.
    """
    if not _NAME.fullmatch(name):
        raise NoHelpError(name)
    page = folder() / f"{name}.md"
    if not page.is_file():
        raise NoHelpError(name)
    reader = MarkdownIt("commonmark", {"html": False}).enable("table")
    tokens = reader.parse(page.read_text(encoding="utf-8"))
    found = _prepared(tokens, below=name.rpartition("/")[0])
    title, *sections = found
    written = reader.renderer.render(tokens, reader.options, {})
    return HelpPage(title=title[1], sections=tuple(sections), html=Markup(written))  # noqa: S704  # our own text


def _prepared(tokens: Sequence[Token], *, below: str) -> list[tuple[str, str]]:
    """Anchors on headings, links that stay among the pages, no style in the text; the headings come back."""
    headings = []
    for before, token in zip([None, *tokens], tokens, strict=False):
        token.attrs.pop("style", None)
        for inner in token.children or ():
            if inner.type == "link_open":
                inner.attrs["href"] = _address(str(inner.attrs["href"]), below=below)
            elif inner.type == "image":
                name = str(inner.attrs["src"])
                inner.attrs |= {"src": f"/help/{name}", "loading": "lazy", "class": _shape(name)}
        if before is not None and before.type == "heading_open" and before.tag in ("h1", "h2"):
            words = re.sub(r"[`*]", "", token.content)
            anchor = re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-")
            before.attrs["id"] = anchor
            headings.append((anchor, words))
    return headings


def _shape(name: str) -> str:
    """Of a picture: its place is kept free before it is there, so that a section stays where its anchor led."""
    return "hand" if name.endswith("-phone.webp") else "desk" if name.endswith(".webp") else ""


def _address(link: str, *, below: str) -> str:
    """Where a link of a page leads: to another page of the guide, or where it says."""
    path, _, anchor = link.partition("#")
    if "://" in path or not path.endswith(".md"):
        return link
    whole = f"{below}/{path}" if below and not path.startswith("../") else path.removeprefix("../")
    return f"/help/{whole.removesuffix('.md')}" + (f"#{anchor}" if anchor else "")
