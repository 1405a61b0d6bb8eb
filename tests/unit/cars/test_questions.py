"""The questions of `car new`: answers read, refused, and the file that they make."""

import re

import pytest

from conewise.cars.car_file import car_of
from conewise.cars.questions import QUESTIONS, answered, car_file, check_answer
from conewise.cars.toml_file import Table
from conewise.cars.typical import kinds
from conewise.cars.tyre_size import TyreCodeError
from conewise.quantities import Origin
from conewise.questions import DO_NOT_KNOW, AnswerError

FULL = {
    "name": 'The "old" one \\ 赤',
    "kind": "sport-hatch",
    "drive": "all",
    "mass": "2900 lb",
    "tyre": "245/40 zr18 97y",
    "treadwear": "200",
    "power": "240 hp",
    "transmission": "dual-clutch",
}


def made(answers):
    return car_of(Table.of_text(car_file(answered(answers)), file="new.toml"))


def test_there_are_at_most_eight_questions():
    assert len(QUESTIONS) <= 8


def test_every_answer_reaches_the_car():
    car = made(FULL)
    assert car.name == FULL["name"]
    assert (car.kind, car.drive, car.transmission.kind) == ("sport-hatch", "all", "dual-clutch")
    assert car.value("mass.total") == pytest.approx(2900 * 0.45359237)
    assert car.value("rear.tyre.section_width") == 0.245
    assert car.value("front.tyre.load_capacity") == 730.0
    assert car.value("front.tyre.treadwear") == 200.0
    assert car.value("engine.peak_power") == pytest.approx(240 * 745.699872, rel=1e-8)
    assert car.values["engine.peak_power"].origin is Origin.SPEC_SHEET


@pytest.mark.parametrize("word", DO_NOT_KNOW)
def test_not_knowing_takes_the_typical_value(word):
    assert answered(dict.fromkeys(FULL, word.upper())) == {}


@pytest.mark.parametrize("kind", kinds())
def test_a_kind_alone_makes_a_car(kind):
    car = made({"kind": kind})
    told = {name for name, value in car.values.items() if value.origin in {Origin.SPEC_SHEET, Origin.MEASURED}}
    assert told == set()


def test_every_line_that_is_switched_off_can_be_switched_on():
    text = re.sub(r"^# (\w+ = )", r"\1", car_file(answered({"kind": "sedan"})), flags=re.MULTILINE)
    car = car_of(Table.of_text(text, file="new.toml"))
    assert car.value("steering.lock_to_lock") == 2.7
    assert car.value("front.tyre.friction") == 1.05


@pytest.mark.parametrize(
    ("key", "answer"),
    [
        ("kind", "spaceship"),
        ("drive", "left"),
        ("mass", "1050"),
        ("mass", "heavy"),
        ("mass", "20 kg"),
        ("mass", "-900 kg"),
        ("treadwear", "soft"),
        ("treadwear", "5000"),
        ("power", "90 N m"),
        ("transmission", "belt"),
        ("name", "two\nlines"),
    ],
)
def test_bad_answers_are_refused_at_once(key, answer):
    question = next(q for q in QUESTIONS if q.key == key)
    with pytest.raises(AnswerError) as caught:
        check_answer(question, answer)
    assert question.text in caught.value.message
    assert question.wanted in caught.value.hint


def test_a_bad_tyre_is_refused_at_once():
    with pytest.raises(TyreCodeError):
        check_answer(next(q for q in QUESTIONS if q.key == "tyre"), "round ones")
