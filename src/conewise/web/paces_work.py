"""The work "paces": runs of a car on a course at several paces, for the build-up of a driver."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict

from conewise.records import Id  # noqa: TC001  # pydantic reads the annotations
from conewise.web.work import Desk, Kind, finite, register
from conewise.workflows.paces import KIND, NAMES

_WORDS = 10  # of progress, for about two thirds of the work


class PacesAsked(BaseModel):
    """What is asked; names are ids of the book."""

    model_config = ConfigDict(extra="forbid")

    course: Id
    car: Id


def paces(asked: PacesAsked, desk: Desk) -> dict[str, Any]:
    """Times and key speeds at every pace."""
    from conewise.workflows.paces import solved_paces

    found = solved_paces(desk.place, asked.course, asked.car, progress=desk.steps(_WORDS))
    return dict(finite(found))


register(Kind(name=KIND, asks=PacesAsked, work=paces, names=NAMES, own={}))
