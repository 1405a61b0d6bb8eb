"""Exports changed by hand, exports that cannot be read, and what the book says otherwise."""

from __future__ import annotations

import csv
import io
import shutil
import tomllib
from dataclasses import replace

import polars as pl
import pytest

from conewise.event.people import Person
from conewise.event.runs import Run
from conewise.logs.log import Arms
from conewise.logs.readers import read_log
from conewise.store import schema
from conewise.store.days import keep_day
from conewise.store.errors import (
    BrokenLinkError,
    ExportedFileError,
    ImportConflictError,
    NewerBookError,
    TargetThereError,
)
from conewise.store.export import export
from conewise.store.intake import take_in
from conewise.store.logs import StoredLog, keep_log, kept_log, log_of, parquet_of
from conewise.store.texts import CourseText
from tests.books import DEMO, TEXTS, contents, example_day, opened

RECORDING = next((DEMO / "logs").glob("*.csv"))


@pytest.fixture
def book(tmp_path):
    with opened(tmp_path / "book") as book:
        keep_day(book, example_day())
        for text in TEXTS:
            book.add(text)
        yield book


@pytest.fixture
def folder(book, tmp_path):
    export(book, tmp_path / "out")
    return tmp_path / "out"


@pytest.fixture
def other(tmp_path):
    with opened(tmp_path / "other") as other:
        yield other


def changed(path, old, new):
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_a_long_file_comes_back_from_its_history(book, other, tmp_path):
    """The csv module of Python takes 131,072 characters a cell unless it is told otherwise."""
    course = next(text for text in TEXTS if isinstance(text, CourseText))
    long = CourseText(id="long", text=course.text + "\n" + "# walked once more, nothing moved\n" * 5000)
    assert len(long.text) > 131_072
    book.add(long)
    export(book, tmp_path / "long", with_private=True)
    take_in(other, tmp_path / "long")
    assert contents(other) == contents(book)


def test_other_readers_read_an_export(book, folder):
    people = tomllib.loads((folder / "people.toml").read_text(encoding="utf-8"))["person"]
    assert [one["name"] for one in people] == ["Ada Quill", "Ben Tarn"]
    runs = pl.read_csv(folder / "runs.csv")
    assert runs["raw_time"].to_list() == [62.345, None]
    assert (folder / "car-files" / "pepper.toml").read_text(encoding="utf-8") == TEXTS[0].text
    costs = list(csv.DictReader(io.StringIO((folder / "expenses.csv").read_text(encoding="utf-8"))))
    assert (costs[0]["money.amount"], costs[0]["money.currency"]) == ("12.50", "EUR")


def test_private_details_are_nowhere_in_an_export_unless_asked_for(book, folder, tmp_path):
    written = b"".join(path.read_bytes() for path in folder.rglob("*") if path.is_file())
    for private in (b"bee stings", b'"555"', b"T-1", b"Cy Tarn"):
        assert private not in written
    export(book, tmp_path / "all", with_private=True)
    assert "bee stings" in (tmp_path / "all" / "people.toml").read_text(encoding="utf-8")


def test_an_import_without_private_details_leaves_those_that_are_there(book, folder):
    changed(folder / "people.toml", "Ben Tarn", "Ben J. Tarn")
    take_in(book, folder, replace=True)
    kept = book.one(Person, "ben")
    assert (kept.record.name, kept.record.medical, kept.version) == ("Ben J. Tarn", "bee stings", 2)
    assert kept.record.guardian.name == "Cy Tarn"


def test_what_was_changed_by_hand_is_a_new_version(folder, other):
    changed(folder / "runs.csv", "62.345,1", "62.345,2")
    done = take_in(other, folder)
    assert "run run-1" in done.added
    assert [one.record.cones for one in other.history(Run, "run-1")] == [1, 2]
    assert other.history(Run, "run-1")[1].by == "import"


def test_where_the_book_says_something_else_nothing_is_taken_in(book, folder):
    changed(folder / "runs.csv", "62.345,1", "62.345,2")
    changed(folder / "people.toml", 'name = "Ada Quill"', 'name = "Ada Quince"')
    before = contents(book)
    with pytest.raises(ImportConflictError) as told:
        take_in(book, folder)
    assert "person ada" in told.value.message
    assert "run run-1" in told.value.message
    assert contents(book) == before
    assert set(take_in(book, folder, replace=True).changed) == {"run run-1", "person ada"}


def test_two_books_of_one_season_become_one(folder, other, tmp_path):
    take_in(other, folder)
    other.add(Run(id="run-9", event="lot-1", person="ada", order=1, raw_time=58.0))
    export(other, tmp_path / "theirs")
    with opened(tmp_path / "book") as book:
        done = take_in(book, tmp_path / "theirs")
        assert done.added == ("run run-9",)
        assert book.one(Run, "run-9").record.raw_time == 58.0


BROKEN = {
    "no-such-person": ("runs.csv", "lot-1,ben", "lot-1,zoe", BrokenLinkError),
    "a time that none has": ("runs.csv", "62.345", "-62.345", ExportedFileError),
    "a cell too many": ("runs.csv", "62.345,1", "62.345,1,1", ExportedFileError),
    "half a list": ("helmets.toml", 'labels = ["SA2020"]', 'labels = ["SA2020"', ExportedFileError),
    "an unknown heading": ("people.toml", "[[person]]", "[[persons]]", ExportedFileError),
    "an unknown field": ("people.toml", "level =", "levle =", ExportedFileError),
    "a record twice": ("people.toml", 'id = "ben"', 'id = "ada"', ExportedFileError),
    "a version that is missing": ("history.csv", "person,ada,1", "person,ada,2", ExportedFileError),
    "no moment": ("history.csv", "+00:00", "", ExportedFileError),
    "another format": ("book.toml", "conewise export 1", "conewise export 7", ExportedFileError),
    "a later schema": ("book.toml", f"schema = {schema.CURRENT}", "schema = 99", NewerBookError),
    "a car that is none": ("car-files/pepper.toml", "kind =", "knid =", Exception),
}


@pytest.mark.parametrize("what", BROKEN)
def test_an_export_that_cannot_be_read_leaves_the_book_empty(folder, other, what):
    name, old, new, error = BROKEN[what]
    changed(folder / name, old, new)
    before = contents(other)
    with pytest.raises(error) as told:
        take_in(other, folder)
    assert told.value.hint
    assert told.value.where
    assert contents(other) == before


def test_a_missing_and_a_changed_file_are_named(book, other, tmp_path):
    book.keep_file(b"photo", "dent.jpg")
    export(book, tmp_path / "out")
    photo = next((tmp_path / "out" / "files").iterdir())
    photo.write_bytes(b"other")
    with pytest.raises(ExportedFileError, match="not what was exported"):
        take_in(other, tmp_path / "out")
    photo.unlink()
    with pytest.raises(ExportedFileError, match="no file"):
        take_in(other, tmp_path / "out")
    changed(tmp_path / "out" / "files.csv", "files/", "../../")
    with pytest.raises(ExportedFileError):
        take_in(other, tmp_path / "out")


def test_a_folder_that_is_there_is_not_written_into(book, folder, tmp_path):
    with pytest.raises(TargetThereError):
        export(book, folder)
    shutil.rmtree(folder)
    with pytest.raises(ExportedFileError, match=r"book\.toml"):
        take_in(book, tmp_path)


def test_a_recording_is_kept_as_it_came_and_as_parquet(book, other, tmp_path):
    log = read_log(RECORDING)
    content = RECORDING.read_bytes()
    record = StoredLog(id="evening", name=RECORDING.name, event="lot-1", person="ben")
    assert keep_log(book, record, log=log, original=content) == "added"
    kept = book.one(StoredLog, "evening")
    assert book.files.content(kept.record.original) == content
    assert kept.record.duration == log.duration
    assert keep_log(book, record, log=log, original=content) == "same"
    export(book, tmp_path / "out")
    take_in(other, tmp_path / "out")
    for place in (book, other):
        assert_same_log(kept_log(place, "evening"), log)
    frame = pl.read_parquet(tmp_path / "out" / "logs" / "evening.parquet")
    assert frame.columns == ["channel", "time_s", "value"]
    assert frame.height == sum(channel.time.size for channel in log.channels.values())
    with pytest.raises(ExportedFileError):
        log_of(b"PAR1 and nothing behind it", where="here")


@pytest.mark.parametrize("arms", [Arms(), Arms(antenna=(0.6, -0.3)), Arms(antenna=(0.6, -0.3), sensor=(0.1, 0.0))])
def test_where_antenna_and_sensor_sit_is_kept_with_a_recording(arms):
    log = replace(read_log(RECORDING), arms=arms)
    assert log_of(parquet_of(log), where="here").arms == arms


def assert_same_log(ours, theirs):
    assert list(ours.channels) == list(theirs.channels)
    for name, channel in ours.channels.items():
        assert channel.time.tobytes() == theirs.channels[name].time.tobytes()
        assert channel.value.tobytes() == theirs.channels[name].value.tobytes()
        assert channel.source == theirs.channels[name].source
    assert (ours.file, ours.start, ours.findings, ours.marks) == (
        theirs.file,
        theirs.start,
        theirs.findings,
        theirs.marks,
    )
