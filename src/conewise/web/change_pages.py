"""Change: what to change next for this money, and how to set what is there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from conewise.cars.driver import LEVELS
from conewise.web.here import MOST_OFFERED, Here, NotInBookError, Place
from conewise.web.job_words import in_words
from conewise.web.pages import render
from conewise.workflows.book_texts import book_names
from conewise.workflows.changes import ListOfChanges, change_lists, runs_in_car
from conewise.workflows.chosen import Named
from conewise.workflows.jobs import Job, JobState, jobs_of
from conewise.workflows.recordings import car_file_of

if TYPE_CHECKING:
    from collections.abc import Sequence

router = APIRouter()


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What can be asked, and what is chosen so far."""

    courses: tuple[Named, ...]
    car_files: tuple[Named, ...]
    lists: tuple[ListOfChanges, ...]
    rules: tuple[Named, ...]
    levels: tuple[str, ...]
    asked: dict[str, Any]
    runs: int | None

    @property
    def about(self) -> tuple[str, str]:
        """Names of the car and the courses that are asked about; an id where the book has it no more."""
        names = {one.id: one.name for one in (*self.courses, *self.car_files)}
        car, courses = self.asked["car_file"], self.asked["courses"]
        return names.get(car, car), ", ".join(names.get(one, one) for one in courses)


@router.get("/change", include_in_schema=False)
def advice(request: Request, at: Place, job: str = "") -> Response:
    """Gains of changes and packages."""
    return _page(request, at, "change.html.j2", kind="advise", wanted=job)


@router.get("/change/settings", include_in_schema=False)
def settings(request: Request, at: Place, job: str = "") -> Response:
    """The best settings."""
    return _page(request, at, "change_settings.html.j2", kind="settings", wanted=job)


def _page(request: Request, at: Here, template: str, *, kind: str, wanted: str) -> Response:
    if not at.has_book:
        return RedirectResponse("/", status_code=303)
    shown = _job(at, kind, wanted)
    is_done = shown is not None and shown.state is JobState.DONE
    return render(
        request,
        template,
        at=at,
        job=shown,
        screen=shown.result["screen"] if shown and is_done else None,
        choices=_choices(at, shown),
    )


def _job(at: Here, kind: str, wanted: str) -> Job | None:
    """The one that is asked for, NotInBookError where it has gone; else the latest for the car that is chosen."""
    car_file = at.chosen.car_file
    with jobs_of(at.source) as jobs:
        mine = jobs.every(kind)
        done = [job for job in mine if job.state is JobState.DONE]
        latest = (job for job in done if not car_file or job.asked["question"]["car_file"] == car_file)
        found = next((job for job in mine if job.id == wanted), None)
        if wanted and found is None:
            raise NotInBookError("job", wanted, _offered(at, done), of="answer")
        found = found or next(latest, None)
        return jobs.one(found.id) if found else None


def _offered(at: Here, done: Sequence[Job]) -> tuple[Named, ...]:
    return tuple(Named(job.id, in_words(at, job)) for job in done[:MOST_OFFERED])


def _choices(at: Here, job: Job | None) -> Choices:
    event, driver, car = at.chosen.event, at.chosen.driver, at.chosen.car
    asked = {
        "courses": [event.course_file] if event and event.course_file else [],
        "car_file": car_file_of(at.source, car=car.id) if car else "",
        "driver": at.chosen.level,
        "rules": event.rules if event else "",
        "system": at.shown.system,
    }
    return Choices(
        courses=book_names(at.source, "course"),
        car_files=book_names(at.source, "car-file"),
        lists=change_lists(at.source),
        rules=book_names(at.source, "rules"),
        levels=LEVELS,
        asked=asked | ({} if job is None else dict(job.asked["question"])),
        runs=runs_in_car(at.source, driver.id, car.id) if driver and car else None,
    )
