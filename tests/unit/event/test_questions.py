"""Answers make an event file that can be read at once."""

from __future__ import annotations

from datetime import date, time

import pytest

from conewise.event.event_file import event_day
from conewise.event.questions import QUESTIONS, check_answer, event_file
from conewise.questions import AnswerError

ANSWERS = {"name": 'The "big" day', "day": "2028-02-29", "course_length": "2400 ft", "runs": "5", "heats": "A, B C"}


def test_answers_make_an_event():
    event = event_day(event_file(ANSWERS), file="x.toml").event
    assert (event.name, event.id, event.day) == ('The "big" day', "the-big-day-2028", date(2028, 2, 29))
    assert event.heats == ("A", "B", "C")
    assert (event.schedule.first_car, event.schedule.runs) == (time(9, 30), 5)
    assert event.schedule.course_length == pytest.approx(731.52)
    assert event.rules == "club"


@pytest.mark.parametrize(
    ("key", "answer"),
    [
        ("day", ""), ("day", "29.2.2028"), ("day", "2027-02-29"), ("first_car", "half past nine"),
        ("first_car", "09:30+02:00"), ("course_length", "5 m"), ("course_length", "long"),
        ("runs", "0"), ("runs", "2.5"),
    ],
)  # fmt: skip
def test_what_is_no_answer(key, answer):
    question = next(question for question in QUESTIONS if question.key == key)
    with pytest.raises(AnswerError):
        check_answer(question, answer)
    with pytest.raises(AnswerError):
        event_file(ANSWERS | {key: answer})


@pytest.mark.parametrize(("key", "answer", "typical"), [("day", "", False), ("runs", "0", True)])
def test_only_a_question_with_a_typical_answer_offers_it(key, answer, typical):
    question = next(question for question in QUESTIONS if question.key == key)
    with pytest.raises(AnswerError) as caught:
        check_answer(question, answer)
    assert ("typical value" in caught.value.hint) == typical
