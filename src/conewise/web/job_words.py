"""Long work in words: what sort it is and what it is about, by the names that people use."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from conewise.web.reach import is_own_job, own_here
from conewise.web.texts import text
from conewise.web.work import kinds
from conewise.workflows.book_texts import names_of
from conewise.workflows.jobs import JobState, job_record

if TYPE_CHECKING:
    from collections.abc import Mapping

    from conewise.web.here import Here
    from conewise.workflows.jobs import Job, Jobs

_UNNAMED = ("file", "run")  # the address of a file that was sent, the id of a run


def told(at: Here, job: Job, jobs: Jobs) -> dict[str, Any]:
    """A job as one JSON object; while it waits with `behind`: what is worked out before it, in words."""
    return job_record(job) | {"behind": _behind(at, job, jobs)}


def about(at: Here, job: Job) -> str:
    """What a job is about: the file, and what its question names of the book; "" where it names nothing.

    A name that has gone from the book is left as it was asked.
    """
    question = job.asked.get("question", {})
    kind = kinds().get(job.kind)
    fields = {} if kind is None else {**(kind.own or {}), **kind.names}
    wanted = [
        (of.removesuffix("?"), name)
        for field, of in fields.items()
        if of not in _UNNAMED
        for name in _named(question.get(field))
    ]
    found = names_of(at.source, wanted)
    run = [text("job.run", n=question["run"])] if question.get("run") else []
    return ", ".join(dict.fromkeys([*_given(question), *run, *(found[one] for one in wanted)]))


def in_words(at: Here, job: Job) -> str:
    """Its sort and what it is about; the sort alone where that is not for the device that asks."""
    sort = text(f"job.kind_{job.kind}")
    subject = about(at, job) if is_own_job(own_here(at), job) else ""
    return f"{sort} ({subject})" if subject else sort


def _behind(at: Here, job: Job, jobs: Jobs) -> list[str]:
    """What is worked out before a job that waits, the next one first."""
    if job.state is not JobState.WAITING:
        return []
    before = [one for one in reversed(jobs.unfinished()) if one.id != job.id and _is_before(one, job)]
    before.sort(key=lambda one: one.state is JobState.WAITING)
    return [in_words(at, one) for one in before]


def _is_before(one: Job, job: Job) -> bool:
    """Whether a job that is not over is worked out before another that waits."""
    return one.state is not JobState.WAITING or (one.asked_at, one.id) < (job.asked_at, job.id)


def _given(question: Mapping[str, Any]) -> list[str]:
    """Names that the question itself brings along: of a file, of a drawing."""
    course = question.get("course")
    drawn = course.get("name", "") if isinstance(course, dict) else ""
    return [str(name) for name in (question.get("name"), drawn) if name]


def _named(value: Any) -> list[str]:
    return [str(one) for one in (value if isinstance(value, list | tuple) else [value]) if one]
