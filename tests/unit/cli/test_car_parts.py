"""`conewise car show --part` and `conewise car mass`, as they are typed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from conewise.cli.main import run
from conewise.course.files import write_course
from tests.cars import DEMO
from tests.solved import short_course

CAR = str(DEMO / "marigold.toml")


@pytest.fixture
def typed(capsys):
    def command(*words):
        code = run(["car", *words])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return code, out, err

    return command


@pytest.mark.parametrize(
    ("part", "words"),
    [("brakes", "pedal_force"), ("suspension", "frequency_ratio"), ("gearing", "shift up at")],
)
def test_a_part_is_shown(typed, part, words):
    code, out, _ = typed("show", CAR, "--part", part)
    assert code == 0
    assert words in out
    assert "not permissions" in out
    assert json.loads(typed("show", CAR, "--part", part, "--json")[1])["part"] == part


def test_another_part_is_refused(typed):
    code, _, err = typed("show", CAR, "--part", "wings")
    assert code == 2
    assert "suspension" in err


def test_the_heat_of_a_run_on_a_course(typed, tmp_path):
    course = str(tmp_path / "short.toml")
    write_course(short_course().changed(name="Old Mill"), Path(course))
    told = json.loads(typed("show", CAR, "--part", "brakes", "--course", course, "--json")[1])
    values = {v["name"]: v for v in told["values"]}
    assert "Old Mill" in values["run_energy"]["meaning"]
    assert 0.1e6 < values["run_energy"]["value_si"] < 5e6
    assert values["front.disc_rise"]["value_si"] > values["rear.disc_rise"]["value_si"] > 0
    code, _, err = typed("show", CAR, "--part", "gearing", "--course", course)
    assert code == 2
    assert "--part brakes" in err


def test_mass_budget(typed):
    code, out, _ = typed("mass", CAR, "--passenger", "75 kg")
    assert code == 0
    assert "passenger" in out
    assert "1155 kg" in out
    assert json.loads(typed("mass", CAR, "--passenger", "75 kg", "--json")[1])["items"][0]["mass_kg"] == 75.0
    code, _, err = typed("mass", CAR)
    assert code == 2
    assert "--passenger" in err
