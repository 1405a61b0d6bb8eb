"""What the debrief page lists: answers that are there, work that waits with its place, columns that are asked about."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.web.here import MOST_OFFERED, NotInBookError
from conewise.web.job_words import in_words
from conewise.web.reach import is_own_job, own_here
from conewise.workflows.chosen import Named
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
    """What the page shows; `wanted` is the id of a job whose answer is asked for.

    Raises
    ------
    NotInBookError
        If there is no such job.
    """
    event = at.chosen.event
    known = recordings(at.source, event=event.id if event else "")
    own = own_here(at)
    with jobs_of(at.source) as jobs:
        mine = [job for job in jobs.every(*KINDS) if is_own_job(own, job)]
        waiting = list(reversed(jobs.unfinished()))
        answer = _answer(at, mine, {one.id: one.person for one in known}, wanted)
        answer = answer and jobs.one(answer.id)
        asks = tuple(jobs.one(job.id) for job in _looks(at, mine))
    if wanted and all(job.id != wanted for job in mine):
        raise NotInBookError("job", wanted, _answers(at, mine), of="answer")
    names = {one.id: one.name for one in known}
    waiting.sort(key=lambda job: job.state is JobState.WAITING)
    if own is not None:
        known = tuple(one for one in known if one.person == own.person)
    ids = {job.id for job in mine}
    return Shelf(
        answer=answer,
        open=tuple((job, name_of(job, names), i) for i, job in enumerate(waiting, start=1) if job.id in ids),
        asks=tuple(job for job in asks if (job.result or {}).get("questions")),
        failed=_failed(mine, names),
        recordings=known,
    )


def _answers(at: Here, mine: Sequence[Job]) -> tuple[Named, ...]:
    """The latest answers, as something to choose."""
    done = [job for job in mine if job.kind in ANSWERS and job.state is JobState.DONE]
    return tuple(Named(job.id, in_words(at, job)) for job in done[:MOST_OFFERED])


def name_of(job: Job, names: Mapping[str, str]) -> str:
    """What a piece of work is about: the name of its file."""
    question = job.asked.get("question", {})
    log = question.get("log", "")
    return str(question.get("name") or names.get(log, log) or question.get("person", ""))


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


def _looks(at: Here, mine: Sequence[Job]) -> list[Job]:
    """The latest look at each file, where it is over and the file still waits: it may have ended with a question."""
    latest: dict[str, Job] = {}
    for job in mine:
        if job.kind == "log-check":
            latest.setdefault(job.asked["question"]["sent"], job)
    return [job for sent, job in latest.items() if job.is_over and is_waiting(at.source, sent)]


def _failed(mine: Sequence[Job], names: Mapping[str, str]) -> tuple[tuple[Job, str], ...]:
    """What failed since the latest answer."""
    found = []
    for job in mine:
        if job.kind in ANSWERS and job.state is JobState.DONE:
            break
        if job.state is JobState.FAILED:
            found.append((job, name_of(job, names)))
    return tuple(found)
