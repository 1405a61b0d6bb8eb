"""A book of schema 3 knows from now on who waits for a job; work in hand is the laptop's."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from conewise.store.jobs import Asker, Jobs, JobState
from tests.books import opened

THIRD = Path(__file__).parent / "book_schema_3.sql"
MORE = """INSERT INTO job VALUES
    ('job-2', 'advise', 'done', '{"question": {}, "slot": "a"}', 1.0, '', NULL, '2026-05-01', '2026-05-01'),
    ('job-3', 'line', 'running', '{"question": {}, "slot": "b"}', 0.2, '', NULL, '2026-05-01', '2026-05-01')"""


def test_work_in_hand_is_the_laptops_and_nothing_is_lost(tmp_path):
    folder = tmp_path / "book"
    folder.mkdir()
    path = folder / "book.sqlite"
    with closing(sqlite3.connect(path)) as database:
        database.executescript(THIRD.read_text(encoding="utf-8"))
        database.execute(MORE.replace("'2026-05-01'", "'2026-05-01 08:00:00.000000'"))
        database.commit()
        before = database.execute("SELECT * FROM job ORDER BY id").fetchall()
    with opened(folder, create=False) as book:
        with closing(sqlite3.connect(path)) as database:
            assert database.execute("SELECT * FROM job ORDER BY id").fetchall() == before
            found = database.execute("SELECT job, device, slot FROM job_asker ORDER BY job").fetchall()
        assert found == [("job-1", "", ""), ("job-3", "", "")]
        jobs = Jobs(book)
        jobs.submit("job-3", "line", {}, asker=Asker(device="phone"))
        assert jobs.leave("job-3", Asker(device="phone")).state is JobState.RUNNING
        assert jobs.leave("job-3", Asker()).state is JobState.STOPPING
