"""Answers of long work are given again only where nothing they rest on has changed."""

from __future__ import annotations

from datetime import UTC, datetime

from conewise.workflows import jobs
from conewise.workflows.book_place import BookPlace


def test_an_answer_of_another_version_of_the_program_is_asked_anew(tmp_path, monkeypatch):
    place = BookPlace(now=lambda: datetime(2026, 5, 2, 9, tzinfo=UTC), book=tmp_path / "book")
    question = {"pace": 0.9}
    with jobs.jobs_of(place, create=True):
        job = jobs.ask(place, "line", question, names={}, asker=jobs.Asker())
    with jobs.jobs_of(place) as kept:
        assert kept.take("line").id == job.id
        kept.finish(job.id, {"time_s": 40.0})
    assert jobs.answered(place, "line", question, names={}) == {"time_s": 40.0}
    assert jobs.ask(place, "line", question, names={}, asker=jobs.Asker()).id == job.id
    monkeypatch.setattr(jobs, "program", lambda: "another one")
    assert jobs.answered(place, "line", question, names={}) is None
    assert jobs.ask(place, "line", question, names={}, asker=jobs.Asker()).id != job.id
