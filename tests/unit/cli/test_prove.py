"""`conewise prove` as a user meets it."""

from __future__ import annotations

import json

import numpy as np
import pytest

from conewise.cli.main import run
from tests.seasons import Season, csv_text, drawn


@pytest.fixture
def times_file(tmp_path):
    def write(*orders, **facts):
        path = tmp_path / "times.csv"
        path.write_text(csv_text(drawn(Season(orders=orders, **facts), np.random.default_rng(3))), encoding="utf-8")
        return str(path)

    return write


def test_the_answer_comes_first(times_file, capsys):
    assert run(["prove", times_file("AABBBBAA", effect=-0.03)]) == 0
    out = capsys.readouterr().out
    assert out.startswith("The change helped: 'after' is")
    assert "What else moved the times" in out


def test_json_keys(times_file, capsys):
    assert run(["prove", times_file("AABBBBAA", effect=-0.03), "--json", "--units", "us"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["ok"] is True
    assert record["low_s"] < record["effect_s"] < record["high_s"] < 0.0
    assert 0.9 < record["probability"] <= 1.0
    assert record["sentence"].startswith("The change helped")
    assert record["cones"]["before"]["cones"] == 0


def test_what_cannot_be_told_leaves_with_five_and_no_number(times_file, capsys):
    path = times_file("AAABBB")
    assert run(["prove", path, "--json"]) == 5
    record = json.loads(capsys.readouterr().out)
    assert record["effect_s"] is record["low_s"] is record["high_s"] is record["probability"] is None
    assert record["untold"]["code"] == "run-order"
    assert record["plan"]["orders"]
    assert run(["prove", path]) == 5
    assert "The next test" in capsys.readouterr().out


def test_a_plan_before_the_test(capsys):
    assert run(["prove", "--plan", "--runs", "8", "--spread", "0.4", "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert len(record["orders"][0]) == 8
    assert 0.5 < record["least_difference_s"] < 1.5
    assert run(["prove", "--plan", "--effect", "0.8", "--spread", "0.4"]) == 0
    assert "Drive: 3 old, 4 new, 3 old." in capsys.readouterr().out


def test_a_plan_takes_the_spread_of_earlier_runs(times_file, capsys):
    assert run(["prove", times_file("AAAAAA", "AAAAAA"), "--plan", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["run_spread_s"] == pytest.approx(0.008 * 48, rel=0.6)  # of 12 runs


def test_report_and_picture(times_file, tmp_path):
    report, picture = tmp_path / "r.html", tmp_path / "r.svg"
    assert run(["prove", times_file("AABBBBAA"), "--report", str(report), "--svg", str(picture)]) == 0
    assert report.read_text(encoding="utf-8").startswith("<!doctype html>")
    assert picture.read_text(encoding="utf-8").startswith("<svg")


@pytest.mark.parametrize(
    ("words", "code", "exit_code"),
    [
        (["--before", "nothing"], "unknown-name", 3),
        (["--driver", "nobody"], "unknown-name", 3),
        (["--before", "after", "--after", "after"], "same-setup", 2),
        (["--certainty", "1.5"], "test-number", 2),
        (["--runs", "8"], "usage", 2),
        (["--report", "r.txt"], "file-ending", 2),
        (["--plan", "--runs", "400"], "test-number", 2),
        (["--plan", "--spread", "-1"], "test-number", 2),
    ],
)
def test_mistakes_are_said(times_file, capsys, words, code, exit_code):
    assert run(["prove", times_file("AABBBBAA"), *words]) == exit_code
    assert f"error[{code}]" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("content", "exit_code"), [(b"", 2), (b"\x89PNG\r\n\x1a\n\x00\x01\x02", 2), (b"setup,raw_time_s\nold,-4\n", 2)]
)
def test_files_that_are_none(tmp_path, capsys, content, exit_code):
    path = tmp_path / "t.csv"
    path.write_bytes(content)
    assert run(["prove", str(path)]) == exit_code
    assert "error[times-file]" in capsys.readouterr().err


def test_no_file_at_all(tmp_path, capsys):
    assert run(["prove", str(tmp_path / "no.csv")]) == 3
    assert run(["prove"]) == 2
    assert "error[usage]" in capsys.readouterr().err
