"""Looks at cars and helmets go into the book, by whom and when; two people at one item are told."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from conewise.errors import ConewiseError
from conewise.event.cars import CheckEntry
from conewise.event.people import Guardian, Person
from conewise.store.days import keep_day
from conewise.workflows import looks
from conewise.workflows.book_place import opened
from conewise.workflows.looks import CarLook, CarReport, HelmetLook
from conewise.workflows.papers import see_paper
from conewise.workflows.photo_details import picture_alone
from conewise.workflows.photos import NotAPhotoError, keep_photo, kept_photo
from conewise.workflows.place_clock import clock_at
from conewise.workflows.ready_board import ready_board
from tests import days
from tests.photos import photo

SPRING = Path("spring")


@pytest.fixture
def source(tmp_path):
    return replace(days.SOURCE, book=tmp_path / "book")


@pytest.fixture
def keep(source):
    def kept(**facts):
        facts.setdefault("event", days.event(time_zone="UTC"))
        with opened(source.book, now=source.now) as book:
            keep_day(book, days.event_day(**facts))
        return source

    return kept


def item(board, code, where="cars"):
    return next(one for one in board[where][0]["items"] if one["code"] == code)


def look(source, code, *, key="e-1", seen="", result="passed", **facts):
    sent = CarLook(look_id=key, car="pepper", item=code, result=result, looked_by="Bo", seen=seen, **facts)
    return looks.look_at_car(source, "spring", sent)


def test_the_board_says_what_is_open_and_until_when(keep):
    board = ready_board(keep(checks=days.checks(days.car(), but=("tyres",))), SPRING)
    assert (board["ready"], board["n_blocking"]) == (False, 1)
    # First car 9:30; meeting 15 min, walk 3 * 800 m / 1.2 m/s + 5 min, 10 min between steps: the inspection ends 8:06.
    assert board["due"] == {"drivers": "07:26", "cars": "08:06", "helmets": "08:06"}
    assert item(board, "tyres")["state"] == "open"
    assert item(board, "wheel-nuts")["state"] == "done"


def test_a_look_ticks_an_item_and_can_be_taken_back(keep):
    source = keep(checks=days.checks(days.car(), but=("tyres",)))
    check = look(source, "tyres", note="3 mm")
    board = ready_board(source, SPRING)
    assert board["answer"] == "Nothing open on your list; the event's inspection decides."
    assert (item(board, "tyres")["looked_by"], item(board, "tyres")["note"]) == ("Bo", "3 mm")
    assert look(source, "tyres", note="3 mm") == check  # the same once more
    looks.take_look_back(source, "e-1", by="Bo")
    looks.take_look_back(source, "e-1", by="Bo")
    assert item(ready_board(source, SPRING), "tyres")["state"] == "open"
    assert look(source, "tyres", key="e-2").id == "e-2"


def test_two_people_at_one_item_are_told(keep):
    source = keep(checks=days.checks(days.car(), but=("tyres",)))
    look(source, "tyres", key="e-1", result="failed")
    with pytest.raises(ConewiseError, match="Bo looked at it meanwhile, at 12:00: failed") as refused:
        look(source, "tyres", key="e-2")
    assert refused.value.code == "looked-meanwhile"
    assert item(ready_board(source, SPRING), "tyres")["state"] == "failed"
    look(source, "tyres", key="e-2", seen="e-1")
    assert item(ready_board(source, SPRING), "tyres")["state"] == "done"


def test_what_happens_to_a_car_opens_items_again_and_a_new_look_closes_them(keep):
    source = keep()
    assert ready_board(source, SPRING)["ready"]
    report = CarReport(report_id="e-5", car="pepper", kind="brakes", by="Bo", note="new pads")
    looks.report_car(source, "spring", report)
    looks.report_car(source, "spring", report)
    board = ready_board(source, SPRING)
    again = [one for one in board["cars"][0]["items"] if one["state"] == "again"]
    assert again
    assert "work on the brakes (new pads)" in again[0]["reason"]
    for number, one in enumerate(again):  # in the same second as the report
        look(source, one["code"], key=f"e-look-{number}", seen=one["seen"], value=one["wanted"])
    assert ready_board(source, SPRING)["ready"]
    looks.take_report_back(source, "e-5", by="Bo")
    assert ready_board(source, SPRING)["ready"]


def test_a_helmet_is_looked_at_with_its_version(keep):
    source = keep(helmets=(days.helmet(fit={}),))
    board = ready_board(source, SPRING)
    assert item(board, "fit", "helmets")["state"] == "open"
    sent = HelmetLook(helmet="red", look="fit", result="passed", looked_by="Bo", version=board["helmets"][0]["version"])
    assert looks.look_at_helmet(source, "spring", sent) == 2
    with pytest.raises(ConewiseError) as refused:
        looks.look_at_helmet(source, "spring", sent)
    assert refused.value.code == "record-changed"
    with pytest.raises(ConewiseError) as unknown:
        looks.look_at_helmet(source, "spring", replace(sent, look="colour", version=2))
    assert unknown.value.code == "helmet-look"
    assert ready_board(source, SPRING)["ready"]


def test_the_makers_torque_is_written_down_with_its_unit(keep):
    source = keep(cars=(days.car(wheel_torque=None),))
    board = ready_board(source, SPRING)
    assert item(board, "wheel-nuts")["act"] == "torque"
    facts = {"origin": "manual, page 12", "version": 1, "by": "Bo"}
    for wrong in ("98", "98 kg", "-3 N m"):
        with pytest.raises(ConewiseError) as refused:
            looks.set_wheel_torque(source, "pepper", written=wrong, **facts)
        assert refused.value.code == "wheel-torque"
    assert looks.set_wheel_torque(source, "pepper", written="98 N m", **facts) == 2
    assert item(ready_board(source, SPRING), "wheel-nuts")["wanted"] == "98 N m"


def test_a_helmet_is_on_one_head(keep):
    source = keep(
        people=(days.person(), days.person("bo")),
        helmets=(days.helmet(), days.helmet("club-1", size="L")),
        event=days.event(entries=(days.event().entries[0].changed(helmet=""),)),
    )
    assert item(ready_board(source, SPRING), "driver-helmet", "drivers")["act"] == "loan"
    lent = {"helmet": "club-1", "by": "Bo"}
    looks.lend_helmet(source, "spring", loan_id="e-7", person="ana", **lent)
    with pytest.raises(ConewiseError) as refused:
        looks.lend_helmet(source, "spring", loan_id="e-8", person="ana", **lent)
    assert refused.value.code == "helmet-on-loan"
    board = ready_board(source, SPRING)
    assert board["ready"]
    assert [(one["helmet"], one["name"]) for one in board["loans"]] == [("club-1", "Ana"), ("red", "")]
    looks.take_helmet_back(source, "e-7", by="Bo")
    assert not ready_board(source, SPRING)["ready"]


@pytest.mark.parametrize(
    ("facts", "code", "paper", "value"),
    [
        ({"licence": None}, "driver-licence", "licence", "2030-01-01"),
        ({"licence": None}, "driver-licence", "licence", ""),
        ({"waiver_signed": None}, "driver-waiver", "waiver", ""),
        ({"born": date(2010, 1, 1), "guardian": Guardian(name="Pat")}, "driver-guardian", "guardian", ""),
        ({"ride_alongs": None, "level": "novice"}, "driver-ride-alongs", "ride-alongs", "no"),
        ({"level": "novice"}, "driver-mentor", "mentor", "bo"),
    ],
)
def test_papers_are_seen(keep, facts, code, paper, value):
    bo = days.person("bo", can_mentor=True)
    source = keep(people=(days.person(**facts), bo))
    assert item(ready_board(source, SPRING), code, "drivers")["act"] == paper
    sent = {"person": "ana", "paper": paper, "by": "Bo"}
    assert see_paper(source, "spring", value=value, version=1, **sent) == 2
    board = ready_board(source, SPRING)
    assert code not in [one["code"] for one in board["drivers"][0]["items"]]
    with pytest.raises(ConewiseError):
        see_paper(source, "spring", value=value, version=1, **sent)


@pytest.mark.parametrize(
    ("paper", "value"), [("licence", "soon"), ("ride-alongs", "perhaps"), ("mentor", "ana"), ("mentor", "No Id")]
)
def test_papers_that_say_nothing_are_refused(keep, paper, value):
    source = keep()
    with pytest.raises(ConewiseError) as refused:
        see_paper(source, "spring", person="ana", paper=paper, value=value, version=1, by="Bo")
    assert refused.value.code == "paper-value"


def test_private_details_stay_when_papers_are_seen(keep):
    source = keep(people=(days.person(waiver_signed=None, medical="bees"),))
    see_paper(source, "spring", person="ana", paper="waiver", value="", version=1, by="Bo")
    with opened(source.book, now=source.now) as book:
        kept = book.one(Person, "ana").record
    assert (kept.medical, kept.emergency.phone) == ("bees", "555 0100")
    assert "555" not in str(ready_board(source, SPRING))


def test_the_clock_is_that_of_the_place_and_stays_on_the_day():
    place = days.event(time_zone="Asia/Tokyo")
    assert clock_at(place, days.SOURCE.now) == days.moment(21)
    assert clock_at(place, lambda: datetime(2026, 7, 1, 3, 30, tzinfo=UTC)) == days.moment(12, 30)
    with pytest.raises(ConewiseError):
        clock_at(days.event(time_zone="Moon/Base"), days.SOURCE.now)


def test_a_look_at_nothing_is_refused(keep):
    source = keep()
    with pytest.raises(ConewiseError):
        looks.look_at_car(
            source, "spring", CarLook(look_id="e-1", car="ghost", item="tyres", result="passed", looked_by="Bo")
        )
    with opened(source.book, now=source.now) as book:
        assert len(book.every(CheckEntry)) == len(days.checks(days.car()))


def test_the_photo_of_a_look_is_a_kept_picture(keep):
    source = keep()
    with pytest.raises(ConewiseError, match="no file of that name"):
        look(source, "tyres", key="e-7", seen=item(ready_board(source, SPRING), "tyres")["seen"], photo="dent.jpg")
    picture = photo("jpeg")
    with source.opened() as book:
        address = keep_photo(book, picture, "dent.jpg")
        with pytest.raises(NotAPhotoError, match="is no picture"):
            keep_photo(book, b"MZ a program", "dent.jpg")
        with pytest.raises(NotAPhotoError, match="more than 20 MB"):
            keep_photo(book, picture + bytes(20_000_000), "dent.jpg")
    seen = item(ready_board(source, SPRING), "tyres")["seen"]
    assert look(source, "tyres", key="e-7", seen=seen, photo=address).photo == address
    with source.opened() as book:
        assert kept_photo(book, address) == (picture_alone(picture, "image/jpeg"), "image/jpeg")
