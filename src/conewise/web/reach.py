"""How far a device reaches into long work: a driver's sees and starts work about what is that driver's own."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from conewise.web.visitors import NotAllowedError
from conewise.web.work import kinds
from conewise.workflows.own import Own, own_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from conewise.web.here import Here
    from conewise.workflows.chosen import Named
    from conewise.workflows.jobs import Job

_ALL = "mentor"


def own_here(at: Here) -> Own | None:
    """What the device that asks is held to; None where it may have everything."""
    visitor = at.visitor
    if visitor is not None and visitor.role == _ALL:
        return None
    is_driver = visitor is not None and visitor.role == "driver"
    return own_of(at.source, visitor.person if visitor is not None and is_driver else "")


def is_own(own: Own | None, kind: str, question: Mapping[str, Any]) -> bool:
    """Whether work is within reach: every name in its question is the driver's own.

    Parameters
    ----------
    own : Own or None
        Of `own_here`.
    kind : str
        What sort of work.
    question : mapping
        As the kind's record has it; what is left out or empty names nothing.
    """
    if own is None:
        return True
    known = kinds().get(kind)
    if known is None or known.own is None or not own.person:
        return False
    fields = {field: of.removesuffix("?") for field, of in known.names.items()} | dict(known.own)
    return all(_is_within(own, of, question.get(field)) for field, of in fields.items())


def refuse_others(at: Here, kind: str, question: Mapping[str, Any]) -> None:
    """Say that work is not the device's to ask for or to see.

    Raises
    ------
    NotAllowedError
    """
    if not is_own(own_here(at), kind, question):
        raise NotAllowedError(at.visitor.role if at.visitor else "a stranger", "/api/jobs")


def is_own_job(own: Own | None, job: Job) -> bool:
    """Whether a job is within reach."""
    return is_own(own, job.kind, job.asked.get("question", {}))


def within(own: Own | None, of: str, ids: Iterable[str]) -> tuple[str, ...]:
    """Those ids of a kind of record that are within reach."""
    return tuple(one for one in ids if own is None or one in own.names.get(of, ()))


def named_within(own: Own | None, of: str, named: tuple[Named, ...]) -> tuple[Named, ...]:
    """The same of what has a name too."""
    ids = within(own, of, (one.id for one in named))
    return tuple(one for one in named if one.id in ids)


def device_of(at: Here) -> str:
    """What tells the device that asks from any other; empty for the laptop."""
    return at.visitor.session if at.visitor else ""


def may_stop_for_all(at: Here) -> bool:
    """Whether the device that asks may stop work that others wait for."""
    return at.visitor is not None and at.visitor.role == _ALL


def _is_within(own: Own, of: str, value: Any) -> bool:
    names = value if isinstance(value, list | tuple) else [value]
    if of == "file":
        return not own.files.intersection(names)
    if of == "person":
        return list(names) == [own.person]  # nobody's is not one's own
    return all(not name or name in own.names[of] for name in names)
