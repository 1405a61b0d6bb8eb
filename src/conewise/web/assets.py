"""Style and scripts of the pages: read once, packed once, under an address that changes with their content."""

from __future__ import annotations

import gzip
import hashlib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Header
from fastapi.responses import Response

from conewise.errors import NotFoundError
from conewise.reports.looks import look_style
from conewise.reports.map_parts import map_style

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from importlib.resources.abc import Traversable

TYPES = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".webp": "image/webp",
}
FOREVER = "public, max-age=31536000, immutable"

router = APIRouter()
Packing = Annotated[str, Header(include_in_schema=False)]


class NoAssetError(NotFoundError):
    """A style or script that this version does not have."""

    code = "no-asset"
    default_hint = "Load the page again: the program was brought up to date since."

    def __init__(self, path: str) -> None:
        super().__init__(f"There is no file '{path}'.", where="/static")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asset:
    """One file as it is sent."""

    kind: str  # media type
    content: bytes
    packed: bytes


@cache
def assets() -> Mapping[str, Asset]:
    """All files by their path below `static/`."""
    found = {}
    for path, entry in _below(files("conewise.web") / "static"):
        kind = TYPES.get(path[path.rfind(".") :])
        if kind is not None:
            content = entry.read_bytes()
            found[path] = _asset(kind, content)
    found["css/map.css"] = _asset(TYPES[".css"], map_style().encode())
    found["css/tokens.css"] = _asset(TYPES[".css"], look_style().encode())
    return found


def _asset(kind: str, content: bytes) -> Asset:
    return Asset(kind=kind, content=content, packed=gzip.compress(content, mtime=0))


@cache
def version() -> str:
    """What changes when any of the files does: one for all, so that scripts find each other by relative paths."""
    digest = hashlib.sha256()
    for path, asset in sorted(assets().items()):
        digest.update(path.encode() + b"\0" + hashlib.sha256(asset.content).digest())
    return digest.hexdigest()[:16]


def address(path: str) -> str:
    """Where a page finds a file.

    Raises
    ------
    NoAssetError
        If there is none.
    """
    if path not in assets():
        raise NoAssetError(path)
    return f"/static/{version()}/{path}"


@router.get("/static/{of}/{path:path}", include_in_schema=False)
def asset(of: str, path: str, accept_encoding: Packing = "") -> Response:
    """One file. Of another version: none, for it would not fit the rest of the page."""
    found = assets().get(path)
    if found is None or of != version():
        raise NoAssetError(path)
    headers = {"Cache-Control": FOREVER, "Vary": "Accept-Encoding"}
    if "gzip" in accept_encoding:
        return Response(found.packed, media_type=found.kind, headers=headers | {"Content-Encoding": "gzip"})
    return Response(found.content, media_type=found.kind, headers=headers)


def _below(folder: Traversable, before: str = "") -> Iterator[tuple[str, Traversable]]:
    for entry in folder.iterdir():
        if entry.is_dir():
            yield from _below(entry, f"{before}{entry.name}/")
        else:
            yield before + entry.name, entry
