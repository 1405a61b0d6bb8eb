"""A book of schema 2 keeps what came of its jobs, apart from the jobs."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import timedelta
from pathlib import Path

from conewise.store import schema
from conewise.store.jobs import Jobs, JobState
from tests.books import opened

SECOND = Path(__file__).parent / "book_schema_2.sql"
DONE = """INSERT INTO job VALUES
    ('job-2', 'advise', 'done', '{"question": {}}', 1.0, 'all', '{"gain_s": 0.5}', NULL, '2026-05-01', '2026-05-01'),
    ('job-3', 'line', 'failed', '{}', 0.2, '', NULL, '{"code": "no-way"}', '2026-05-01', '2026-05-01')"""


def results(path):
    with closing(sqlite3.connect(path)) as database:
        return database.execute("SELECT job, content FROM job_result").fetchall()


def test_results_stand_apart_and_nothing_is_lost(tmp_path):
    folder = tmp_path / "book"
    folder.mkdir()
    path = folder / "book.sqlite"
    with closing(sqlite3.connect(path)) as database:
        database.executescript(SECOND.read_text(encoding="utf-8"))
        database.execute(DONE.replace("'2026-05-01'", "'2026-05-01 08:00:00.000000'"))
        database.commit()
    with opened(folder, create=False) as book:
        jobs = Jobs(book)
        assert jobs.one("job-2").result == {"gain_s": 0.5}
        assert (jobs.one("job-3").result, jobs.one("job-3").error) == (None, {"code": "no-way"})
        assert [(job.id, job.state, job.result) for job in jobs.every("advise", "line")] == [
            ("job-1", JobState.WAITING, None), ("job-2", JobState.DONE, None), ("job-3", JobState.FAILED, None),
        ]  # fmt: skip
        assert [job.id for job in jobs.every("advise")] == ["job-2"]
        assert results(path) == [("job-2", '{"gain_s": 0.5}')]
        assert jobs.forget(older_than=timedelta(0)) == 2
    assert results(path) == []
    with closing(sqlite3.connect(folder / f"before-schema-{schema.CURRENT}.sqlite")) as copy:
        assert copy.execute("SELECT result FROM job WHERE id = 'job-2'").fetchone() == ('{"gain_s": 0.5}',)
