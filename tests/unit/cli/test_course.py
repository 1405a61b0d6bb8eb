"""`conewise course`, as it is typed."""

from __future__ import annotations

import io
import json
import sys
import xml.etree.ElementTree as ET

import pytest

from conewise.cli.main import run
from conewise.course.files import read_course
from conewise.course.questions import QUESTIONS
from tests.solved import DEMO_COURSES


@pytest.fixture
def typed(monkeypatch, capsys):
    """Runs a command line with answers on its input: exit code, stdout, stderr."""

    def command(*words, answers=""):
        monkeypatch.setattr(sys, "stdin", io.StringIO(answers))
        code = run(["course", *map(str, words)])
        out, err = capsys.readouterr()
        assert "Traceback" not in err + out
        return code, out, err

    return command


@pytest.fixture
def lot(tmp_path, typed):
    path = tmp_path / "lot.toml"
    assert typed("new", path)[0] == 0
    return path


POLE = """\
name = "Pole"
[[site.obstacle]]
id = "light pole"
kind = "pole"
centre = [30, 1]
radius = 0.2
[walk]
notes = "start, straight 60 m, finish, stop box 60 m"
"""
BACKWARDS = """\
name = "Odd"
[cones]
a = [0, 3]
b = [0, -3]
c = [0.05, 0]
[[feature]]
kind = "start"
left = "a"
right = "b"
[[feature]]
kind = "gate"
left = "c"
right = "c"
[[feature]]
kind = "finish"
left = "b"
right = "a"
"""
ONE_GATE = """\
name = "x"
[cones]
a = [0, 1]
b = [0, -1]
[[feature]]
kind = "gate"
left = "a"
right = "b"
"""


def test_new_asks_every_question_and_writes_what_can_be_checked(tmp_path, typed):
    path = tmp_path / "lot.toml"
    code, out, err = typed("new", path, answers="Evening\n600 ft\ndo not know\n\n\nright\n\n\n")
    assert code == 0
    assert str(path) in out
    assert all(question.text in err for question in QUESTIONS)
    assert read_course(path).name == "Evening"
    code, out, _ = typed("check", path)
    assert code == 0
    assert "Nothing found that says stop" in out
    assert "officials" in out


def test_new_never_replaces_a_file_unless_said(lot, typed):
    before = lot.read_text(encoding="utf-8")
    code, _, err = typed("new", lot, answers="Other\n")
    assert code == 4
    assert "already there" in err
    assert QUESTIONS[0].text not in err  # told before the first question
    assert lot.read_text(encoding="utf-8") == before
    assert typed("new", lot, "--force", answers="Other\n")[0] == 0
    assert read_course(lot).name == "Other"


def test_new_says_what_an_answer_looks_like(tmp_path, typed):
    path = tmp_path / "lot.toml"
    code, _, err = typed("new", path, answers="x\n60 psi\n")
    assert code == 2
    assert '"60 psi"' in err
    assert "a length from" in err
    assert not path.exists()


def test_new_as_json(tmp_path, typed):
    code, out, _ = typed("new", tmp_path / "lot.toml", "--json")
    assert code == 0
    assert json.loads(out)["features"][0]["kind"] == "start"


def test_check_says_no_with_exit_code_10(tmp_path, typed):
    path = tmp_path / "pole.toml"
    path.write_text(POLE, encoding="utf-8")
    code, out, _ = typed("check", path)
    assert code == 10
    assert "stop" in out
    code, out, _ = typed("check", path, "--json")
    assert code == 10
    record = json.loads(out)
    assert record["ok"] is False
    assert {"stop"} <= {finding["severity"] for finding in record["findings"]}
    assert all(finding["where"] and finding["message"] for finding in record["findings"])


def test_check_takes_another_rule_set(lot, typed):
    code, out, _ = typed("check", lot, "--rules", "student", "--json")
    assert code == 0
    assert json.loads(out)["rules"] == "student"
    assert "slalom-wide" in {finding["code"] for finding in json.loads(out)["findings"]}
    code, _, err = typed("check", lot, "--rules", "house")
    assert code == 3
    assert "house" in err


def test_show_lists_the_features_in_driving_order(lot, typed):
    code, out, _ = typed("show", lot)
    assert code == 0
    places = [out.index(word) for word in ("start,", "slalom of", "hairpin of", "finish,")]
    assert places == sorted(places)
    assert "18.0 m apart" in out
    assert "59.1 ft apart" in typed("show", lot, "--units", "us")[1]


def test_show_as_json_has_units_in_its_keys(lot, typed):
    record = json.loads(typed("show", lot, "--json", "--units", "us")[1])
    assert 150.0 < record["length_m"] < 300.0
    assert [row["number"] for row in record["features"]] == list(range(1, len(record["features"]) + 1))
    assert record["features"][1]["start_m"] > 0.0
    ends = [row["start_m"] + row["length_m"] for row in record["features"]]
    assert ends[-1] == pytest.approx(record["length_m"])


def test_show_draws_the_plan_and_draws_it_again(lot, typed, tmp_path):
    for _ in range(2):
        assert typed("show", lot, "--svg", tmp_path / "plan.svg")[0] == 0
    assert ET.parse(tmp_path / "plan.svg").getroot().tag.endswith("svg")


def test_show_never_draws_over_a_course(lot, typed):
    before = lot.read_bytes()
    code, _, err = typed("show", lot, "--svg", lot)
    assert code == 2
    assert ".svg" in err
    assert lot.read_bytes() == before


def test_show_a_course_without_a_path(tmp_path, typed):
    """A gate passed backwards straight after the start: what can be told is told."""
    path = tmp_path / "odd.toml"
    path.write_text(BACKWARDS, encoding="utf-8")
    code, out, _ = typed("show", path, "--svg", tmp_path / "odd.svg")
    assert code == 0
    assert "Odd" in out
    assert typed("check", path)[0] == 10


def test_convert_says_what_is_left_out(lot, typed, tmp_path):
    code, out, _ = typed("convert", lot, tmp_path / "lot.csv")
    assert code == 0
    assert "cannot hold: name, stop area, site outline" in out
    code, out, _ = typed("convert", lot, tmp_path / "again.toml", "--json")
    assert json.loads(out) == {"written": str(tmp_path / "again.toml"), "left_out": []}
    assert read_course(tmp_path / "again.toml").features == read_course(lot).features
    assert read_course(tmp_path / "lot.csv").features == read_course(lot).features
    assert typed("convert", lot, tmp_path / "lot.csv")[0] == 4
    assert typed("convert", lot, tmp_path / "lot.csv", "--force")[0] == 0


def test_convert_to_geojson_needs_an_anchor(lot, typed, tmp_path):
    code, _, err = typed("convert", lot, tmp_path / "lot.geojson")
    assert code == 2
    assert "anchor = { latitude" in err
    lot.write_text(lot.read_text(encoding="utf-8").replace("# anchor", "anchor"), encoding="utf-8")
    assert typed("convert", lot, tmp_path / "lot.geojson")[0] == 0
    assert typed("show", tmp_path / "lot.geojson")[0] == 0


@pytest.mark.parametrize("name", ["lot.pdf", "lot.gpx", "lot"])
def test_convert_lists_what_can_be_written(lot, typed, tmp_path, name):
    code, _, err = typed("convert", lot, tmp_path / name)
    assert code == 2
    assert all(ending in err for ending in (".toml", ".geojson", ".csv", "--svg"))
    assert "gpx" not in err.split("hint:")[1]
    assert not (tmp_path / name).exists()


@pytest.mark.parametrize("command", ["check", "show"])
@pytest.mark.parametrize(
    ("name", "content", "code"),
    [
        ("empty.toml", b"", 2),
        ("photo.toml", b"\xff\xd8\xff\xe0\x00\x10JFIF\x00\x01", 2),
        ("one.toml", ONE_GATE.encode(), 2),
        ("missing.toml", None, 3),
        ("course.txt", b"x", 2),
    ],
)  # fmt: skip
def test_bad_files_end_in_a_sentence(tmp_path, typed, command, name, content, code):
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    got, out, err = typed(command, path)
    assert got == code
    assert "error[" in err
    assert "hint:" in err
    got, out, _ = typed(command, path, "--json")
    assert got == code
    record = json.loads(out)
    assert record["ok"] is False
    assert set(record) == {"ok", "code", "message", "where", "hint"}


def test_the_note_for_the_safety_official_is_written(tmp_path, capsys):
    course = (
        DEMO_COURSES / "harbour-yard.toml"
    )  # its 72 m are too short for a quick car, which is meant where none is named
    assert run(["course", "check", str(course), "--note", str(tmp_path / "note.pdf"), "--paper", "letter"]) == 0
    assert (tmp_path / "note.pdf").read_bytes().startswith(b"%PDF-")
    assert run(["course", "check", str(course), "--note", str(tmp_path / "note.txt")]) == 2
    assert ".pdf" in capsys.readouterr().err


def test_notes_are_typed_and_walked_again(typed, tmp_path):
    path = tmp_path / "lot.toml"
    notes = "start\nslalom 4 cones every 24 paces first to your left after 30 paces\nfinish after 30 paces\n\n"
    code, out, _ = typed("walk", path, "--pace", "0.75 m", answers=notes)
    assert code == 0
    assert "3 features" in out
    assert typed("walk", path, "--pace", "0.75 m", answers=notes)[0] == 4  # it is there already
    code, out, _ = typed("walk", path, "--pace", "0.76 m", "--again", "--json", answers=notes)
    assert (code, len(json.loads(out)["features"])) == (0, 3)
    code, _, err = typed("walk", tmp_path / "new.toml", answers="start\nhop 3 m\n")
    assert code == 2
    assert "hop 3 m" in err
    assert not (tmp_path / "new.toml").exists()


def test_names_of_the_book_do_for_files(capsys, tmp_path, monkeypatch):
    """From another folder, by name: course, car and rules; a wrong name says what is near."""
    monkeypatch.setenv("CONEWISE_BOOK", str(tmp_path / "book"))
    monkeypatch.chdir(tmp_path)
    course = DEMO_COURSES / "harbour-yard.toml"
    demo = DEMO_COURSES.parent
    files = (course, demo / "cars" / "pepper.toml", demo / "rules" / "three-valleys.toml")
    assert run(["book", "add", *map(str, files)]) == 0
    capsys.readouterr()
    assert run(["course", "check", "harbour-yard", "--rules", "three-valleys", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["rules"] == "three-valleys"
    assert run(["course", "show", "harbour-yard"]) == 0
    assert run(["car", "show", "pepper"]) == 0
    assert run(["course", "convert", "harbour-yard", "y.csv"]) == 0
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))
    assert run(["drill", "harbour-yard", "--last"]) == 10
    capsys.readouterr()
    assert run(["course", "show", "harbor-yard", "--json"]) == 3
    assert "harbour-yard" in json.loads(capsys.readouterr().out)["hint"]


def test_a_feature_is_shown_at_its_first_cone(capsys):
    """The first of the slalom's cones stands 22 m from the start line, at [66, 22] against [44, 22]."""
    assert run(["course", "show", str(DEMO_COURSES / "harbour-yard.toml"), "--json"]) == 0
    row = json.loads(capsys.readouterr().out)["features"][1]
    assert (row["id"], round(row["at_m"])) == ("slalom 1", 22)
    assert row["start_m"] < 15.0
    assert run(["course", "show", str(DEMO_COURSES / "harbour-yard.toml"), "--units", "us"]) == 0
    shown = next(line for line in capsys.readouterr().out.splitlines() if "slalom 1" in line)
    assert shown.split()[:4] == ["2", "slalom", "1", "73"]
