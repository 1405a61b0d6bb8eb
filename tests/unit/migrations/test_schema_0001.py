"""Every schema that was ever released opens today, with everything in it."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import create_engine, text

from conewise.event.day import Packed
from conewise.event.people import Person
from conewise.event.runs import Run
from conewise.store import schema
from conewise.store.check import check_book
from conewise.store.errors import NewerBookError, NotABookError
from conewise.store.tables import Row
from conewise.store.texts import CourseText
from tests.books import COURSE, example_day, opened
from tests.frozen_book import FIELDS, described_records

HERE = Path(__file__).parent
RELEASED = sorted(int(path.stem.rpartition("_")[2]) for path in HERE.glob("book_schema_*.sql"))


def released(folder, number):
    """A book as a released version of the program left it."""
    folder.mkdir()
    with closing(sqlite3.connect(folder / "book.sqlite")) as database:
        database.executescript((HERE / f"book_schema_{number}.sql").read_text(encoding="utf-8"))
    return folder


def test_there_is_a_dump_of_every_schema():
    assert list(range(1, schema.CURRENT + 1)) == RELEASED
    numbers = sorted(path.stem for path in Path(schema._MIGRATIONS).glob("schema_*.py"))
    assert numbers == [f"schema_{number:04d}" for number in RELEASED]


@pytest.mark.parametrize("number", RELEASED)
def test_a_book_of_every_released_schema_opens_with_all_of_it(tmp_path, number):
    day = example_day()
    with opened(released(tmp_path / "book", number), create=False) as book:
        assert {kept.record for kept in book.every(Person)} == set(day.people)
        assert book.one(Run, "run-1").record == day.runs[0].changed(cones=2)
        assert [(one.version, one.by, one.reason) for one in book.history(Run, "run-1")] == [
            (1, "Ada Quill", ""),
            (2, "Ben Tarn", "a cone more at gate 7"),
        ]
        assert book.find(Packed, "packed-1") is None
        assert book.one(CourseText, "harbour-yard").record.text == COURSE
        lost = {finding.code for finding in check_book(book) if finding.severity == "stop"}
        assert lost == {"book-file"}  # the dump is of the database alone
        added = book.add(day.runs[1].changed(id="run-3", order=3))
        assert added.version == 1


def test_the_migrations_make_the_tables_of_the_models():
    engine = create_engine("sqlite://")
    with engine.begin() as connection:
        schema.upgrade(connection)
        assert compare_metadata(MigrationContext.configure(connection), Row.metadata) == []
        assert schema.number_of(connection, where="here") == schema.CURRENT
    engine.dispose()


def test_a_later_book_is_refused_in_words_and_not_touched(tmp_path):
    opened(tmp_path / "book").close()
    path = tmp_path / "book" / "book.sqlite"
    engine = create_engine(f"sqlite:///{path}")
    with engine.begin() as connection:
        connection.execute(text(f"UPDATE alembic_version SET version_num = '{schema.CURRENT + 7:04d}'"))
    engine.dispose()
    before = path.read_bytes()
    with pytest.raises(NewerBookError) as told:
        opened(tmp_path / "book")
    assert f"schema {schema.CURRENT + 7}" in told.value.message
    assert "newer conewise" in told.value.hint
    assert path.read_bytes() == before


def test_the_database_of_another_program_is_refused(tmp_path):
    (tmp_path / "book").mkdir()
    with closing(sqlite3.connect(tmp_path / "book" / "book.sqlite")) as database:
        database.execute("CREATE TABLE songs (title TEXT)")
    with pytest.raises(NotABookError):
        opened(tmp_path / "book")


def test_an_upgrade_that_breaks_leaves_the_book_as_it_was(tmp_path, monkeypatch):
    """Stand-in for a next schema: the present one, of which the book lacks the number."""
    folder = released(tmp_path / "book", RELEASED[-1])

    def breaks(connection):
        connection.execute(text("DROP TABLE packed"))
        raise NotABookError("it breaks here", where="test")

    monkeypatch.setattr(schema, "CURRENT", schema.CURRENT + 1)
    monkeypatch.setattr(schema, "upgrade", breaks)
    with pytest.raises(NotABookError, match="it breaks here"):
        opened(folder)
    monkeypatch.undo()
    copy = folder / f"before-schema-{schema.CURRENT + 1}.sqlite"
    assert copy.stat().st_mode & 0o077 == 0
    with closing(sqlite3.connect(copy)) as database:
        assert database.execute("SELECT count(*) FROM run").fetchone() == (2,)
    with opened(folder) as book:
        assert len(book.every(Run)) == 2


def test_records_are_those_of_the_schema():
    """A change to the fields of a record asks for a new schema: an earlier program could not read it.

    As long as no version was released with the present schema, `python -m tests.frozen_book` writes it anew.
    """
    frozen = json.loads((HERE / FIELDS.format(schema.CURRENT)).read_text(encoding="utf-8"))
    assert described_records() == frozen
