"""A book of schema 1 gets the table of sessions, and keeps all that it had."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import timedelta
from pathlib import Path

from conewise.store.jobs import Jobs
from conewise.store.sessions import WebSessions
from tests.books import opened

FIRST = Path(__file__).parent / "book_schema_1.sql"


def rows(path):
    """Every row of every table, those of the numbers of schemas apart."""
    with closing(sqlite3.connect(path)) as database:
        names = [name for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        own = sorted(set(names) - {"alembic_version", "about", "sqlite_sequence", "web_session"})
        return {name: database.execute(f"SELECT * FROM {name}").fetchall() for name in own}


def test_sessions_can_be_kept_and_nothing_else_has_changed(tmp_path):
    folder = tmp_path / "book"
    folder.mkdir()
    path = folder / "book.sqlite"
    with closing(sqlite3.connect(path)) as database:
        database.executescript(FIRST.read_text(encoding="utf-8"))
    before = rows(path)
    assert sum(map(len, before.values())) > 20
    with opened(folder, create=False) as book:
        assert WebSessions(book).every() == ()
        session = WebSessions(book).begin("s", device="phone", role="mentor", person="", lasts=timedelta(days=1))
        assert WebSessions(book).every() == (session,)
        assert Jobs(book).one("job-1").kind == "line"
    assert rows(path) == before
    assert rows(folder / "before-schema-2.sqlite") == before
