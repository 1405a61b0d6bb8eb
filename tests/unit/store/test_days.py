"""Whole event days into the book and out of it."""

from __future__ import annotations

import pytest

from conewise.event.cars import EventCar
from conewise.event.helmets import Helmet
from conewise.event.people import Person
from conewise.store.days import event_day, keep_day
from conewise.store.errors import BrokenLinkError, NoSuchRecordError
from tests.books import example_day, opened


@pytest.fixture
def book(tmp_path):
    with opened(tmp_path / "book") as book:
        keep_day(book, example_day(), by="Ada Quill")
        yield book


def test_a_day_comes_back_as_it_was(book):
    assert event_day(book, "lot-1") == example_day()


def test_keeping_it_again_changes_nothing(book):
    done = keep_day(book, example_day())
    assert (done.added, done.changed, done.same) == ((), (), 13)


def test_what_differs_becomes_a_new_version_and_private_details_stay(book):
    day = example_day()
    ben = day.people[1].changed(level="regular", medical="", emergency=None)
    done = keep_day(book, day.changed(people=(day.people[0], ben)), by="Ada Quill", reason="first event driven")
    assert (done.added, done.changed, done.same) == ((), ("person ben",), 12)
    kept = book.one(Person, "ben")
    assert (kept.record.level, kept.version) == ("regular", 2)
    assert book.history(Person, "ben")[1].reason == "first event driven"


def test_a_day_has_the_people_it_names_and_no_others(book):
    book.add(Person(id="zoe", name="Zoe"))
    book.add(Helmet(id="hers", owner="zoe"))
    book.add(Helmet(id="club-2"))
    book.add(EventCar(id="thistle", name="Thistle", owner="zoe"))
    day = event_day(book, "lot-1")
    assert {person.id for person in day.people} == {"ada", "ben"}
    assert {helmet.id for helmet in day.helmets} == {"club-1", "club-2"}
    assert {car.id for car in day.cars} == {"pepper"}


def test_a_day_that_names_nobody_we_know_is_refused_whole(tmp_path):
    with opened(tmp_path / "other") as book:
        day = example_day()
        with pytest.raises(BrokenLinkError):
            keep_day(book, day.changed(people=day.people[:1]))
        assert book.every(EventCar) == ()
        with pytest.raises(NoSuchRecordError):
            event_day(book, "lot-1")


def test_a_private_detail_that_is_brought_leaves_the_others(book):
    """A file that says whom to call, and nothing medical, takes no medical note away."""
    before = book.one(Person, "ben").record
    assert before.medical
    contact = before.emergency.changed(phone="0100 999")
    day = example_day()
    ben = day.people[1].changed(medical="", emergency=contact)
    assert keep_day(book, day.changed(people=(day.people[0], ben))).changed == ("person ben",)
    after = book.one(Person, "ben").record
    assert (after.emergency.phone, after.medical) == ("0100 999", before.medical)
