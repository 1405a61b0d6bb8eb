"""Kinds of long work: a name, what is asked, and the function that does it. The worker process runs them."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from importlib import import_module
from typing import TYPE_CHECKING, Any

from conewise.errors import NotFoundError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from pydantic import BaseModel

    from conewise.workflows.book_place import BookPlace

# Modules that register kinds; each is imported when a kind is first asked for.
MODULES = (
    "conewise.web.line_work",
    "conewise.web.paces_work",
    "conewise.web.drawing_work",
    "conewise.web.debrief_work",
    "conewise.web.change_work",
)


class UnknownWorkError(NotFoundError):
    """A kind of work that nobody registered."""

    code = "unknown-work"

    def __init__(self, kind: str, known: tuple[str, ...]) -> None:
        super().__init__(
            f"There is no work of the kind '{kind[:40]}'.", where="kind", hint=f"Known: {', '.join(sorted(known))}."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """What work is given beside its question.

    place: the book.
    job: id of the job that is at work.
    tell: told the share that is done (0 to 1) and what is being done, in words.
    show: given what came of it so far, as JSON can hold it.
    """

    place: BookPlace
    job: str
    tell: Callable[[float, str], None]
    show: Callable[[Any], None]

    def steps(self, expected: int) -> Callable[[str], None]:
        """A `progress` for workflows that tell words only: the share grows with each word and stays below all.

        Parameters
        ----------
        expected : int
            How many words about two thirds of the work have.
        """
        told = 0

        def progress(words: str) -> None:
            nonlocal told
            told += 1
            self.tell(1.0 - math.exp(-told / expected), words)

        return progress


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of work.

    asks: the record of its question.
    work: does it, and returns what came of it, as JSON can hold it.
    names: fields of the question that name a text of the book, with its kind there: {"course": "course"}.
    own: fields that beside these must name what is a driver's own where that driver's phone asks, with its kind in the
        book; "file" is the address of one that was sent. None: the work is for mentors alone.
    refuse: says of a question that can be read why it cannot be answered, before it becomes a job; None: nothing can.
    """

    name: str
    asks: type[BaseModel]
    work: Callable[[Any, Desk], Any]
    names: Mapping[str, str] = field(default_factory=dict)
    own: Mapping[str, str] | None = None
    refuse: Callable[[Any, BookPlace], None] | None = None


_KINDS: dict[str, Kind] = {}


def register(kind: Kind) -> Kind:
    """Make a kind of work known under its name."""
    _KINDS[kind.name] = kind
    return kind


def kind_named(name: str) -> Kind:
    """The kind of a name.

    Raises
    ------
    UnknownWorkError
        If there is none.
    """
    known = kinds()
    if name not in known:
        raise UnknownWorkError(name, tuple(known))
    return known[name]


def kinds() -> Mapping[str, Kind]:
    """All kinds by their names."""
    for module in MODULES:
        import_module(module)
    return _KINDS


def finite(value: Any) -> Any:
    """Plain data in which a number that is not finite is null, as JSON asks."""
    if isinstance(value, dict):
        return {key: finite(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [finite(entry) for entry in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value
