"""The questions of `course new` and the file that their answers make."""

from __future__ import annotations

import itertools

import pytest
from shapely.geometry import Point, box

from conewise.course import checks
from conewise.course.layout import FeatureKind
from conewise.course.questions import (
    QUESTIONS,
    LotTooSmallError,
    check_answer,
    course_file,
    read_answers,
)
from conewise.course.reference import lay_out
from conewise.course.toml_file import read_toml
from conewise.findings import has_stop
from conewise.questions import DO_NOT_KNOW, AnswerError


def made(**answers):
    return read_toml(course_file(read_answers(answers)), file="new.toml")


def test_at_most_eight_questions():
    assert len(QUESTIONS) <= 8
    assert len({question.key for question in QUESTIONS}) == len(QUESTIONS)


@pytest.mark.parametrize("answer", DO_NOT_KNOW)
def test_not_knowing_takes_the_typical_value_and_the_file_says_so(answer):
    answers = {question.key: answer.upper() for question in QUESTIONS}
    text = course_file(read_answers(answers))
    assert text == course_file(read_answers({}))
    assert all(f"#   {question.text}" in text for question in QUESTIONS[1:])


def test_every_typical_answer_is_an_answer():
    for question in QUESTIONS:
        check_answer(question, question.typical)


def test_the_answers_arrive():
    course = made(
        name='The "big" lot', length="800 ft", width="300 ft", cones="6", spacing="55 ft",
        turn="Right", gate="18 ft", rules="student",
    )  # fmt: skip
    assert course.name == 'The "big" lot'
    assert course.rules == "student"
    assert course.site.outline[2] == pytest.approx((800 * 0.3048, 300 * 0.3048), abs=1e-2)
    slalom = course.features[1]
    assert slalom.kind is FeatureKind.SLALOM
    assert len(slalom.crossings) == 6
    one, two = (course.cone(name) for name in slalom.cone_ids[:2])
    assert two.x - one.x == pytest.approx(55 * 0.3048, abs=1e-3)
    hairpin = course.features[2]
    assert course.cone(hairpin.cone_ids[-1]).y < one.y  # to the right is down the page


@pytest.mark.parametrize(
    ("key", "answer"),
    [
        ("length", "500 psi"), ("length", "far"), ("length", "5 m"), ("length", "nan"), ("length", "-180 m"),
        ("width", "2 km"), ("cones", "2"), ("cones", "many"), ("cones", "4.5"), ("cones", "inf"), ("cones", "1e99"),
        ("spacing", "2 m"), ("turn", "up"), ("gate", "1 m"), ("rules", "house"),
    ],
)  # fmt: skip
def test_what_is_no_answer_is_told_with_what_is(key, answer):
    question = next(q for q in QUESTIONS if q.key == key)
    with pytest.raises(AnswerError) as caught:
        check_answer(question, answer)
    assert answer in caught.value.message
    assert question.wanted in caught.value.hint
    assert "do not know" in caught.value.hint


@pytest.mark.parametrize("answers", [{"length": "80 m", "cones": "8"}, {"width": "35 m"}, {"length": "70 m"}])
def test_a_lot_that_is_too_small_says_what_is_needed(answers):
    with pytest.raises(LotTooSmallError, match="this course needs") as caught:
        made(**answers)
    assert "fewer" in caught.value.hint


LENGTHS = ("100 m", "500 ft", "180 m", "400 m")
LOTS = list(itertools.product(LENGTHS, ("50 m", "200 m"), ("", "4"), ("14 m", "22 m"), ("left", "right")))


def test_every_course_that_is_made_lies_on_its_lot():
    n_made = 0
    for length, width, cones, spacing, turn in LOTS:
        try:
            course = made(length=length, width=width, cones=cones, spacing=spacing, turn=turn)
        except LotTooSmallError:
            continue
        n_made += 1
        lot = box(*course.site.outline[0], *course.site.outline[2])
        assert all(lot.exterior.distance(Point(c.x, c.y)) > 3.0 and lot.contains(Point(c.x, c.y)) for c in course.cones)
    assert n_made > len(LOTS) / 2


@pytest.mark.parametrize(
    "answers", [{}, {"length": "400 ft"}, {"length": "300 m", "turn": "right"}, {"cones": "8", "length": "250 m"}]
)
def test_a_path_leads_through_what_is_made_and_nothing_says_stop(answers):
    course = made(**answers)
    geometry = lay_out(course)
    assert geometry.path.length > 100.0
    assert not has_stop(checks.check(course, geometry))
