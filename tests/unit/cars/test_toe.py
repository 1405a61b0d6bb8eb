"""Toe as an angle and as a distance over the rim."""

import math

import pytest

from conewise.cars.car_file import read_car
from conewise.cars.toe import toe_angle, toe_distance
from conewise.cars.toml_file import CarFieldError

HEAD = 'kind = "roadster"\n'
TYRE = '[front.tyre]\nsize = "205/50R15"\n'


def test_toe_of_the_page():
    # page "Convert degrees to mm wheel alignment": asin(4 / 727.7) = 0.31 degrees of total toe
    assert math.degrees(toe_angle(4.0, 727.7)) == pytest.approx(0.31, abs=0.005)


def test_toe_there_and_back():
    # one degree over a 15 in rim, 381 mm: 6.65 mm (closed form)
    assert toe_distance(math.radians(1.0), 0.381) == pytest.approx(6.649e-3, abs=1e-6)
    for angle in (-0.02, 0.0, 0.003):
        assert toe_angle(toe_distance(angle, 0.432), 0.432) == pytest.approx(angle, abs=1e-15)


@pytest.fixture
def car(tmp_path):
    def read(text):
        path = tmp_path / "car.toml"
        path.write_text(HEAD + text, encoding="utf-8")
        return read_car(path)

    return read


def test_a_car_file_may_give_the_distance(car):
    found = car(f'[front]\ntoe_distance = "-1.5 mm"\n{TYRE}')
    assert found.value("front.toe") == pytest.approx(-math.asin(1.5 / 381.0), rel=1e-12)
    assert car(f'[front]\ntoe_distance = "0 mm"\n{TYRE}').value("front.toe") == 0.0


BAD = {
    "both": (f'[front]\ntoe_distance = "1 mm"\ntoe = "0.1 deg"\n{TYRE}', "too"),
    "no rim": ('[front]\ntoe_distance = "1 mm"\n', "needs the rim"),
    "a metre": (f"[front]\ntoe_distance = 1.5\n{TYRE}", "mm at the most"),
}


@pytest.mark.parametrize(("text", "words"), BAD.values(), ids=BAD)
def test_bad_distances_are_refused(car, text, words):
    with pytest.raises(CarFieldError, match=words) as caught:
        car(text)
    assert "line 3, front.toe_distance" in caught.value.where
