"""`conewise car scales` and `conewise car lift`, as they are typed."""

from __future__ import annotations

import json

import pytest

from conewise.cli.main import run
from tests.cars import DEMO

CAR = str(DEMO / "marigold.toml")
WEIGHTS = ("300 kg", "260 kg", "250 kg", "270 kg")
LIFTED = ("575 kg", "505 kg", "595 kg")


@pytest.fixture
def typed(capsys):
    def command(*words):
        code = run(["car", *words])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return code, out, err

    return command


def test_scales_say_which_perch_to_move(typed):
    code, out, _ = typed("scales", CAR, *WEIGHTS, "--done", "driver,half-tank,level,bars-off")
    assert code == 0
    for words in ("Cross weight 47.2%", "front right", "mm up", "mm down", "on stands", "alignment"):
        assert words in out
    assert "warning" not in out
    assert " in up" in typed("scales", CAR, *WEIGHTS, "--units", "us")[1]
    assert "Leave it" in typed("scales", CAR, "281 kg", "278 kg", "262 kg", "259 kg")[1]
    assert json.loads(typed("scales", CAR, *WEIGHTS, "--json")[1])["cross_weight"] == pytest.approx(510 / 1080)


def test_lift_gives_a_line_for_the_car_file(typed):
    code, out, _ = typed("lift", CAR, *LIFTED, "--rise", "0.40 m")
    assert code == 0
    assert "cg_height = { value =" in " ".join(out.split())
    assert "Never on a jack alone" in " ".join(out.split())
    told = json.loads(typed("lift", CAR, *LIFTED, "--rise", "0.40 m", "--json")[1])
    assert 0.4 < told["cg_height_m"] < 0.6
    assert told["findings"]


def test_a_lift_that_cannot_be_right_is_no_answer(typed):
    code, out, _ = typed("lift", CAR, "575 kg", "505 kg", "680 kg", "--rise", "0.40 m")
    assert code == 10
    assert "For the car file" not in out
    assert "Weigh again" in " ".join(out.split())


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("scales", CAR, *WEIGHTS[:3]), "four are wanted"),
        (("scales", CAR, *WEIGHTS, "--done", "driver,lunch"), "'lunch'"),
        (("scales", CAR, "300", *WEIGHTS[1:]), "unit is missing"),
        (("lift", CAR, "575 kg", "--rise", "1 m"), "1 weights"),
        (("lift", CAR, *LIFTED, "--rise", "0.40 m", "--lifted", "both"), "front or rear"),
    ],
)
def test_bad_words_are_said(typed, words, said):
    code, _, err = typed(*words)
    assert code == 2
    assert said in err


def test_a_weight_with_a_minus_is_named_whole_and_how_to_write_it(typed):
    code, _, err = typed("scales", CAR, "281 kg", "278 kg", "262 kg", "-260 kg")
    assert code == 2
    assert "'-260 kg' was taken for an option." in err
    assert 'conewise ... -- "-260 kg"' in err
    code, _, err = typed("scales", CAR, "--", "281 kg", "278 kg", "262 kg", "-260 kg")
    assert code == 2
    assert "option" not in err
    assert "No such option: --nonsense" in typed("scales", CAR, "--nonsense", *WEIGHTS)[2]
