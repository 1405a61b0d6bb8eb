"""A book of schema 1 gets the table of sessions and the photo of a check, and keeps all that it had."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import timedelta
from pathlib import Path

from conewise.store import schema
from conewise.store.jobs import Jobs
from conewise.store.sessions import WebSessions
from tests.books import opened

FIRST = Path(__file__).parent / "book_schema_1.sql"


def rows(path):
    """Every row of every table as it was in schema 1, those of the numbers of schemas apart."""
    with closing(sqlite3.connect(path)) as database:
        names = [name for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        later = {"web_session", "job_result", "job_asker"}
        own = sorted(set(names) - {"alembic_version", "about", "sqlite_sequence", *later})
        columns = {name: [f'"{row[1]}"' for row in database.execute(f"PRAGMA table_info({name})")] for name in own}
        columns["job"] = [name for name in columns["job"] if name != '"result"']  # apart since schema 3
        columns["inspection_check"] = [name for name in columns["inspection_check"] if name != '"photo"']
        return {name: database.execute(f"SELECT {', '.join(columns[name])} FROM {name}").fetchall() for name in own}


def shape(path):
    """Columns and links of the looks at cars, in any order."""
    with closing(sqlite3.connect(path)) as database:
        kinds = ("table_info", "foreign_key_list", "index_list")
        rows = {kind: database.execute(f"PRAGMA {kind}(inspection_check)").fetchall() for kind in kinds}
        return {kind: sorted(tuple(map(str, row[1:])) for row in found) for kind, found in rows.items()}


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
    with opened(tmp_path / "new") as made:
        assert shape(path) == shape(made.database)
    assert rows(folder / f"before-schema-{schema.CURRENT}.sqlite") == before
