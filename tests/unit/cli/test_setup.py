"""`conewise car setup`, as it is typed."""

from __future__ import annotations

import json

import pytest

from conewise.cli.main import run
from tests.cars import DEMO


@pytest.fixture
def typed(capsys, tmp_path):
    """Runs a command line on a copy of a demo car: exit code, stdout, stderr."""
    car = tmp_path / "marigold.toml"
    car.write_text((DEMO / "marigold.toml").read_text())

    def command(verb, *words):
        code = run(["car", "setup", verb, str(car), *map(str, words)])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return code, out, err

    return command


def test_a_change_is_added_listed_shown_and_taken_back(typed):
    assert "Nothing was changed yet" in typed("list")[1]
    code, out, _ = typed("add", "more camber", "--edit", "front.camber = -2.8 deg", "--on", "2026-04-18 17:30")
    assert code == 0
    assert "front.camber: -2.20 deg becomes -2.80 deg" in out
    assert "set-up 0" in typed("show", "--on", "2026-04-18 17:29")[1]
    assert "set-up 1" in typed("show", "--on", "2026-04-19")[1]
    code, out, _ = typed("undo", 1, "--on", "2026-05-01")
    assert code == 0
    assert "front.camber: -2.80 deg becomes -2.20 deg" in out
    assert "2026-05-01 00:00" in typed("list")[1]


def test_json_says_the_set_up_of_a_time(typed):
    changes = DEMO.parent / "changes" / "roadster.toml"
    typed("add", "more preload", "--changes", changes, "--on", "2026-04-18")
    told = json.loads(typed("show", "--on", "2026-04-19", "--json")[1])
    assert told["setup"] == "1"
    assert told["differences"][0]["name"] == "rear.differential.preload"
    assert json.loads(typed("list", "--json")[1])["entries"][0]["active"]


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("add", "x", "--edit", "front.cambr = 1 deg"), 2, "Did you mean 'front.camber'?"),
        (("add", "x", "--edit", "front.camber = 1"), 2, "unit"),
        (("add", "x"), 2, "changes nothing"),
        (("add", "x", "--edit", "front.camber = -1 deg", "--on", "noon"), 2, "no date and time"),
        (("add", "x", "--changes", "nowhere.toml"), 3, "no file"),
        (("undo", 4), 3, "no entry 4"),
    ],
)
def test_bad_words_are_said(typed, words, code, said):
    got, _, err = typed(*words)
    assert got == code
    assert said in err
