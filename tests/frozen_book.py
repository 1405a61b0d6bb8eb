"""The present schema of the book as test data: a dump of a book, and the fields of every record.

`PYTHONPATH=. python -m tests.frozen_book` writes both. Only for a schema that no version of the program has been
released with: what is released stays as it is, and a change gets the next number (`store/schema.py`, `migrations`).
"""

from __future__ import annotations

import json
import sqlite3
import tempfile
from contextlib import closing
from datetime import timedelta
from pathlib import Path

from conewise.event.day import Packed
from conewise.event.runs import Run
from conewise.store import schema
from conewise.store.days import keep_day
from conewise.store.jobs import Asker, Jobs
from conewise.store.kinds import KINDS
from conewise.store.logs import StoredLog
from conewise.store.sessions import WebSessions
from conewise.store.texts import CarText, CourseText, DriverText
from tests.books import TEXTS, example_day, opened

FOLDER = Path(__file__).parent / "unit" / "migrations"
DUMP = "book_schema_{}.sql"
FIELDS = "records_schema_{}.json"


def filled_book(folder):
    """A book with something of everything in it, closed again."""
    with opened(folder) as book:
        keep_day(book, example_day(), by="Ada Quill")
        for text in TEXTS:
            if isinstance(text, CarText | CourseText | DriverText):
                book.add(text)
        kept = book.one(Run, "run-1")
        book.change(kept.record.changed(cones=2), version=1, by="Ben Tarn", reason="a cone more at gate 7")
        book.remove(Packed, "packed-1", reason="left at home")
        address = book.keep_file(b"not a picture", "dent.jpg")
        drive = StoredLog(id="drive", name="d.csv", original=address, channels=address, event="lot-1", person="ben")
        book.add(drive)
        Jobs(book).submit("job-1", "line", {"course": "harbour-yard"}, asker=Asker())
        WebSessions(book).begin("a secret", device="phone", role="driver", person="ben", lasts=timedelta(days=3))
        return book.database


def described_records():
    """Names, types and limits of the fields of every record, without what is only said about them."""
    shapes = {kind.name: kind.record.model_json_schema(mode="serialization") for kind in KINDS}
    return {name: _described(shape) for name, shape in shapes.items()}


def _described(shape):
    if isinstance(shape, dict):
        return {key: _described(value) for key, value in shape.items() if key not in {"description", "title"}}
    return [_described(value) for value in shape] if isinstance(shape, list) else shape


if __name__ == "__main__":
    with (
        tempfile.TemporaryDirectory() as place,
        closing(sqlite3.connect(filled_book(Path(place) / "book"))) as database,
    ):
        dump = "\n".join(database.iterdump()) + "\n"
    (FOLDER / DUMP.format(schema.CURRENT)).write_text(dump, encoding="utf-8")
    fields = json.dumps(described_records(), indent=1, sort_keys=True) + "\n"
    (FOLDER / FIELDS.format(schema.CURRENT)).write_text(fields, encoding="utf-8")
