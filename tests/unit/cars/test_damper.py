"""Force over speed of a damper: what the model takes from it, and what is refused."""

import pytest

from conewise.cars.car import DamperPoint
from conewise.cars.car_file import read_car
from conewise.cars.damper import low_speed_damping
from conewise.cars.toml_file import CarFieldError
from conewise.quantities import UnitError

HEAD = 'kind = "roadster"\n[front]\n'


@pytest.fixture
def car(tmp_path):
    def read(lines):
        path = tmp_path / "car.toml"
        path.write_text(HEAD + lines, encoding="utf-8")
        return read_car(path)

    return read


def test_a_straight_damper_has_its_own_slope():
    points = [DamperPoint(speed=s, bump=2000 * s, rebound=4000 * s) for s in (0.02, 0.05, 0.1, 0.3)]
    assert low_speed_damping(points) == pytest.approx(3000.0, rel=1e-12)


def test_only_slow_points_count_where_there_are_any():
    slow, fast = DamperPoint(speed=0.05, bump=250.0, rebound=350.0), DamperPoint(speed=0.25, bump=400.0, rebound=600.0)
    assert low_speed_damping([slow, fast]) == pytest.approx(6000.0, rel=1e-12)
    assert low_speed_damping([fast]) == pytest.approx(2000.0, rel=1e-12)


def test_the_curve_gives_the_damping(car):
    found = car('damper_curve = [["50 mm/s", "250 N", "350 N"], ["0.25 m/s", "90 lb", "600 N"]]')
    assert found.value("front.damping") == pytest.approx(6000.0, rel=1e-12)
    assert [p.rebound for p in found.front.damper_curve] == [350.0, 600.0]


BAD = {
    "both": ('damping = "4000 N s/m"\ndamper_curve = [["0.1 m/s", "1 N", "1 N"]]', "damper curve too"),
    "no list": ('damper_curve = "stiff"', "no list of points"),
    "a pair": ('damper_curve = [["0.1 m/s", "100 N"]]', "no list of points"),
    "negative": ('damper_curve = [["0.1 m/s", "-100 N", "200 N"]]', "more than zero"),
    "order": ('damper_curve = [["0.1 m/s", "1 N", "2 N"], ["0.05 m/s", "1 N", "2 N"]]', "after 0.1 m/s"),
    "a wall": ('damper_curve = [["0.01 m/s", "90 kN", "90 kN"]]', "at low speed"),
}


@pytest.mark.parametrize(("lines", "words"), BAD.values(), ids=BAD)
def test_bad_curves_are_refused_with_their_line(car, lines, words):
    with pytest.raises(CarFieldError, match=words) as caught:
        car(lines)
    assert "car.toml, line" in caught.value.where
    assert "front.damp" in caught.value.where


def test_a_speed_without_a_unit_is_refused(car):
    with pytest.raises(UnitError):
        car('damper_curve = [[0.1, "100 N", "200 N"]]')
