"""Small pieces of SVG as text; every value is escaped, so that a name stays a name."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


def tag(name: str, *children: str, **attributes: str | float | None) -> str:
    """An element. `class_` becomes `class`, `_` in a name becomes `-`; None leaves the attribute out."""
    pairs = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{_value(value)}"'
        for key, value in attributes.items()
        if value is not None
    )
    return f"<{name}{pairs}>{''.join(children)}</{name}>" if children else f"<{name}{pairs}/>"


def text(content: str, x: float, y: float, **attributes: str | float | None) -> str:
    """A text element; the content is escaped."""
    return tag("text", escape(content), x=x, y=y, **attributes)


def points(pairs: Iterable[tuple[float, float]]) -> str:
    """Value of a `points` attribute."""
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in pairs)


def _value(value: str | float) -> str:
    return escape(value) if isinstance(value, str) else f"{value:.2f}".rstrip("0").rstrip(".")
