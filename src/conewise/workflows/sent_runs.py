"""Runs that a phone or a page sends: written down once however often they come, taken back, corrected."""

from __future__ import annotations

import threading
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from conewise.event.run_time import said_of, written
from conewise.event.runs import Run
from conewise.scoring.counting import counted
from conewise.store.days import entry_list
from conewise.workflows.events import penalty_of
from conewise.workflows.place_clock import clock_at
from conewise.workflows.run_entry import RunEntry, kept_run

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import timedelta

    from conewise.event.rules import PenaltyRule
    from conewise.store.repository import Version
    from conewise.workflows.book_place import BookPlace

_TURN = threading.Lock()  # one phone after another: the database lets those that wait try again only now and then


@dataclass(frozen=True, slots=True, kw_only=True)
class RunCorrection:
    """A run as it shall be; `version` is the one that whoever corrects it saw."""

    run_id: str
    version: int
    time: str
    reason: str
    by: str = ""


def take_run(source: BookPlace, event_id: str, entry: RunEntry, *, ago: timedelta) -> dict[str, Any]:
    """Write down a run that was sent; see `conewise.workflows.run_entry.kept_run`.

    Parameters
    ----------
    source : BookPlace
    event_id : str
    entry : RunEntry
        With the id that its sender made.
    ago : timedelta
        So long ago it was entered; the clock of the place then is when it was driven.

    Returns
    -------
    dict
        See `run_record`.

    Raises
    ------
    RunThereError
        If another run of that number was written down meanwhile.
    RunTakenBackError
        If this run was written down and taken back.
    ConewiseError
        If the driver, the car or the time is not clear, or the book cannot be written.
    """
    with source.opened(create=False) as book:
        day = entry_list(book, event_id)
        penalty = penalty_of(book, day.event)
        driven = clock_at(day.event, lambda: source.now() - ago).isoformat()
        with _TURN, book.writing(by=entry.by) as writer:
            run, _ = kept_run(writer, day, replace(entry, driven_at=driven))
            kept = writer.one(Run, run.id)
            return run_record(run, penalty, versions=writer.history(Run, run.id) if kept.version > 1 else ())


def take_run_back(source: BookPlace, run_id: str, *, by: str) -> dict[str, Any]:
    """Take a run back that was entered by mistake; its history stays. Taken back twice is taken back once."""
    with source.opened(create=False) as book, book.writing(by=by) as writer:
        is_there = writer.find(Run, run_id) is not None
        if is_there or not writer.history(Run, run_id):
            writer.remove(Run, run_id, reason="taken back")
        return {"ok": True, "id": run_id, "was_there": is_there}


def correct_run(source: BookPlace, event_id: str, correction: RunCorrection) -> dict[str, Any]:
    """Correct a run; the same correction once more is no second one.

    Raises
    ------
    ChangedMeanwhileError
        If somebody else changed it after it was seen.
    ConewiseError
        If the time cannot be read, or the run is not there.
    """
    with source.opened(create=False) as book:
        day = entry_list(book, event_id)
        penalty = penalty_of(book, day.event)
        with book.writing(by=correction.by) as writer:
            kept = writer.one(Run, correction.run_id)
            if not _is_done(writer.history(Run, kept.id), correction):
                before = kept.record
                if kept.version != correction.version:
                    writer.change(before, version=correction.version)  # says who changed it
                entry = RunEntry(
                    driver=before.person, number=before.order, car=before.car, time=correction.time,
                    reason=correction.reason, is_sure=True,
                )  # fmt: skip
                kept_run(writer, day, entry)
            run = writer.one(Run, kept.id).record
            return run_record(run, penalty, versions=writer.history(Run, run.id))


def _is_done(versions: Sequence[Version[Run]], correction: RunCorrection) -> bool:
    """Whether the very correction was made before."""
    made = [one for one in versions if one.version == correction.version + 1]
    return any(
        one.record is not None
        and (one.record.written, one.reason) == (correction.time.strip(), correction.reason)
        and one.by == correction.by
        for one in made
    )


def run_record(run: Run, penalty: PenaltyRule, *, versions: Sequence[Version[Run]] = ()) -> dict[str, Any]:
    """A run as plain data, with what it was before each correction; times in seconds."""
    scored = counted(run, penalty)
    return {
        "ok": True,
        "id": run.id,
        "driver": run.person,
        "car": run.car,
        "run": run.order,
        "written": written(said_of(run)),
        "raw_time_s": run.raw_time,
        "cones": run.cones,
        "outcome": run.outcome,
        "is_void": run.is_void,
        "total_s": scored.total,
        "why": scored.why,
        "driven_at": run.driven_at.isoformat() if run.driven_at else "",
        "version": versions[-1].version if versions else 1,
        "history": [
            {
                "written": written(said_of(one.record)),
                "at": one.at.isoformat(),
                "by": one.by,
                "reason": one.reason or one.record.reason,
            }
            for one in versions
            if one.record is not None
        ],
    }
