"""Debrief: a recording is chosen or dropped, read, asked about, worked out; the one thing to work on; any two runs."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from conewise.reports.debrief_pdf import sheet_pdf
from conewise.web.debrief_list import shelf_of
from conewise.web.here import Here, Place
from conewise.web.job_pages import JobId
from conewise.web.pages import render
from conewise.web.reach import is_own_job, named_within, own_here, within
from conewise.workflows.book_texts import book_names
from conewise.workflows.jobs import JobState, jobs_of
from conewise.workflows.recordings import (
    ENDINGS,
    MOST_BYTES,
    UploadSizeError,
    car_file_of,
    event_runs,
    refuse_upload,
    run_times,
    safe_name,
    take_upload,
)

router = APIRouter()

FileName = Annotated[str, Query(min_length=1, max_length=300)]


@router.get("/debrief", include_in_schema=False)
def page(request: Request, at: Place, job: str = "") -> Response:
    """The latest answer, what waits, and where the next recording goes."""
    if not at.has_book:
        return RedirectResponse("/", status_code=303)
    shelf, own = shelf_of(at, job), own_here(at)
    answer = shelf.answer.result if shelf.answer else None
    return render(
        request,
        "debrief.html.j2",
        at=at,
        shelf=shelf,
        job=shelf.answer,
        answer=answer,
        screen=answer.get("screen") if answer else None,
        asked=_asked(at),
        endings=",".join(ENDINGS),
        courses=named_within(own, "course", book_names(at.source, "course")),
        car_files=named_within(own, "car-file", book_names(at.source, "car-file")),
        runs=_runs(at),
        entered={key: one for key, one in _entered(at).items() if within(own, "person", [key])},
        times=_times(at),
    )


def _asked(at: Here) -> dict[str, str]:
    """What a recording that is sent from this page is of, as far as it is chosen."""
    event, driver, car = at.chosen.event, at.chosen.driver, at.chosen.car
    person = driver.id if driver else ""
    return {
        "event": event.id if event else "",
        "person": person,
        "car": car.id if car and driver else "",
        "course": (event.course_file if event else "") or "",
        "car_file": car_file_of(at.source, event=event.id, person=person, car=car.id if car else "")
        if event and driver
        else "",
        "system": at.shown.system,
    }


def _runs(at: Here) -> list[tuple[str, str]]:
    """Runs of the event that a recording can be of: id and words."""
    event, driver = at.chosen.event, at.chosen.driver
    return [] if event is None else event_runs(at.source, event.id, person=driver.id if driver else "")


def _entered(at: Here) -> dict[str, dict[str, str]]:
    """Car and car file of every driver of the event."""
    event = at.chosen.event
    entries = event.entries if event else ()
    files = {entry.car: car_file_of(at.source, car=entry.car) for entry in entries}
    return {entry.person: {"car": entry.car, "car_file": files[entry.car]} for entry in entries}


def _times(at: Here) -> list[str]:
    """Times of the driver's runs so far, for an answer without a recording."""
    event, driver = at.chosen.event, at.chosen.driver
    known = event is not None and driver is not None and event.course_file and _asked(at)["car_file"]
    return run_times(at.source, event.id, driver.id) if known and event and driver else []


@router.post("/api/recordings", status_code=201, openapi_extra={"requestBody": {"content": {"*/*": {}}}})
async def send(request: Request, at: Place, name: FileName) -> dict[str, Any]:
    """Take the file that is the body of the request; it waits under `sent` for a job of the kind `log-check`."""
    shown = safe_name(name)
    told = request.headers.get("content-length", "")
    refuse_upload(shown, int(told) if told.isdecimal() else 1)
    content = bytearray()
    async for part in request.stream():
        content += part
        if len(content) > MOST_BYTES:
            raise UploadSizeError(shown, len(content))
    sent = await run_in_threadpool(take_upload, at.source, bytes(content), name)
    return {"sent": sent.address, "name": sent.name, "sent_at": at.now().isoformat(timespec="milliseconds")}


@router.get("/debrief/sheet/{job_id}.pdf", include_in_schema=False)
def sheet(job_id: JobId, at: Place, paper: str = "a4") -> Response:
    """The printed sheet of an answer."""
    with jobs_of(at.source) as jobs:
        job = jobs.one(job_id)
    is_done = job.state is JobState.DONE and is_own_job(own_here(at), job)
    parts = (job.result or {}).get("sheet") if is_done else None
    if parts is None:
        return RedirectResponse("/debrief", status_code=303)
    made = sheet_pdf(parts["data"], parts["drawings"], paper=paper)
    named = {"Content-Disposition": f'inline; filename="debrief-{paper}.pdf"'}
    return Response(made, media_type="application/pdf", headers=named)
