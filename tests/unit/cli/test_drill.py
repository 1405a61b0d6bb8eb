"""`conewise drill` from a pipe and with a drawing."""

import io
import json

import numpy as np

from conewise.cli.main import run
from conewise.course.drill import cards, shuffled, stages
from conewise.course.reference import lay_out
from tests.solved import DEMO_COURSES, demo_course

COURSE = str(DEMO_COURSES / "harbour-yard.toml")


def answers(seed, *, wrong_side=False):
    """The lines that a driver who knows the course types, for every stage."""
    rng, lines = np.random.default_rng(seed), []
    for stage in stages(cards(lay_out(demo_course("harbour-yard")))):
        table = shuffled(stage, rng)
        lines.append("".join("abcdefghijklmnop"[table.index(card)] for card in stage))
        lines += [card.side[0] for card in stage if card.side]
        if wrong_side:
            lines[1] = "l" if lines[1] == "r" else "r"
    return "\n".join(lines) + "\n"


def test_who_knows_the_course_gets_through(monkeypatch, capsys):
    monkeypatch.setattr("sys.stdin", io.StringIO(answers(4)))
    assert run(["drill", COURSE, "--seed", "4", "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["is_known"]
    assert [stage["in_order"] == stage["cards"] for stage in record["stages"]] == [True, True, True]


def test_a_wrong_side_is_named_and_the_way_told(monkeypatch, capsys):
    monkeypatch.setattr("sys.stdin", io.StringIO(answers(4, wrong_side=True)))
    assert run(["drill", COURSE, "--seed", "4"]) == 10
    said = capsys.readouterr().err
    assert "Wrong side: 2 (slalom, 6 cones)" in said
    assert "This is the way: 2 slalom, 6 cones, first cone right" in said


def test_no_answer_at_all_is_no_crash(monkeypatch, capsys):
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    assert run(["drill", COURSE]) == 10
    assert "0 of 4 in order" in capsys.readouterr().err


def test_a_drawing_is_scored(tmp_path, capsys):
    geometry = lay_out(demo_course("harbour-yard"))
    points = geometry.path.at(np.linspace(0.0, geometry.path.length, 90))
    rows = "\n".join(f"{x:.1f},{y:.1f}" for x, y in zip(points.x, points.y, strict=True))
    drawing = tmp_path / "drawn.csv"
    drawing.write_text("x,y\n" + rows)
    assert run(["drill", COURSE, "--drawing", str(drawing), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["verdict"] == "good"


def test_a_drawing_that_is_none_is_said(tmp_path, capsys):
    drawing = tmp_path / "drawn.csv"
    drawing.write_text("x,y\n1,2\nhello,world\n")
    assert run(["drill", COURSE, "--drawing", str(drawing)]) == 2
    assert "Line 3 of drawn.csv" in capsys.readouterr().err
