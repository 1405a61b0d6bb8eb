"""`conewise debrief`, as it is typed, with a made-up answer in place of solves."""

from __future__ import annotations

import json

import pytest

from conewise.cli.main import run
from conewise.workflows import debrief as question
from tests.debrief_fixture import reduced_debrief
from tests.debriefs import WIDE, made_up_debrief

WORDS = ["--course", "course.toml", "--car", "car.toml"]


@pytest.fixture
def typed(monkeypatch, capsys):
    """Runs `debrief` on a given answer: exit code, stdout, stderr, and what the workflow was asked."""

    def command(answer, *more):
        asked = []

        def answer_debrief(found, *, progress, first, ask):
            progress("Solving [the] run")
            asked.append((found, ask))
            if first is not None:
                first(answer.told)
            return answer

        monkeypatch.setattr(question, "answer_debrief", answer_debrief)
        code = run(["debrief", "evening.csv", *WORDS, *map(str, more)])
        return code, *capsys.readouterr(), asked

    return command


def test_the_run_comes_first_then_the_focus_then_the_gap(typed):
    code, out, _, _ = typed(made_up_debrief())
    assert code == 0
    at = [out.index(words) for words in ("Run 1 took", WIDE.advice, "behind the best possible", "Before you drive")]
    assert at == sorted(at)
    assert "cannot tell" in out  # the parts of short features are smaller than their intervals


def test_json_has_what_it_promises(typed):
    code, out, _, _ = typed(made_up_debrief(), "--json")
    record = json.loads(out)
    assert code == 0
    named = {
        "measured_s",
        "best_s",
        "best_on_line_s",
        "gap_s",
        "features",
        "focus",
        "also_seen",
        "where",
        "friction",
        "findings",
    }
    assert named <= set(record)
    assert {"id", "kind", "line_s", "speed_s", "line_interval_s", "speed_interval_s"} <= set(record["features"][0])
    assert {"feature", "cause", "seconds", "advice"} <= set(record["focus"])
    assert record["friction"] == {"value": 1.0, "low": 0.8, "high": None, "origin": "typical"}
    parts = sum(row["line_s"] + row["speed_s"] for row in record["features"])
    assert record["measured_s"] - record["best_s"] == pytest.approx(parts, abs=1e-3)  # the promise: to 1 ms
    assert record["gap_s"] == pytest.approx(parts, abs=1e-3)


def test_what_a_slow_receiver_cannot_tell_is_null(typed):
    record = json.loads(typed(made_up_debrief(is_reduced=True), "--json")[1])
    assert record["best_on_line_s"] is None
    assert {row["line_s"] for row in record["features"]} == {None}
    assert record["features"][0]["measured_s"] > 0.0
    assert record["gap_s"] > 0.0
    assert "cannot tell line from speed" in " ".join(typed(made_up_debrief(is_reduced=True))[1].split())


def test_a_place_is_told_where_no_cause_is(typed):
    answer = reduced_debrief()
    out = " ".join(typed(answer)[1].split())
    assert f"Look at {answer.where.feature}: time is lost there" in out
    assert "cannot tell your line from your speed" in out
    assert "Nothing stands out" not in out
    record = json.loads(typed(answer, "--json")[1])
    assert record["focus"] is None
    assert (record["where"]["feature"], record["where"]["seconds"], record["where"]["more_s"]) == (
        answer.where.feature, 0.41, 0.27,
    )  # fmt: skip
    assert (record["where"]["beside"], record["where"]["n_beside"]) == (None, 4)  # alone of its kind
    assert json.loads(typed(made_up_debrief(), "--json")[1])["where"] is None


def test_the_question_is_what_was_typed(typed):
    more = ["--run", 3, "--hit", "a4", "--hit", "b1", "--surface", "0.9", "--limit", "circle.csv", "--workers", 1]
    ((asked, ask),) = typed(made_up_debrief(), *more)[3]
    assert (asked.run, asked.hit, asked.surface, asked.workers) == (3, {"a4", "b1"}, "0.9", 1)
    assert [path.name for path in asked.limits] == ["circle.csv"]
    assert ask is None  # nobody sits at the keyboard


def test_the_best_line_as_a_table_and_as_a_track(typed, tmp_path):
    table = tmp_path / "best.csv"
    assert typed(made_up_debrief(), "--best", table)[0] == 0
    header, *rows = table.read_text(encoding="utf-8").splitlines()
    assert header == "station [m],time [s],x [m],y [m],speed [m/s]"
    assert len(rows) == made_up_debrief().other.station.size
    code, _, err, _ = typed(made_up_debrief(), "--best", tmp_path / "best.gpx")
    assert code == 2
    assert "error[no-anchor]" in err  # the short course lies nowhere on earth


def test_files_are_refused_before_the_work(typed, tmp_path):
    code, _, err, asked = typed(made_up_debrief(), "--best", tmp_path / "best.txt")
    assert (code, asked) == (2, [])
    assert "error[file-ending]" in err


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ([], "debrief-usage"),
        (["evening.csv", "--time", "40"], "debrief-usage"),
        (["--time", "40", "--report", "x.html"], "debrief-usage"),
        (["--time", "40", "--keep"], "debrief-usage"),
        (["evening.csv", "--against", "2", "--keep-as", "ben-1"], "debrief-usage"),
        (["evening.csv", "--workers", "0"], "workers"),
    ],
)
def test_what_cannot_be_asked(words, code, capsys):
    assert run(["debrief", *words, *WORDS]) == 2
    assert f"error[{code}]" in capsys.readouterr().err
