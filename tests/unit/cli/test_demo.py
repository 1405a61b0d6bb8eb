"""`conewise demo`: files that can be used, never at the cost of someone's changes."""

from __future__ import annotations

import pytest

from conewise.cars.car_file import read_car
from conewise.cars.changes_file import read_parts
from conewise.cli.main import run
from conewise.course.files import read_course
from conewise.workflows import demo
from tests.advice_fixture import made_up_advice
from tests.debriefs import made_up_debrief
from tests.reports_fixture import made_up_answer


@pytest.fixture
def asked(monkeypatch):
    """The questions that the demonstration asks; each gets a made-up answer in place of a solve."""
    questions = []

    def answer_line(question, *, progress, first):
        progress("Solving the run")
        questions.append(question)
        first(made_up_answer())
        return made_up_answer()

    def answer_debrief(question, *, progress):
        progress("Reading the recording")
        assert question.log.is_file()
        return made_up_debrief()

    def answer_advise(question, *, progress, known):
        progress("Solving every change")
        assert question.parts.is_file()
        assert list(known) == ["Made-up Lot"]  # the run that was solved first is not solved again
        return made_up_advice()

    monkeypatch.setattr(demo, "answer_line", answer_line)
    monkeypatch.setattr(demo, "answer_advise", answer_advise)
    monkeypatch.setattr(demo, "answer_debrief", answer_debrief)
    return questions


def test_every_example_can_be_read(tmp_path):
    written = demo.write_examples(tmp_path)
    courses, cars = ([path for path in written if path.parent.name == name] for name in ("courses", "cars"))
    assert len(courses) >= 2
    assert len(cars) >= 3
    for path in written:
        if path.parent.name == "parts":
            assert len(read_parts(path)) >= 5
    for path in courses:
        assert len(read_course(path).cones) >= 40
    assert {read_car(path).drive for path in cars} == {"front", "rear", "all"}


def steps_are_told(told):
    """Where nobody watches a terminal."""
    assert told[0] == "Writing the examples"
    steps = [line for line in told if " of 4: " in line]
    assert [line[0] for line in steps] == ["1", "2", "3", "4"]
    assert "first time ever some code is compiled" in steps[0]
    assert told.index(steps[0]) < told.index("Solving the run") < told.index(steps[1])


def test_it_writes_the_examples_the_answer_and_the_report(tmp_path, asked, capsys):
    into = tmp_path / "new" / "folder"
    assert run(["demo", "--into", str(into)]) == 0
    (question,) = asked
    assert question.course.is_file()
    assert question.car.is_file()
    assert (into / "report.html").read_text(encoding="utf-8").startswith("<!doctype html>")
    out, told = capsys.readouterr()
    steps_are_told(told.splitlines())
    assert "is the fastest clean run" in out
    assert f"conewise line {question.course} --car {question.car}" in out
    assert made_up_debrief().focuses[0].advice in out
    assert "not ready to run" in out
    assert "timekeeper decides" in out
    assert (into / "book").is_dir()
    assert out.index(made_up_debrief().focuses[0].advice) < out.index("Best package for 1500 EUR")
    assert f'--parts {into / demo.PARTS} --budget "{demo.BUDGET}"' in out
    assert "Did the last change work?" in out
    assert "'stiff rear bar' is" in out
    assert f"conewise debrief {into / demo.LOG} --course {question.course} --car {question.car}" in out


def test_what_is_known_is_there_when_it_is_stopped(tmp_path, asked, monkeypatch, capsys):
    def stopped(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(demo, "answer_advise", stopped)
    assert run(["demo", "--into", str(tmp_path)]) == 130
    out, err = capsys.readouterr()
    assert "is the fastest clean run" in out
    assert made_up_debrief().focuses[0].advice in out
    assert f"Report: {tmp_path / demo.REPORT}" in out
    assert err.endswith("Stopped.\n")


def test_again_changes_nothing(tmp_path, asked):
    assert demo.write_examples(tmp_path)
    assert demo.write_examples(tmp_path) == ()


def test_a_changed_example_stays_unless_forced(tmp_path, asked, capsys):
    demo.write_examples(tmp_path)
    mine = tmp_path / demo.CAR
    mine.write_text("# my car\n", encoding="utf-8")
    (tmp_path / demo.COURSE).unlink()
    assert run(["demo", "--into", str(tmp_path)]) == 4
    err = capsys.readouterr().err
    assert "error[demo-file-changed]" in err
    assert mine.name in err
    assert mine.read_text(encoding="utf-8") == "# my car\n"
    assert not (tmp_path / demo.COURSE).exists()
    assert not asked
    assert run(["demo", "--into", str(tmp_path), "--force"]) == 0
    assert mine.read_text(encoding="utf-8") != "# my car\n"


def test_a_report_that_cannot_be_written_is_said_before_the_solve(tmp_path, asked, capsys):
    (tmp_path / demo.REPORT).mkdir()
    assert run(["demo", "--into", str(tmp_path)]) == 2
    assert "error[unwritable-file]" in capsys.readouterr().err
    assert not asked


def test_a_folder_that_cannot_be_made_is_said(tmp_path, asked, capsys):
    blocked = tmp_path / "file"
    blocked.write_text("x", encoding="utf-8")
    assert run(["demo", "--into", str(blocked)]) == 2
    assert "error[unwritable-file]" in capsys.readouterr().err
