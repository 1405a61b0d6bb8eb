"""The book: records with versions, links, conflicts; what a folder must be."""

from __future__ import annotations

import os
import stat
from datetime import UTC, datetime

import pytest

from conewise.event.cars import EventCar
from conewise.event.day import Event
from conewise.event.helmets import Helmet
from conewise.event.people import EmergencyContact, Person
from conewise.event.runs import Run
from conewise.store.errors import (
    AlreadyKeptError,
    BrokenLinkError,
    ChangedMeanwhileError,
    DamagedBookError,
    FileNotKeptError,
    NoBookError,
    NoSuchRecordError,
    NotABookError,
    RecordInUseError,
    RecordNameError,
)
from conewise.store.texts import CarText
from conewise.toml_source import FieldError
from tests.books import CAR, TEXTS, Clock, example_day, opened

RUN = Run(id="run-9", event="lot-1", person="ben", order=3, raw_time=61.5)


@pytest.fixture
def book(tmp_path):
    from conewise.store.days import keep_day

    with opened(tmp_path / "book") as book:
        keep_day(book, example_day())
        yield book


def test_a_record_comes_back_as_it_was_with_the_moment_in_utc(book):
    kept = book.add(RUN, by="Ada Quill", reason="timed by hand")
    again = book.one(Run, "run-9")
    assert (again.record, again.version, again.at) == (RUN, 1, kept.at)
    assert again.at.tzinfo is UTC
    assert again.at.date() == datetime(2026, 5, 1, tzinfo=UTC).date()


def test_every_version_stays_with_who_and_why(book):
    first = book.add(RUN, by="Ada Quill")
    book.change(RUN.changed(cones=2), version=first.version, by="Ben Tarn", reason="two cones at gate 7")
    book.remove(Run, "run-9", by="Ada Quill", reason="belongs to somebody else")
    said = [(one.version, one.record and one.record.cones, one.by, one.reason) for one in book.history(Run, "run-9")]
    assert said == [
        (1, 0, "Ada Quill", ""),
        (2, 2, "Ben Tarn", "two cones at gate 7"),
        (3, None, "Ada Quill", "belongs to somebody else"),
    ]
    assert book.find(Run, "run-9") is None
    assert book.add(RUN).version == 4


def test_the_same_record_sent_twice_is_one(book):
    book.add(RUN)
    assert book.add(RUN).version == 1
    book.change(RUN.changed(cones=1), version=1)
    assert book.add(RUN).version == 2  # it arrives late once more, and corrects nothing
    assert book.one(Run, "run-9").record.cones == 1
    with pytest.raises(AlreadyKeptError) as told:
        book.add(RUN.changed(raw_time=50.0))
    assert "run 'run-9'" in told.value.message


def test_a_change_to_what_somebody_else_changed_is_refused(book):
    book.add(RUN)
    book.change(RUN.changed(cones=1), version=1, by="Ben Tarn")
    with pytest.raises(ChangedMeanwhileError) as told:
        book.change(RUN.changed(cones=2), version=1)
    assert "by Ben Tarn" in told.value.message
    assert told.value.where == "run run-9"
    assert book.one(Run, "run-9").record.cones == 1
    with pytest.raises(ChangedMeanwhileError):
        book.remove(Run, "run-9", version=1)


def test_near_names_are_offered(book):
    with pytest.raises(NoSuchRecordError) as told:
        book.one(Person, "bem")
    assert "ben" in told.value.hint
    with pytest.raises(NoSuchRecordError):
        book.change(RUN, version=1)
    with pytest.raises(NoSuchRecordError) as told:
        book.one(CarText, "pepper")
    assert "no car-file yet" in told.value.hint


@pytest.mark.parametrize(
    ("record", "field"),
    [
        (RUN.changed(event="lot-9"), "event"),
        (RUN.changed(person="zoe"), "person"),
        (RUN.changed(passenger="zoe"), "passenger"),
        (Helmet(id="h", owner="zoe"), "owner"),
        (Person(id="dan", name="Dan", mentor="zoe"), "mentor"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_link_to_nothing_is_refused_and_nothing_is_kept(book, record, field):
    with pytest.raises(BrokenLinkError) as told:
        book.add(record)
    assert f"The {field} is" in told.value.message
    assert book.find(type(record), record.id) is None
    assert book.history(type(record), record.id) == ()


def test_links_inside_an_event_are_held_too(book):
    kept = book.one(Event, "lot-1")
    entries = (*kept.record.entries, kept.record.entries[0].changed(person="zoe"))
    with pytest.raises(BrokenLinkError) as told:
        book.change(kept.record.changed(entries=entries), version=kept.version)
    assert told.value.where == "event lot-1, entry 3"
    assert book.one(Event, "lot-1") == kept


def test_what_others_name_cannot_be_removed(book):
    with pytest.raises(RecordInUseError) as told:
        book.remove(Person, "ben")
    assert "2 runs (person)" in told.value.message
    assert "1 entry (person)" in told.value.message
    assert book.find(Person, "ben") is not None


def test_several_changes_are_kept_together_or_not_at_all(book):
    with pytest.raises(BrokenLinkError), book.writing() as writer:  # noqa: PT012  # one transaction
        writer.add(RUN)
        writer.add(RUN.changed(id="run-10", person="zoe"))
    assert book.find(Run, "run-9") is None
    with book.writing() as writer:  # a link may lead to what comes later
        writer.add(RUN.changed(person="zoe"))
        writer.add(Person(id="zoe", name="Zoe"))
    assert book.one(Run, "run-9").record.person == "zoe"


def test_lists_are_in_order_and_can_be_narrowed(book):
    book.add(RUN.changed(person="ada", order=1))
    assert [kept.id for kept in book.every(Run)] == ["run-9", "run-1", "run-2"]
    assert [kept.id for kept in book.every(Run, person="ben")] == ["run-1", "run-2"]
    assert [kept.record.name for kept in book.every(Person)] == ["Ada Quill", "Ben Tarn"]


def test_private_details_have_no_history_and_leave_no_trace(book, tmp_path):
    kept = book.one(Person, "ben")
    assert kept.record.emergency == EmergencyContact(name="Cy Tarn", phone="555", relation="father")
    book.change(kept.record.changed(medical="", emergency=None), version=1)
    then = book.history(Person, "ben")[0].record
    assert (then.medical, then.emergency, then.guardian.name) == ("", None, "")
    book.close()
    assert b"bee stings" not in book.database.read_bytes()
    assert not [path for path in (tmp_path / "book").glob("*") if b"bee stings" in path.read_bytes()]


def test_texts_stay_to_the_letter_and_are_read_first(book):
    for text in TEXTS:
        book.add(text)
        assert book.one(type(text), text.id).record.text == text.text
    with pytest.raises(FieldError) as told:
        book.add(CarText(id="odd", text=CAR + "wheels = 5\n"))
    assert "car odd" in told.value.where
    assert book.find(CarText, "odd") is None


def test_a_name_must_do_for_every_system(book):
    with pytest.raises(RecordNameError):
        book.add(EventCar.model_construct(id="My Car!", name="My Car"))


def test_files_are_kept_once_and_held_to_their_content(book):
    address = book.keep_file(b"photo", "dent.jpg")
    assert book.keep_file(b"photo", "again.jpg") == address
    assert book.files.content(address) == b"photo"
    assert list(book.files.addresses()) == [address]
    book.files.path(address).write_bytes(b"phot0")
    with pytest.raises(DamagedBookError):
        book.files.content(address)
    with pytest.raises(FileNotKeptError):
        book.files.content("0" * 64)


@pytest.mark.skipif(os.name == "nt", reason="rights of Unix")
def test_the_folder_is_its_owner_s_alone(book):
    book.keep_file(b"photo", "dent.jpg")
    for path in [book.folder, *book.folder.rglob("*")]:
        assert stat.S_IMODE(path.stat().st_mode) & 0o077 == 0, path


def test_only_a_book_is_opened(tmp_path):
    with pytest.raises(NoBookError):
        opened(tmp_path / "none", create=False)
    assert not (tmp_path / "none").exists()
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "letter.txt").write_text("Dear", encoding="utf-8")
    with pytest.raises(NotABookError) as told:
        opened(tmp_path / "full")
    assert "letter.txt" in told.value.message
    (tmp_path / "file").touch()
    with pytest.raises(NotABookError):
        opened(tmp_path / "file")


@pytest.mark.parametrize("offset", [0, 40, 4096 * 3 + 1, 4096 * 20])
def test_a_damaged_database_is_refused_and_stays_as_it_is(book, offset):
    book.close()
    content = bytearray(book.database.read_bytes())
    content[offset : offset + 3000] = b"\x5a" * 3000
    book.database.write_bytes(content)
    with pytest.raises(DamagedBookError) as told:
        opened(book.folder)
    assert "restore your last backup" in told.value.hint
    assert book.database.read_bytes() == bytes(content)


def test_a_clock_is_asked_for_every_version(tmp_path):
    with opened(tmp_path / "book", now=Clock(datetime(2024, 2, 29, 12, tzinfo=UTC))) as book:
        first = book.add(Person(id="ada", name="Ada"))
        second = book.change(first.record.changed(name="Ada Q."), version=1)
    assert first.at.year == 2024
    assert first.at < second.at
