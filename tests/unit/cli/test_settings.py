"""`conewise settings`, as it is typed, with a made-up answer in place of the solves."""

from __future__ import annotations

import json

import pytest

from conewise.cli.main import run
from conewise.workflows import settings as question
from tests.settings_fixture import as_it_is, settings_answer

WORDS = ["settings", "lot.toml", "--car", "car.toml"]


@pytest.fixture
def typed(monkeypatch, capsys):
    """Runs `settings` on a given answer: exit code, stdout, stderr, and what was asked."""
    asked = []

    def command(answer, *more):
        def answer_settings(what, *, progress, step):
            asked.append(what)
            progress("Solving the run")
            step(1)
            return answer

        monkeypatch.setattr(question, "answer_settings", answer_settings)
        return run([*WORDS, *more]), *capsys.readouterr(), asked

    return command


def test_the_sentence_comes_first_then_the_settings(typed):
    code, out, _, _ = typed(settings_answer())
    assert code == 0
    assert out.startswith("Move front bar: +0.12 s a run")
    assert out.index("Settings") < out.index("Bounds") < out.index("Handling") < out.index("Before you work")
    assert "cannot tell" in out
    assert "Not moved: rear tyre pressure" in out


def test_units_are_those_asked_for(typed):
    assert "30.0 psi" in typed(settings_answer(), "--units", "us")[1]
    assert "2.07 bar" in typed(settings_answer())[1]


def test_json_is_one_object(typed):
    code, out, _, _ = typed(as_it_is(), "--json")
    assert code == 0
    assert json.loads(out)["settings"][0]["verdict"] == "as it is"


def test_a_doubt_is_said_first_and_is_no_success(typed):
    code, out, _, _ = typed(settings_answer(doubts=("lot: failed a check.",)))
    assert code == 6
    assert out.startswith("lot: failed a check.")


def test_options_reach_the_question(typed, tmp_path):
    file = tmp_path / "answer.html"
    words = ["--ranges", "r.toml", "--weight", "3", "--driver", "novice", "--surface", "wet", "--report", str(file)]
    _, _, _, (asked,) = typed(settings_answer(), *words)
    assert asked.weights == (3.0,)
    assert (asked.driver, asked.surface, asked.ranges.name) == ("novice", "wet", "r.toml")
    assert file.read_text(encoding="utf-8").startswith("<!doctype html>")


@pytest.mark.parametrize(
    ("words", "code", "error"),
    [
        ([], 3, "course-file-missing"),
        (["--report", "answer.pdf"], 2, "file-ending"),
        (["--workers", "0"], 2, "workers"),
    ],
)
def test_what_cannot_be_used_is_said_with_its_code(capsys, words, code, error):
    assert run([*WORDS, *words]) == code
    assert error in capsys.readouterr().err
