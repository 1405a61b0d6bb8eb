"""From nothing to a course with a time: three pages, eleven entries."""

from __future__ import annotations

import re
from datetime import UTC, datetime

import pytest

from conewise.store.texts import CarText, CourseText
from conewise.web.texts import text
from conewise.workflows.book_place import BookPlace
from conewise.workflows.events import load_day
from conewise.workflows.first_event import FIELDS

HTML = {"accept": "text/html", "origin": "http://127.0.0.1"}
CAR = {"car_name": "Bramble", "kind": "roadster", "mass": "2315 lb", "power": "", "tyre": "195/50R15"}
EVENT = {"event_name": "Back lot", "day": "2026-10-04", "driver_name": "Ada Quill", "level": "novice"}
COURSE = {"course_name": "Back lot one", "notes": text("first.example")}
ALL = CAR | EVENT | COURSE


def sent(client, page, answers):
    return client.post("/first", data={"page": page} | answers, headers=HTML)


def test_three_pages_and_at_most_twelve_entries():
    assert len(FIELDS) == 3
    assert sum(map(len, FIELDS)) <= 12


def test_every_page_keeps_what_the_ones_before_said_and_the_last_keeps_all(empty, tmp_path):
    assert "Page 1 of 3" in empty.get("/first", headers=HTML).text
    second = sent(empty, 1, CAR).text
    assert "Page 2 of 3" in second
    assert 'name="car_name" value="Bramble"' in second
    third = sent(empty, 2, CAR | EVENT).text
    assert "Page 3 of 3" in third
    assert 'name="driver_name" value="Ada Quill"' in third
    assert not (tmp_path / "book").exists()  # nothing is kept before the last page
    last = sent(empty, 3, ALL)
    assert last.status_code == 303
    assert last.headers["location"] == "/time?event=back-lot&driver=ada-quill&car=bramble&course=back-lot-one"
    place = BookPlace(book=tmp_path / "book", now=lambda: datetime.now(UTC))
    with place.opened(create=False) as book:
        assert 'total = "2315 lb"' in book.one(CarText, "bramble").record.text
        assert "slalom 5 cones" in book.one(CourseText, "back-lot-one").record.text
    from pathlib import Path

    day = load_day(Path("back-lot"), source=place).day
    assert [(entry.person, entry.car) for entry in day.event.entries] == [("ada-quill", "bramble")]
    page = empty.get(last.headers["location"], headers=HTML).text
    assert 'data-view="time"' in page
    assert '{"course":"back-lot-one","car":"bramble","driver":"novice"}' in page
    assert "In 21 days: Back lot, Ada Quill" in empty.get("/", headers=HTML).text


def test_an_address_leads_to_the_next_page_and_back_with_every_answer(empty, tmp_path):
    third = empty.get("/first", params={"page": 2} | CAR | EVENT, headers=HTML)
    assert "Page 3 of 3" in third.text
    assert '<form method="post"' in third.text
    second = empty.post("/first", data={"page": 3, "back": "true"} | ALL | {"course_name": ""}, headers=HTML).text
    assert "Page 2 of 3" in second
    assert '<form method="get"' in second
    assert 'name="driver_name" type="text" value="Ada Quill"' in second
    back = {"page": 2, "back": "true", "driver_name": "Ada Quill"}
    first = empty.get("/first", params=back | CAR, headers=HTML).text
    assert "Page 1 of 3" in first
    assert 'name="mass" type="text" value="2315 lb"' in first
    assert 'name="driver_name" value="Ada Quill"' in first
    wrong = empty.get("/first", params={"page": 1} | CAR | {"mass": "very heavy"}, headers=HTML)
    assert (wrong.status_code, "very heavy" in wrong.text) == (422, True)
    assert empty.get("/first", params={"page": 3} | ALL, headers=HTML).status_code == 200
    assert not (tmp_path / "book").exists()


SPIKES = "start\nslalom 5 cones every {gap} first to your left after 20 m\nfinish after 30 m\nstop box 60 m"


@pytest.mark.parametrize(
    ("page", "answers", "field", "words"),
    [
        (1, {"car_name": " "}, "car_name", "A name is wanted here."),
        (1, {"mass": "very heavy"}, "mass", "very heavy"),
        (1, {"mass": "20 kg"}, "mass", "20 kg"),
        (1, {"tyre": "round"}, "tyre", "round"),
        (1, {"kind": "boat"}, "kind", "boat"),
        (2, {"day": "soon"}, "day", "A day such as"),
        (2, {"day": "0001-01-01"}, "day", "A day from 1900"),
        (2, {"driver_name": "\n"}, "driver_name", "A name is wanted here."),
        (2, {"level": "boss"}, "level", "novice"),
        (3, {"notes": "start\nfly 20 m\nfinish"}, "notes", "line 2"),
        (3, {"notes": ""}, "notes", "start"),
        (3, {"notes": SPIKES.format(gap="0.0001 m")}, "notes", "The cones are 0.00 m apart"),
        (3, {"notes": SPIKES.format(gap="0.5 m")}, "notes", "Nobody can drive this course: feature &#39;slalom 1&#39;"),
    ],
)
def test_what_cannot_be_used_is_said_beside_its_field_and_nothing_is_lost(empty, tmp_path, page, answers, field, words):
    again = sent(empty, page, ALL | answers)
    assert again.status_code == 422
    assert f"Page {page} of 3" in again.text
    problem = re.search(r'<p class="problem" role="alert" id="problem">(.*?)</p>', again.text, re.DOTALL)
    assert problem is not None
    assert words in problem[1]
    assert re.search(rf'name="{field}"[^>]*aria-invalid="true"', again.text) or field in ("kind", "level")
    assert "Ada Quill" in again.text or field == "driver_name"
    assert not (tmp_path / "book").exists()


def test_names_that_are_taken_get_a_number(empty, tmp_path):
    sent(empty, 3, ALL)
    assert "event=back-lot-2" in sent(empty, 3, ALL | {"day": "2026-10-11"}).headers["location"]


def test_the_same_answers_sent_twice_are_kept_once(empty, tmp_path):
    first, second = (sent(empty, 3, ALL).headers["location"] for _ in range(2))
    assert second == first
    with BookPlace(book=tmp_path / "book", now=lambda: datetime.now(UTC)).opened(create=False) as book:
        assert len(book.every(CarText)) == 1
    assert "car=bramble-2" in sent(empty, 3, ALL | {"mass": "1000 kg"}).headers["location"]


def test_markup_in_a_name_stays_a_name(empty):
    page = sent(empty, 1, CAR | {"car_name": '<b>"x"</b>'}).text
    assert "<b>" not in page
    assert "&lt;b&gt;&#34;x&#34;" in page


def test_the_time_page_without_a_course_says_what_is_wanted(empty):
    assert "A course and a car are wanted." in empty.get("/time", headers=HTML).text
