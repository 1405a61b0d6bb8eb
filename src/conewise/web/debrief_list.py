"""What the debrief page lists: answers that are there, work that waits with its place, columns that are asked about."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from conewise.workflows.jobs import Job, JobState, jobs_of
from conewise.workflows.recordings import is_waiting, recordings

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from conewise.web.here import Here
    from conewise.workflows.recordings import Recording

ANSWERS = ("debrief", "compare", "debrief-times")
KINDS = ("log-check", *ANSWERS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """What there is.

    answer: the job whose answer is shown; None where there is none.
    open: work that waits or runs, the next one first: job, name, and its place in the queue, 1 for the one at work.
    asks: files whose columns somebody must tell, the latest first.
    failed: what could not be read or worked out, the latest first.
    """

    answer: Job | None
    open: tuple[tuple[Job, str, int], ...]
    asks: tuple[Job, ...]
    failed: tuple[tuple[Job, str], ...]
    recordings: tuple[Recording, ...]


def shelf_of(at: Here, wanted: str = "") -> Shelf:
    """What the page shows; `wanted` is the id of a job whose answer is asked for."""
    event = at.chosen.event
    known = recordings(at.source, event=event.id if event else "")
    with jobs_of(at.source) as jobs:
        every = jobs.every()
    names = {one.id: one.name for one in known}
    waiting = [job for job in reversed(every) if not job.is_over]
    waiting.sort(key=lambda job: job.state is JobState.WAITING)
    of = {one.id: one.person for one in known}
    mine = [job for job in every if job.kind in KINDS and is_own(at, job, of)]
    known = tuple(one for one in known if is_visible(at, one.person))
    return Shelf(
        answer=_answer(at, mine, of, wanted),
        open=tuple((job, name_of(job, names), i) for i, job in enumerate(waiting, start=1) if job in mine),
        asks=_asks(at, mine),
        failed=_failed(mine, names),
        recordings=known,
    )


def name_of(job: Job, names: Mapping[str, str]) -> str:
    """What a piece of work is about: the name of its file."""
    question = job.asked.get("question", {})
    log = question.get("log", "")
    return str(question.get("name") or names.get(log, log) or question.get("person", ""))


def is_visible(at: Here, person: str) -> bool:
    """Whether what is of a person may be shown: a driver's device sees that driver's own."""
    visitor = at.visitor
    return visitor is not None and (visitor.role != "driver" or visitor.person == person)


def is_own(at: Here, job: Job, of: Mapping[str, str]) -> bool:
    """Whether work may be shown; `of` has the person of each recording."""
    return is_visible(at, _person(job, of))


def _answer(at: Here, mine: Sequence[Job], of: Mapping[str, str], wanted: str) -> Job | None:
    """The one that is asked for; else the latest of the driver, or of anybody where none is chosen."""
    done = [job for job in mine if job.kind in ANSWERS and job.state is JobState.DONE]
    for job in done:
        if job.id == wanted:
            return job
    driver = at.chosen.driver
    return next((job for job in done if driver is None or _person(job, of) == driver.id), None)


def _person(job: Job, of: Mapping[str, str]) -> str:
    question = job.asked.get("question", {})
    return str(of.get(question.get("log", ""), question.get("person", "")))


def _asks(at: Here, mine: Sequence[Job]) -> tuple[Job, ...]:
    """The latest look at each file that ended with a question, as long as the file waits."""
    latest: dict[str, Job] = {}
    for job in mine:
        if job.kind == "log-check":
            latest.setdefault(job.asked["question"]["sent"], job)
    return tuple(job for sent, job in latest.items() if job.is_over and _questions(job) and is_waiting(at.source, sent))


def _questions(job: Job) -> Any:
    return (job.result or {}).get("questions")


def _failed(mine: Sequence[Job], names: Mapping[str, str]) -> tuple[tuple[Job, str], ...]:
    """What failed since the latest answer."""
    found = []
    for job in mine:
        if job.kind in ANSWERS and job.state is JobState.DONE:
            break
        if job.state is JobState.FAILED:
            found.append((job, name_of(job, names)))
    return tuple(found)
