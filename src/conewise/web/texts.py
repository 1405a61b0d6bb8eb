"""The catalogue: every string that a page shows, by a key such as "start.due"."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from conewise.errors import ConewiseError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

LANGUAGE = "en"


class MissingTextError(ConewiseError):
    """A page asks for a string that the catalogue does not have."""

    code = "missing-text"

    def __init__(self, key: str) -> None:
        super().__init__(f"The catalogue of strings has no '{key}'.", where=f"web/catalogue/{LANGUAGE}")


def text(key: str, **facts: object) -> str:
    """The string of a key, with facts put in.

    Parameters
    ----------
    key : str
        Tables and name, joined by dots. A string that differs for one and for many stands as `key.one` and
        `key.many`, and is chosen by the fact `n`.
    **facts
        What stands in braces in the string.

    Raises
    ------
    MissingTextError
        If there is none.

    Examples
    --------
    >>> text("nav.prepare")
    'Prepare'
    >>> text("event.n_drivers", n=1), text("event.n_drivers", n=8)
    ('1 driver', '8 drivers')
    """
    found = catalogue()
    if key not in found and "n" in facts:
        key += ".one" if facts["n"] == 1 else ".many"
    if key not in found:
        raise MissingTextError(key)
    return found[key].format(**facts) if facts else found[key]


@cache
def catalogue() -> Mapping[str, str]:
    """All strings by their keys."""
    folder = files("conewise.web") / "catalogue" / LANGUAGE
    found: dict[str, str] = {}
    for entry in sorted(folder.iterdir(), key=lambda one: one.name):
        if entry.name.endswith(".toml"):
            found.update(_flat(tomllib.loads(entry.read_text(encoding="utf-8"))))
    return found


def _flat(table: Mapping[str, Any], before: str = "") -> Iterator[tuple[str, str]]:
    for name, value in table.items():
        if isinstance(value, str):
            yield before + name, value
        else:
            yield from _flat(value, f"{before}{name}.")
