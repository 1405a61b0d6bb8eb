"""Scales and lift, as they are asked for: what is found, what is doubted and what is refused."""

import numpy as np
import pytest

from conewise.workflows.weighing import (
    LIFT_NEEDS,
    SCALES_NEED,
    LiftQuestion,
    WeightError,
    answer_lift,
    answer_scales,
)
from tests.cars import DEMO

CAR = DEMO / "marigold.toml"
WEIGHTS = ("300 kg", "260 kg", "250 kg", "270 kg")


def codes(answer):
    return {f.code for f in answer.findings}


def test_a_crooked_car_is_told_what_to_move():
    answer = answer_scales(CAR, WEIGHTS, done=SCALES_NEED)
    assert not answer.is_good
    assert codes(answer) == set()
    after = answer.balance.readings + answer.moves.load_change
    assert (after[1] + after[2]) / after.sum() == pytest.approx(0.5, rel=1e-12)
    assert answer.moves.together[1] > 0 > answer.moves.together[0]
    assert np.abs(answer.moves.together).max() < 0.02
    told = answer.as_dict()
    assert told["corners"][0]["perch_up_m"] == answer.moves.together[0]
    assert told["leave_it"] is False


def test_a_straight_car_is_left_alone():
    assert answer_scales(CAR, ("281 kg", "278 kg", "262 kg", "259 kg")).is_good
    assert answer_scales(CAR, WEIGHTS, spread="20 kg").is_good


def test_what_was_not_seen_to_is_a_finding():
    assert codes(answer_scales(CAR, WEIGHTS)) == {f"scales-{key}" for key in SCALES_NEED}
    assert codes(answer_scales(CAR, WEIGHTS, done=["driver", "level"])) == {"scales-half-tank", "scales-bars-off"}


def test_another_car_on_the_scales_is_noticed():
    assert "mass-differs" in codes(answer_scales(CAR, ("400 kg", "400 kg", "300 kg", "300 kg"), done=SCALES_NEED))


@pytest.mark.parametrize(
    ("weights", "options", "words"),
    [
        (("300 kg", "260 kg", "0 kg", "270 kg"), {}, "rear left"),
        (("300 kg", "-260 kg", "250 kg", "270 kg"), {}, "more than zero"),
        (WEIGHTS, {"cross_weight": "80 %"}, "80%"),
        (("1000000000 kg", *WEIGHTS[1:]), {}, "in all"),
        (("300 lb", "260 lb", "250 lb", "270 lb"), {}, "in all"),
    ],
)
def test_readings_that_cannot_be(weights, options, words):
    with pytest.raises(WeightError, match=words):
        answer_scales(CAR, weights, **options)


def lift(**others):
    told = {"front": "575 kg", "rear": "505 kg", "raised": "595 kg", "rise": "0.40 m", "done": LIFT_NEEDS}
    return answer_lift(CAR, LiftQuestion(**(told | others)))


def test_a_lift_gives_a_height_with_its_uncertainty():
    answer = lift()
    length, rise, radius = 2.30, 0.40, 0.97 * 0.586 / 2
    wanted = radius + 20 * length / (1080 * np.tan(np.arcsin(rise / length)))
    assert answer.found.height == pytest.approx(wanted, rel=1e-9)
    assert 0.005 < answer.found.spread < 0.05
    assert codes(answer) == set()
    assert lift(radius="0.285 m").found.spread < answer.found.spread


def test_the_other_axle_may_go_up():
    # the same body: what goes onto the rear with the front up is what goes onto the front with the rear up
    assert lift(lifted="front", raised="525 kg").found.height == pytest.approx(lift().found.height, rel=1e-9)


def test_doubts_about_a_lift():
    assert {f"lift-{key}" for key in LIFT_NEEDS} == codes(lift(done=()))
    assert "lift-low" in codes(lift(rise="0.20 m", raised="585 kg"))
    assert "lift-implausible" in codes(lift(raised="650 kg"))


@pytest.mark.parametrize("others", [{"raised": "570 kg"}, {"raised": "1.2 t"}, {"rise": "3 m"}, {"rise": "-0.4 m"}])
def test_a_lift_that_cannot_be(others):
    with pytest.raises(WeightError):
        lift(**others)
