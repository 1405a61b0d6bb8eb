"""The page of the line and the work behind it: which run is asked for, of which set-up, and of a drawing."""

from __future__ import annotations

import json

import pytest
from pydantic import ValidationError

from conewise.course.layout import LayoutError
from conewise.course.toml_text import course_text
from conewise.web.drawing_work import DrawingAsked, drawing
from conewise.web.work import Desk, kind_named
from conewise.workflows.book_place import BookPlace
from conewise.workflows.line_choices import NoSuchSetupError, car_setup, line_choices
from conewise.workflows.notes_as_typed import as_typed
from tests.web_app import clock

HTML = {"accept": "text/html"}


@pytest.fixture
def place(settings):
    return BookPlace(book=settings.book, now=clock)


def asked_of(page):
    return json.loads(page.text.split('id="data-asked">')[1].split("</script>")[0])


def test_the_event_and_its_driver_are_what_is_asked(client):
    page = client.get("/walk/line?event=april&driver=fay", headers=HTML)
    (asked,) = asked_of(page)
    assert (asked["course"], asked["car"], asked["setup"]) == ("harbour-yard", "pepper", 0)


def test_a_second_set_up_stands_beside_it(client):
    page = client.get("/walk/line?event=april&driver=fay&other=marigold:1&surface=wet", headers=HTML)
    assert [(one["car"], one["setup"], one["surface"]) for one in asked_of(page)] == [
        ("pepper", 0, "wet"),
        ("marigold", 1, "wet"),
    ]


def test_what_cannot_be_is_said(client, empty):
    unasked = client.get("/walk/line?event=april", headers=HTML).text
    assert "No line yet." in unasked
    assert '<option value="pepper">' in unasked
    assert "No line yet." in empty.get("/walk/line", headers=HTML).text
    assert client.get("/walk/line?driver=fay&course=nowhere", headers=HTML).status_code == 404


def test_set_ups_are_the_versions_of_a_car_file(place):
    choices = line_choices(place, "marigold")
    assert {one.id for one in choices.courses} >= {"harbour-yard"}
    assert "Marigold" in {one.name for one in choices.cars}
    assert [one.version for one in choices.setups][-1] == 1
    assert "name" in car_setup(place, "marigold", 1).text
    with pytest.raises(NoSuchSetupError):
        car_setup(place, "marigold", 99)


def test_the_question_about_a_drawing_is_checked_before_it_is_kept():
    course = as_typed("Lot", "start\nfinish after 60 m").course.model_dump(mode="json")
    kind = kind_named("drawing")
    assert kind.asks.model_validate({"course": course, "car": "pepper"}).car == "pepper"
    with pytest.raises(ValidationError):
        kind.asks.model_validate({"course": course, "car": "pepper", "more": 1})
    course["features"].pop()
    with pytest.raises(LayoutError):
        kind.asks.model_validate({"course": course, "car": "pepper"})


@pytest.mark.slow
def test_a_drawing_is_solved_as_a_course_of_the_book_would_be(place):
    from conewise.workflows.line import LineQuestion, asked
    from conewise.workflows.named import BookText, source

    course = as_typed("Lot", "start\nslalom 3 cones every 18 m first to your left after 20 m\nfinish after 30 m").course
    told = []
    desk = Desk(place=place, job="", tell=lambda share, _: told.append(share), show=lambda _: None)
    answer = drawing(DrawingAsked(course=course, car="marigold"), desk)
    text = BookText(kind="course", name="lot", text=course_text(course))
    question = LineQuestion(course=text, car=source("marigold", "car-file", place))
    _, _, solves = asked(question, progress=lambda _: None)
    assert answer["time_s"] == pytest.approx(solves.best().solution.time, abs=1e-3)
    assert (answer["level"], answer["is_checked"]) == ("transient", True)
    assert told == sorted(told)
    assert told[-1] < 1.0


@pytest.mark.parametrize(
    ("told", "words", "offer"),
    [
        ({"course": "gone"}, "There is no course &#39;gone&#39; in this book.", "course=old-mill-airfield"),
        ({"with_car": "gone:2"}, "There is no car &#39;gone&#39; in this book.", "with_car=marigold"),
        ({"other": "gone"}, "There is no car &#39;gone&#39; in this book.", "other=marigold"),
        ({"as_driver": "gone"}, "There is no driver &#39;gone&#39; in this book.", "as_driver=expert"),
    ],
)
def test_what_the_address_names_and_the_book_does_not_have_is_said(client, told, words, offer):
    asked = {"course": "harbour-yard", "with_car": "marigold"} | told
    page = client.get("/walk/line", params=asked, headers={"accept": "text/html"})
    assert page.status_code == 404
    assert words in page.text
    assert "The address names a" in page.text
    assert offer in page.text
