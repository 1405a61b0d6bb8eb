"""Colours, sizes and lines of the three looks, for pages and reports alike."""

from __future__ import annotations

import re
from importlib.resources import files


def look_style(*, follows_system: bool = False) -> str:
    """The style sheet of the looks: light, dark and sunlight as `data-look` of the page says.

    Parameters
    ----------
    follows_system : bool, default False
        Whether a page that has no look chosen is dark where the reader's system is, as a file is that nobody serves.
    """
    style = (files("conewise.reports") / "templates" / "tokens.css").read_text(encoding="utf-8")
    if not follows_system:
        return style
    dark = re.search(r":root\[data-look=dark\]\{(.*?)\n\}", style, re.DOTALL)
    assert dark is not None
    return f"{style}@media (prefers-color-scheme:dark){{:root:not([data-look]){{{dark[1]}}}}}\n"
