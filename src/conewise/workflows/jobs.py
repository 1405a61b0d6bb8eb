"""Long work as the web asks for it: one job for one question, however often it is asked."""

from __future__ import annotations

import hashlib
import json
from contextlib import contextmanager
from functools import cache
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from conewise.store.errors import NoSuchRecordError
from conewise.store.jobs import Asker, Job, Jobs, JobState

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from conewise.store.book import Book
    from conewise.workflows.book_place import BookPlace

__all__ = ["Asker", "Job", "JobState", "Jobs", "answered", "ask", "ask_next", "job_record", "jobs_of", "program"]

_SOURCE = ("*.py", "*.toml")
_CATALOGUE = "catalogue"  # words of pages, of which no answer is made


@contextmanager
def jobs_of(place: BookPlace, *, create: bool = False) -> Iterator[Jobs]:
    """The jobs of a book, which is open meanwhile."""
    with place.opened(create=create) as book:
        yield Jobs(book)


def ask(place: BookPlace, kind: str, question: Mapping[str, Any], *, names: Mapping[str, str], asker: Asker) -> Job:
    """The job that answers a question: the one that was asked before where nothing it rests on has changed since.

    Parameters
    ----------
    place : BookPlace
        The book.
    kind : str
        What sort of work.
    question : mapping
        What is asked, as JSON can hold it.
    names : mapping
        Fields of the question that name a text of the book, or several, with its kind there; "driver-file?" may be
        another word.
    asker : Asker
        Whose question this is. With a slot it takes the place of what was asked there before, which stops where
        nobody else waits for it.

    Raises
    ------
    NoSuchRecordError
        If the book has no text of a name.
    """
    with place.opened(create=False) as book:
        job_id = _id_of(book, kind, question, names)
        return Jobs(book).submit(job_id, kind, {"question": dict(question)}, asker=asker, again=True)


def ask_next(
    place: BookPlace, kind: str, question: Mapping[str, Any], *, names: Mapping[str, str], after: str
) -> Job | None:
    """The job that answers what follows from another job, for all who wait for that one; None where nobody does.

    Parameters
    ----------
    place, kind, question, names
        As for `ask`.
    after : str
        Id of the other job, which is not over.

    Raises
    ------
    NoSuchRecordError
        If the book has no text of a name.
    """
    with place.opened(create=False) as book:
        job_id = _id_of(book, kind, question, names)
        return Jobs(book).follow(job_id, kind, {"question": dict(question)}, after=after)


def answered(place: BookPlace, kind: str, question: Mapping[str, Any], *, names: Mapping[str, str]) -> Any:
    """What came of a question that was asked before; None where it was not, or is not done.

    Raises
    ------
    NoSuchRecordError
        If the book has no text of a name.
    """
    with place.opened(create=False) as book:
        job_id = _id_of(book, kind, question, names)
        try:
            job = Jobs(book).one(job_id)
        except NoSuchRecordError:
            return None
        return job.result if job.state is JobState.DONE else None


def _id_of(book: Book, kind: str, question: Mapping[str, Any], names: Mapping[str, str]) -> str:
    """One id for one question and the texts that it names, as they are, answered by this program as it is."""
    texts = {field: [_text(book, of, one) for one in _named(question[field])] for field, of in names.items()}
    whole = json.dumps([program(), kind, dict(question), texts], sort_keys=True)
    return f"{kind}-{hashlib.sha256(whole.encode()).hexdigest()[:24]}"


@cache
def program() -> str:
    """What tells this program from any other: a digest of its source and of the values that it comes with."""
    package = files("conewise")
    assert isinstance(package, Path)
    digest = hashlib.sha256(version("conewise").encode())
    for path in sorted(one for ending in _SOURCE for one in package.rglob(ending) if _CATALOGUE not in one.parts):
        digest.update(path.relative_to(package).as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()


def _named(value: Any) -> list[str]:
    """The names in a field of a question."""
    return [str(one) for one in value] if isinstance(value, list) else [str(value)]


def _text(book: Book, kind: str, name: str) -> str:
    """What the book has under a name; empty where it may have nothing there."""
    from conewise.store.kinds import BY_NAME
    from conewise.workflows.named import kept_source

    of = kind.removesuffix("?")
    if kind != of and book.find(BY_NAME[of].record, name) is None:
        return ""
    return kept_source(book, of, name).text


def job_record(job: Job) -> dict[str, Any]:
    """A job as one JSON object."""
    return {
        "id": job.id,
        "kind": job.kind,
        "state": job.state.value,
        "is_over": job.is_over,
        "progress": job.progress,
        "message": job.message,
        "question": job.asked.get("question", job.asked),
        "result": job.result,
        "error": job.error,
        "asked_at": job.asked_at.isoformat(),
        "seen_at": job.seen_at.isoformat(),
    }
