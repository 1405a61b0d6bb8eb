"""Long work over HTTP: ask for it, follow it, stop it. `/api/jobs` is the same for every kind."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response, StreamingResponse
from pydantic import BaseModel, ConfigDict, Field, ValidationError
from starlette.concurrency import run_in_threadpool

from conewise.web.failures import request_error
from conewise.web.here import Here, Place
from conewise.web.job_words import about, told
from conewise.web.pages import render
from conewise.web.reach import device_of, may_stop_for_all, refuse_others
from conewise.web.visitors import NotAllowedError
from conewise.web.work import kind_named
from conewise.web.workshop import Workshop
from conewise.workflows.jobs import Asker, Job, ask, jobs_of

router = APIRouter()

LOOK = 0.25  # between looks at a job that is followed [s]
QUIET = 15.0  # after so long without news a comment is sent, so that a lost connection is noticed [s]
JobId = Annotated[str, Field(min_length=1, max_length=60)]
Slot = Annotated[str, Query(max_length=60)]


class JobAsked(BaseModel):
    """Long work that is wanted.

    kind: such as "line".
    question: what that kind asks.
    slot: the place on the page that asks. What the same device asked there before is not waited for any more, and
        stops where nobody else waits. Empty: no such place.
    """

    model_config = ConfigDict(extra="forbid")

    kind: str = Field(max_length=40)
    question: dict[str, Any]
    slot: str = Field(default="", max_length=60)


@router.post("/api/jobs", status_code=202)
def submit(asked: JobAsked, request: Request, at: Place) -> dict[str, Any]:
    """Ask for long work. The same question gets the same job as long as nothing that it rests on has changed."""
    kind = kind_named(asked.kind)
    try:
        read = kind.asks.model_validate(asked.question)
    except ValidationError as problem:
        raise request_error([{**one, "loc": ("body", "question", *one["loc"])} for one in problem.errors()]) from None
    question = read.model_dump(mode="json")
    refuse_others(at, kind.name, question)
    if kind.refuse is not None:
        kind.refuse(read, at.source)
    asker = Asker(device=device_of(at), slot=asked.slot)
    job = ask(at.source, kind.name, question, names=kind.names, asker=asker)
    workshop: Workshop = request.app.state.workshop
    if not job.is_over:
        workshop.open(at.book)
    return _now(job.id, at)


@router.get("/api/jobs")
def every(at: Place) -> list[dict[str, Any]]:
    """All jobs, the latest first, without their results."""
    if not at.has_book:
        return []
    with jobs_of(at.source) as jobs:
        return [told(at, job, jobs) for job in jobs.every()]


@router.get("/api/jobs/{job_id}")
def one(job_id: JobId, at: Place) -> dict[str, Any]:
    """One job with its result; while it runs, with what came of it so far."""
    return _now(_seen(job_id, at).id, at)


@router.delete("/api/jobs/{job_id}")
def stop(job_id: JobId, at: Place, *, slot: Slot = "", for_all: bool = False) -> dict[str, Any]:
    """Wait for a job no more. It stops where nobody else waits: at once before it runs, else within seconds.

    `slot` is that of the question: the same question in another slot of the device is waited for on. Without one, or
    where it was not asked for there, the device waits no more at all. With `for_all` a mentor stops it for everybody.
    """
    _seen(job_id, at)
    if for_all and not may_stop_for_all(at):
        raise NotAllowedError(at.visitor.role if at.visitor else "a stranger", f"/api/jobs/{job_id}")
    with jobs_of(at.source) as jobs:
        asker = Asker(device=device_of(at), slot=slot)
        return told(at, jobs.stop(job_id) if for_all else jobs.leave(job_id, asker), jobs)


@router.post("/api/jobs/{job_id}/put-away", status_code=204)
def put_away(job_id: JobId, at: Place) -> None:
    """Take out work that failed or was stopped, so that no page shows it any more."""
    _seen(job_id, at)
    with jobs_of(at.source) as jobs:
        jobs.put_away(job_id)


@router.get("/api/jobs/{job_id}/events", response_class=StreamingResponse)
def events(job_id: JobId, at: Place) -> Response:
    """A job as a stream of server-sent events named `job`: one at once, one for each change, until it is over.

    `result` stands in an event only where it has changed since the event before.
    """
    first = _now(_seen(job_id, at).id, at)
    return StreamingResponse(_followed(first, at), media_type="text/event-stream")


@router.get("/jobs", include_in_schema=False)
def page(request: Request, at: Place) -> Response:
    """What is being worked out, and what was."""
    jobs: tuple[Job, ...] = ()
    if at.has_book:
        with jobs_of(at.source) as kept:
            jobs = kept.every()
    return render(request, "jobs.html.j2", at=at, jobs=[(job, about(at, job)) for job in jobs])


def _seen(job_id: str, at: Here) -> Job:
    """A job, where the device that asks may see it."""
    with jobs_of(at.source) as jobs:
        job = jobs.one(job_id)
    refuse_others(at, job.kind, job.asked.get("question", {}))
    return job


def _now(job_id: str, at: Here) -> dict[str, Any]:
    with jobs_of(at.source) as jobs:
        return told(at, jobs.one(job_id), jobs)


async def _followed(known: dict[str, Any], at: Here) -> AsyncIterator[str]:
    yield _event(known)
    quiet = 0.0
    while not known["is_over"]:
        await asyncio.sleep(LOOK)
        quiet += LOOK
        now = await run_in_threadpool(_now, known["id"], at)
        if _without_life(now) != _without_life(known):
            is_same = now["result"] == known["result"]
            yield _event({name: value for name, value in now.items() if name != "result" or not is_same})
            quiet = 0.0
        elif quiet >= QUIET:
            yield ": still there\n\n"
            quiet = 0.0
        known = now


def _event(job: dict[str, Any]) -> str:
    return f"event: job\ndata: {json.dumps(job, ensure_ascii=False, allow_nan=False)}\n\n"


def _without_life(job: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in job.items() if name != "seen_at"}
