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


def of_text(text):
    return car_of(Table.of_text(text, file="new.toml"))


def made(answers):
    return of_text(car_file(answered(answers)))


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


@pytest.mark.parametrize("answers", [*({"kind": kind} for kind in kinds()), FULL, {"mass": "1000 kg"}])
def test_switching_every_line_on_changes_nothing(answers):
    off, on = made(answers), of_text(re.sub(r"^# (\w+ = )", r"\1", car_file(answered(answers)), flags=re.MULTILINE))
    assert on.values.keys() >= off.values.keys()
    for name, value in off.values.items():
        assert on.value(name) == pytest.approx(value.value, rel=1e-3, abs=1e-12), name  # digits of a code
    for one in (off, on):
        assert (one.drive, one.brakes.abs, one.transmission.kind) == (off.drive, off.brakes.abs, off.transmission.kind)
        assert [getattr(one, axle).differential.kind for axle in ("front", "rear")] == [
            getattr(off, axle).differential.kind for axle in ("front", "rear")
        ]
    assert on.values["mass.total"].origin is Origin.SPEC_SHEET


def test_lines_that_are_switched_off_show_the_kind_that_was_chosen():
    text = car_file(answered({"kind": "sedan"}))
    for line in (
        'total = "1380 kg"',
        'front_share = "0.6"',
        'wheelbase = "2.68 m"',
        'kind = "converter"',
        'kind = "open"',
    ):
        assert f"\n# {line}" in text
    assert "[rear.differential]" not in text


def test_the_treadwear_holds_for_both_axles_without_a_size_too():
    car = made({"treadwear": "100"})
    assert car.value("rear.tyre.treadwear") == car.value("front.tyre.treadwear") == 100.0


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
