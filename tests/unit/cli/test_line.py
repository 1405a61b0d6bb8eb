"""`conewise line`, as it is typed, with a made-up answer in place of a solve."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from conewise.cli.main import run
from conewise.findings import Finding
from conewise.workflows import line as question
from tests.reports_fixture import fallback_answer, made_up_answer, wet_answer

WORDS = ["line", "course.toml", "--car", "car.toml"]


@pytest.fixture
def typed(monkeypatch, capsys):
    """Runs `line` on a given answer: exit code, stdout, stderr, and what the workflow was asked."""

    def command(answer, *more):
        asked = []

        def answer_line(found, *, progress, first):
            progress("Solving [the] run")
            asked.append(found)
            if first is not None:
                first(replace(answer, build_up=()))
            return answer

        monkeypatch.setattr(question, "answer_line", answer_line)
        code = run([*WORDS, *map(str, more)])
        return code, *capsys.readouterr(), asked

    return command


@pytest.mark.parametrize(
    ("name", "build", "more"),
    [
        ("line", made_up_answer, ()),
        ("line-us", made_up_answer, ("--units", "us")),
        ("line-wet", wet_answer, ()),
        ("line-fallback", fallback_answer, ()),
    ],
)
def test_what_is_printed(typed, golden, name, build, more):
    code, out, _, _ = typed(build(), *more)
    assert code == 0
    golden(name, out)


def test_the_first_sentence_is_the_answer(typed):
    answer = made_up_answer()
    _, out, _, _ = typed(answer)
    assert out.startswith(f"{answer.solution.time:.2f} s is the fastest clean run")
    _, out, _, _ = typed(fallback_answer())
    assert out.startswith("Fallback")


def test_options_reach_the_question(typed):
    more = ["--driver", "novice", "--pace", "0.8", "--surface", "wet", "--level", "quasi-steady"]
    _, _, _, (asked,) = typed(made_up_answer(), *more)
    assert (asked.driver, asked.pace, asked.surface, asked.level) == ("novice", 0.8, "wet", "quasi-steady")


def test_json_does_not_change_with_the_units(typed):
    _, metric, _, _ = typed(made_up_answer(), "--json")
    _, us, _, _ = typed(made_up_answer(), "--json", "--units", "us")
    assert json.loads(metric) == json.loads(us)
    assert json.loads(metric)["ok"] is True


def test_a_number_that_is_not_finite_becomes_null(typed):
    answer = made_up_answer()
    cones = (replace(answer.solution.cones[0], clearance=float("nan")), *answer.solution.cones[1:])
    _, out, _, _ = typed(replace(answer, solution=replace(answer.solution, cones=cones)), "--json")
    assert json.loads(out)["cones"][0]["clearance_m"] is None


def test_a_stop_area_too_short_is_a_no(typed):
    answer = made_up_answer()
    stop = Finding("stop", "stop-short", "The car needs 41 m to stop; the stop area has 35 m.", "finish")
    code, out, _, _ = typed(replace(answer, solution=replace(answer.solution, findings=(stop,))))
    assert code == 10
    assert "The car needs 41 m to stop" in out


def failed(answer):
    first, *others = answer.solution.checks
    return replace(answer, solution=replace(answer.solution, checks=(replace(first, ok=False), *others)))


@pytest.mark.parametrize("build", [made_up_answer, fallback_answer])
def test_an_answer_that_failed_a_check_never_passes_for_one(typed, build):
    code, out, _, _ = typed(failed(build()))
    assert code == 6
    assert out.startswith("1 of 4 checks failed (no fold): do not rely on this answer")
    code, out, _, _ = typed(failed(build()), "--json")
    record = json.loads(out)
    assert (code, record["ok"], record["is_checked"]) == (6, False, False)
    assert record["time_s"] == build().solution.time


def test_a_run_that_failed_a_check_is_not_believed_about_the_stop_area(typed):
    answer = failed(made_up_answer())
    stop = Finding("stop", "stop-short", "The car needs 41 m to stop; the stop area has 35 m.", "finish")
    code, out, _, _ = typed(replace(answer, solution=replace(answer.solution, findings=(stop,))), "--json")
    assert code == 6
    assert json.loads(out)["is_stopped"] is True


def test_json_says_no_where_the_stop_area_is_too_short(typed):
    answer = made_up_answer()
    stop = Finding("stop", "stop-short", "The car needs 41 m to stop; the stop area has 35 m.", "finish")
    code, out, _, _ = typed(replace(answer, solution=replace(answer.solution, findings=(stop,))), "--json")
    record = json.loads(out)
    assert (code, record["ok"], record["is_checked"], record["is_stopped"]) == (10, False, True, True)


def test_names_are_not_markup(typed):
    _, out, _, _ = typed(made_up_answer(name="[bold]Lot[/bold] [/]"))
    assert "[bold]Lot[/bold] [/], Light rear-drive" in out


def test_files_are_written(typed, tmp_path):
    paths = [tmp_path / name for name in ("a.html", "a.svg", "a.png")]
    code, _, _, _ = typed(made_up_answer(), "--report", paths[0], "--svg", paths[1], "--png", paths[2])
    assert code == 0
    assert paths[0].read_bytes().startswith(b"<!doctype html>")
    assert paths[1].read_bytes().startswith(b"<svg")
    assert paths[2].read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize(
    ("option", "name", "error"),
    [
        ("--report", "missing/a.html", "unwritable-file"),
        ("--svg", "missing/a.svg", "unwritable-file"),
        ("--png", "file/a.png", "unwritable-file"),
        ("--report", "folder.html", "unwritable-file"),
        ("--report", "report", "file-ending"),
        ("--report", "course.toml", "file-ending"),
        ("--png", "a.txt", "file-ending"),
        ("--svg", "a.png", "file-ending"),
    ],
)
def test_a_file_that_cannot_be_written_is_said_before_the_solve(typed, tmp_path, option, name, error):
    (tmp_path / "folder.html").mkdir()
    (tmp_path / "file").write_text("x", encoding="utf-8")
    before = sorted(tmp_path.rglob("*"))
    code, _, err, asked = typed(made_up_answer(), option, tmp_path / name)
    assert code == 2
    assert f"error[{error}]" in err
    assert name.rsplit("/", maxsplit=1)[-1] in err
    assert not asked
    assert sorted(tmp_path.rglob("*")) == before
