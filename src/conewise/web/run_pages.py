"""Runs are written down: the page with the pad, and what it and the phones send."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import Field

from conewise.records import Id, Line, OptionalId, Record
from conewise.web.here import Place
from conewise.web.pages import render
from conewise.workflows.run_entry import RunEntry
from conewise.workflows.run_list import run_list
from conewise.workflows.sent_runs import RunCorrection, correct_run, take_run, take_run_back

router = APIRouter()

_LONGEST_WAIT = 14 * 86_400  # of an entry on a phone [s]


class RunSent(Record):
    """A run that a device sends. The id is the device's own: the same once more is no second run.

    run: number of the run as the device showed it; another run of that number is asked back.
    waited: so long ago it was entered, by the device's clock. [s]
    """

    id: Id
    driver: Id
    car: OptionalId = ""
    run: int = Field(ge=1, le=1000)
    time: Line
    waited: int = Field(default=0, ge=0, le=_LONGEST_WAIT)


class CorrectionSent(Record):
    """A run as it shall be; `version` is the one that was seen."""

    version: int = Field(ge=1)
    time: Line
    reason: Line


@router.get("/drive/runs", include_in_schema=False)
def drive(request: Request, at: Place) -> Response:
    """The page with the pad."""
    event = at.chosen.event
    return render(request, "runs.html.j2", at=at, list=run_list(at.source, event.id) if event else None)


@router.get("/api/events/{event}/run-list")
def listed(event: Id, at: Place) -> dict[str, Any]:
    """Who drives in which order, and every run so far."""
    return run_list(at.source, event)


@router.post("/api/events/{event}/runs")
def add(event: Id, sent: RunSent, at: Place) -> dict[str, Any]:
    """Write a run down, once."""
    entry = RunEntry(
        driver=sent.driver, car=sent.car, number=sent.run, time=sent.time, run_id=sent.id, is_sure=True,
        by=at.by,
    )  # fmt: skip
    return take_run(at.source, event, entry, ago=timedelta(seconds=sent.waited))


@router.post("/api/events/{event}/runs/{run}/taken-back")
def take_back(event: Id, run: Id, at: Place) -> dict[str, Any]:
    """Take a run back that was entered by mistake."""
    return take_run_back(at.source, run, by=at.by) | {"event": event}


@router.post("/api/events/{event}/runs/{run}/corrections")
def correct(*, event: Id, run: Id, sent: CorrectionSent, at: Place) -> dict[str, Any]:
    """Correct a run; what it was before stays in its history."""
    correction = RunCorrection(run_id=run, version=sent.version, time=sent.time, reason=sent.reason, by=at.by)
    return correct_run(at.source, event, correction)
