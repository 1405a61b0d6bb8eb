"""Devices that are let in: known by their secret, for a time, until somebody ends it."""

from __future__ import annotations

import sqlite3
import zipfile
from contextlib import closing
from datetime import UTC, datetime, timedelta

import pytest

from conewise.event.people import EmergencyContact, Person
from conewise.store.backup import backup
from conewise.store.book import open_book
from conewise.store.jobs import Asker, Jobs, JobState
from conewise.store.sessions import IDLE, WebSessions, digest
from tests.books import example_day, opened

BEGIN = datetime(2026, 5, 1, 8, tzinfo=UTC)


class SetClock:
    def __init__(self):
        self.moment = BEGIN

    def __call__(self):
        return self.moment


@pytest.fixture
def now():
    return SetClock()


@pytest.fixture
def book(tmp_path, now):
    with opened(tmp_path / "book", now=now) as there:
        yield there


def begun(sessions, secret="s" * 43, **options):
    options = {"device": "phone", "role": "driver", "person": "ben", "lasts": timedelta(days=3)} | options
    return sessions.begin(secret, **options)


def test_a_device_is_known_by_its_secret_of_which_only_a_digest_is_kept(book):
    sessions = WebSessions(book)
    made = begun(sessions)
    assert sessions.of("s" * 43) == made
    assert sessions.of("t" * 43) is None
    assert made.id == digest("s" * 43)
    book.close()
    assert b"s" * 43 not in book.database.read_bytes()


def test_it_ends_after_its_time_however_it_is_used(book, now):
    sessions = WebSessions(book)
    begun(sessions)
    for _ in range(8):
        now.moment += timedelta(hours=8)
        assert sessions.of("s" * 43) is not None
    now.moment += timedelta(hours=8)
    assert sessions.of("s" * 43) is None
    assert sessions.every() == ()


def test_it_ends_where_it_is_not_used(book, now):
    sessions = WebSessions(book)
    begun(sessions)
    now.moment += IDLE - timedelta(seconds=1)
    assert sessions.of("s" * 43) is not None
    now.moment += IDLE
    assert sessions.of("s" * 43) is None


def test_one_or_all_are_ended_at_once(book):
    sessions = WebSessions(book)
    first, second = begun(sessions), begun(sessions, "t" * 43, device="other")
    assert {one.device for one in sessions.every()} == {"phone", "other"}
    assert sessions.end(first.id)
    assert not sessions.end(first.id)
    assert sessions.of("s" * 43) is None
    assert sessions.of("t" * 43) == second
    assert sessions.end_all() == 1
    assert sessions.of("t" * 43) is None


@pytest.mark.parametrize("how", ["end", "end_all", "every", "of"])
def test_a_device_that_has_gone_waits_for_no_job(book, now, how):
    sessions, jobs = WebSessions(book), Jobs(book)
    phone = begun(sessions).id
    for name in "ab":
        jobs.submit(name, "line", {}, asker=Asker(device=phone))
    jobs.submit("b", "line", {}, asker=Asker())
    if how in {"every", "of"}:
        now.moment += IDLE
    {"end": lambda: sessions.end(phone), "end_all": sessions.end_all, "every": sessions.every,
     "of": lambda: sessions.of("s" * 43)}[how]()  # fmt: skip
    assert {job.id: job.state for job in jobs.every()} == {"a": JobState.STOPPED, "b": JobState.WAITING}
    assert jobs.leave("b", Asker()).state is JobState.STOPPED


def test_a_backup_has_no_device_that_waits_for_a_job(book, tmp_path):
    phone, jobs = begun(WebSessions(book)).id, Jobs(book)
    for name in "ab":
        jobs.submit(name, "line", {}, asker=Asker(device=phone))
    jobs.submit("b", "line", {}, asker=Asker())
    backup(book, tmp_path / "copy.zip")
    assert [job.state for job in jobs.every()] == [JobState.WAITING] * 2  # here they go on
    with zipfile.ZipFile(tmp_path / "copy.zip") as packed:
        packed.extract("book.sqlite", tmp_path)
    with closing(sqlite3.connect(tmp_path / "book.sqlite")) as copy:
        assert copy.execute("SELECT job, device FROM job_asker").fetchall() == [("b", "")]
        assert copy.execute("SELECT id, state FROM job ORDER BY id").fetchall() == [("a", "stopped"), ("b", "waiting")]


def test_a_backup_lets_nobody_in(book, tmp_path):
    begun(WebSessions(book))
    backup(book, tmp_path / "copy.zip")
    with zipfile.ZipFile(tmp_path / "copy.zip") as packed:
        content = packed.read("book.sqlite")
    assert b"web_session" in content
    assert digest("s" * 43).encode() not in content


def test_who_may_not_see_private_details_neither_reads_nor_removes_them(tmp_path, now):
    ben = example_day().people[1]
    with opened(tmp_path / "book", now=now) as book:
        for person in example_day().people:
            book.add(person)
    with open_book(tmp_path / "book", now=now, hides_private=True) as book:
        seen = book.one(Person, "ben")
        assert (seen.record.medical, seen.record.emergency) == ("", None)
        assert seen.record.guardian.phone == ""
        book.change(seen.record.changed(level="regular"), version=seen.version)
        with book.writing() as writer:
            writer.keep(book_person(writer).changed(events_driven=3))
    with opened(tmp_path / "book", now=now) as book:
        after = book.one(Person, "ben").record
    assert (after.level, after.events_driven) == ("regular", 3)
    assert (after.medical, after.emergency, after.guardian) == (ben.medical, ben.emergency, ben.guardian)


def book_person(writer):
    return writer.one(Person, "ben").record


def test_private_details_go_with_their_record_whoever_removes_it(tmp_path, now):
    with opened(tmp_path / "book", now=now) as book:
        book.add(Person(id="cy", name="Cy", medical="penicillin", emergency=EmergencyContact(phone="555")))
    with open_book(tmp_path / "book", now=now, hides_private=True) as book:
        book.remove(Person, "cy")
        book.add(Person(id="cy", name="Cyra"))
    with opened(tmp_path / "book", now=now) as book:
        assert book.one(Person, "cy").record == Person(id="cy", name="Cyra")


def test_private_details_that_are_brought_are_kept(tmp_path, now):
    with open_book(tmp_path / "book", now=now, hides_private=True) as book:
        book.add(Person(id="cy", name="Cy", emergency=EmergencyContact(phone="555")))
        assert book.one(Person, "cy").record.emergency is None
    with opened(tmp_path / "book", now=now) as book:
        assert book.one(Person, "cy").record.emergency.phone == "555"
