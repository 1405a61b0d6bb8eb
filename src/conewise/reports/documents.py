"""Printed sheets: a typst template of this package, data and drawings in, PDF out."""

from __future__ import annotations

import json
import re
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from conewise.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping

PAPERS = {"a4": "a4", "letter": "us-letter"}  # what people call them, and what typst does


class PaperError(InputError):
    """A size of paper that the sheets are not made for."""

    code = "paper"

    def __init__(self, name: str) -> None:
        super().__init__(
            f"The paper is '{name}'; sheets are made for {' and '.join(PAPERS)}.",
            where="--paper",
            hint="--paper letter prints on US Letter; without it sheets are A4.",
        )


def refuse_paper(name: str) -> None:
    """Say before any work that there is no such paper.

    Raises
    ------
    PaperError
        If it is not one of `PAPERS`.
    """
    if name not in PAPERS:
        raise PaperError(name)


def concrete(drawing: str) -> str:
    """A drawing with the colours that it has where no page gives others: typst knows no CSS variables."""
    return re.sub(r"var\(--[a-z-]+,\s*([^()]+)\)", r"\1", drawing)


def pdf(template: str, data: Mapping[str, Any], *, paper: str, drawings: Mapping[str, str] | None = None) -> bytes:
    """A sheet as PDF.

    Parameters
    ----------
    template : str
        Name of a file in `reports/templates`, without its ending; it reads `sys.inputs.data` (JSON), `sys.inputs.paper`
        and one `sys.inputs` entry a drawing.
    data : Mapping
        Plain values; texts are set as they are, never as markup.
    paper : str
        One of `PAPERS`.
    drawings : Mapping of str to str, optional
        SVG by name.

    Raises
    ------
    PaperError
        If the paper is not one of `PAPERS`.
    """
    import typst

    refuse_paper(paper)
    folder = files("conewise.reports") / "templates"
    source = "\n".join((folder / f"{name}.typ").read_text(encoding="utf-8") for name in ("sheet", template))
    inputs = {"data": json.dumps(data), "paper": PAPERS[paper], **(drawings or {})}
    return bytes(typst.compile(source.encode(), format="pdf", sys_inputs=inputs))
