"""`conewise car`, as it is typed."""

from __future__ import annotations

import io
import json
import sys

import pytest

from conewise.cars.car_file import read_car
from conewise.cars.questions import QUESTIONS
from conewise.cli.main import run
from tests.cars import DEMO, DEMO_NAMES


@pytest.fixture
def typed(monkeypatch, capsys):
    """Runs a command line with answers on its input: exit code, stdout, stderr."""

    def command(*words, answers=""):
        monkeypatch.setattr(sys, "stdin", io.StringIO(answers))
        code = run(["car", *map(str, words)])
        out, err = capsys.readouterr()
        assert "Traceback" not in err + out
        return code, out, err

    return command


def test_no_answers_make_a_typical_car(typed, tmp_path):
    path = tmp_path / "mine.toml"
    code, out, err = typed("new", path, answers="\n" * len(QUESTIONS))
    assert code == 0
    assert "conewise car show" in out
    assert all(question.text in err for question in QUESTIONS)
    assert read_car(path).kind == "sedan"


def test_answers_reach_the_file(typed, tmp_path):
    path = tmp_path / "mine.toml"
    answers = "Rosie\nroadster\ndo not know\n2300 lb\n205/50R15\n200\n?\n-\n"
    assert typed("new", path, answers=answers)[0] == 0
    car = read_car(path)
    assert (car.name, car.kind, car.drive) == ("Rosie", "roadster", "rear")
    assert car.value("mass.total") == pytest.approx(1043.26, abs=0.01)


def test_a_file_that_is_there_stays(typed, tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text("precious")
    code, _, err = typed("new", path)
    assert code == 4
    assert "already there" in err
    assert path.read_text() == "precious"
    assert typed("new", path, "--force")[0] == 0
    assert "precious" not in path.read_text()


@pytest.mark.parametrize(
    ("answers", "where"),
    [
        ("Rosie\nroadster\n\nabout a ton\n\n\n\n\n", "answer 4 of 8, How heavy is it"),
        ("Rosie\nroadster\n\n\nround\n\n\n\n", "answer 5 of 8, Which size are the tyres?"),
    ],
)
def test_a_wrong_answer_from_a_pipe_is_named_with_how_to_go_on(typed, tmp_path, answers, where):
    code, _, err = typed("new", tmp_path / "mine.toml", answers=answers)
    assert code == 2
    assert f"\n  where: {where}" in err
    assert f"Nothing was written: correct line {where.split()[1]}, and give all the lines again." in err


class Keyboard(io.StringIO):
    """A person's keyboard, which stops the command behind its last line."""

    def isatty(self):
        return True

    def readline(self, *_):
        line = super().readline()
        if not line:
            raise KeyboardInterrupt
        return line


def test_a_person_is_told_what_ends_the_questions_and_what_is_written(monkeypatch, capsys, tmp_path):
    monkeypatch.setattr(sys, "stdin", Keyboard("Rosie\nspaceship\nroadster\n"))
    assert run(["car", "new", str(tmp_path / "mine.toml")]) == 130
    err = capsys.readouterr().err
    assert err.startswith("An empty answer takes what stands in brackets. Ctrl-D")
    assert '"spaceship" is no answer' in err  # and it is asked again
    assert err.endswith("Nothing was written.\nStopped.\n")
    assert not (tmp_path / "mine.toml").exists()


def test_a_bad_answer_writes_nothing(typed, tmp_path):
    path = tmp_path / "mine.toml"
    code, _, err = typed("new", path, answers="x\nspaceship\n")
    assert code == 2
    assert "spaceship" in err
    assert not path.exists()


@pytest.mark.parametrize(("name", "exit_code"), [("mine.txt", 2), ("nowhere/mine.toml", 3)])
def test_a_place_that_will_not_do_is_said_before_any_question(typed, tmp_path, name, exit_code):
    code, _, err = typed("new", tmp_path / name)
    assert code == exit_code
    assert QUESTIONS[0].text not in err


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_show_lists_given_filled_and_derived(typed, name):
    code, out, _ = typed("show", DEMO / f"{name}.toml")
    assert code == 0
    for words in ("Given", "Filled in", "Derived", "typical", "estimated", "understeer_gradient", "not permissions"):
        assert words in out


def test_show_in_us_units(typed):
    _, metric, _ = typed("show", DEMO / "marigold.toml")
    _, us, _ = typed("show", DEMO / "marigold.toml", "--units", "us")
    assert "450 lb/in" in us
    assert "78.8 N/mm" in metric
    assert "kg" not in us.split("Derived")[1]


def test_show_marks_what_the_time_model_does_not_know(typed):
    _, out, _ = typed("show", DEMO / "marigold.toml")
    assert "front.tyre.pressure *" in out


def test_show_as_json(typed):
    code, out, _ = typed("show", DEMO / "pepper.toml", "--json")
    sheet = json.loads(out)
    values = {value["name"]: value for value in sheet["values"]}
    assert code == 0
    assert values["mass.total"] == {
        "name": "mass.total",
        "meaning": "car ready to run, without the driver",
        "value_si": 1095.0,
        "uncertainty_si": 5.0,
        "dimension": "mass",
        "origin": "spec sheet",
        "outside_model": None,
    }
    assert values["transmission.shift_time"]["outside_model"]
    assert {d["name"] for d in sheet["derived"]} >= {"static_stability", "front.ride_frequency"}
    assert sheet["findings"] == []


def test_show_prints_findings(typed, tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text('kind = "sedan"\n[body]\ncg_height = "0.8 m"\n')
    code, out, _ = typed("show", path)
    assert code == 0
    assert "[implausible]" in out
    assert "[roll-over]" in out


@pytest.mark.parametrize(
    ("content", "exit_code", "words"),
    [
        (b"", 2, "empty"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", 2, "photo"),
        (b'kind = "sedan"\n[body]\nwheelbase = "60 psi"\n', 2, "line 3, body.wheelbase"),
        (b'kind = "sedan"\n[mass]\ntotal = "-5 kg"\n', 2, "line 3, mass.total"),
    ],
)
def test_bad_files_are_said_plainly(typed, tmp_path, content, exit_code, words):
    path = tmp_path / "bad.toml"
    path.write_bytes(content)
    code, _, err = typed("show", path)
    assert code == exit_code
    assert words in err
    assert "hint:" in err


def test_a_missing_file(typed, tmp_path):
    assert typed("show", tmp_path / "none.toml")[0] == 3


def test_an_error_as_json(typed, tmp_path):
    code, out, _ = typed("show", tmp_path / "none.toml", "--json")
    assert code == 3
    assert json.loads(out)["code"] == "car-file-missing"


def test_a_car_of_which_nothing_is_given_has_no_empty_table(tmp_path, capsys):
    path = tmp_path / "car.toml"
    path.write_text('kind = "sedan"\n', encoding="utf-8")
    assert run(["car", "show", str(path)]) == 0
    out = capsys.readouterr().out
    assert "Given" not in out
    assert "Filled in" in out


def test_a_field_is_named_once_and_limits_without_powers_of_ten(tmp_path, capsys):
    path = tmp_path / "car.toml"
    for value, words in (("heavy", "does not start with a number"), ("9000 kg", "between 117 kg and 7800 kg")):
        path.write_text(f'kind = "sedan"\n[mass]\ntotal = "{value}"\n', encoding="utf-8")
        assert run(["car", "show", str(path)]) == 2
        err = capsys.readouterr().err
        assert words in err
        assert f"  where: {path}, line 3, mass.total\n" in err
