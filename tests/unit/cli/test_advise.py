"""`conewise advise`, as it is typed, with a made-up answer in place of the solves."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

import conewise.demo
from conewise.advisor.advice import Advice
from conewise.advisor.rows import Effect, Option, Row
from conewise.cli.main import run
from conewise.workflows import advise as question

WORDS = ["advise", "lot.toml", "--car", "car.toml", "--changes", "changes.toml"]
DOUBT = "lot: the run without a change failed 1 of 9 checks (no fold): do not rely on what is compared with it."
ADVICE = Advice(
    base={"lot": 40.0},
    rows=(
        Row(option=Option(name="stickier tyres", kind="tyre"), effects=(Effect(course="lot", linear=0.5, gain=0.4),)),
    ),
)


@pytest.fixture
def typed(monkeypatch, capsys):
    """Runs `advise` on a given answer: exit code, stdout, stderr."""

    def command(answer, *more):
        def answer_advise(_asked, *, progress, first, step, partial, stopped):
            progress("Solving the run")
            first(answer)
            step(1, 1)
            partial(answer.rows[0])
            return answer

        monkeypatch.setattr(question, "answer_advise", answer_advise)
        return run([*WORDS, *more]), *capsys.readouterr()

    return command


def test_the_ranking_comes_twice_and_the_answer_last(typed):
    code, out, _ = typed(ADVICE)
    assert code == 0
    assert out.startswith("lot: 40.00 s without a change.")
    assert out.index("First ranking") < out.index("Most time: stickier tyres, +0.40 s a run")


@pytest.mark.parametrize(
    ("budget", "words"),
    [("lots", 'The amount "lots" cannot be used'), ("-5", "it must be zero or more"), ("0", "The budget is 0")],
)
def test_a_budget_that_cannot_be_is_refused_in_a_sentence(capsys, budget, words):
    demo = Path(conewise.demo.__file__).parent
    parts = str(demo / "parts" / "workshop-list.toml")
    course, car = (str(demo / part) for part in ("courses/harbour-yard.toml", "cars/marigold.toml"))
    code = run(["advise", course, "--car", car, "--parts", parts, "--budget", budget])
    out, said = capsys.readouterr()
    assert (code, out) == (2, "")
    assert words in " ".join(said.split())
    assert "--budget" in said


def test_runs_that_failed_a_check_are_said_first_and_are_no_success(typed):
    doubted = replace(ADVICE, doubts=(DOUBT,))
    code, out, _ = typed(doubted)
    assert code == 6
    assert " ".join(out.split()).startswith(DOUBT)
    code, out, _ = typed(doubted, "--json")
    record = json.loads(out)
    assert (code, record["ok"], record["doubts"]) == (6, False, [DOUBT])
    assert record["changes"][0]["gain_s"] == 0.4
    assert json.loads(typed(ADVICE, "--json")[1])["ok"] is True
