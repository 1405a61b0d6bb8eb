"""`conewise results`, as it is typed."""

from __future__ import annotations

import json

import pytest

from conewise.cli.main import run
from conewise.event.day import Entry
from conewise.event.event_file import event_text
from tests import days

RUNS = """driver,run,time,reason
ana,1,62.345,
bo,1,64.345,
bo,2,OFF,
cy,1,60.0,
ghost,1,50.0,
ana,1,62.345+1,again
"""


@pytest.fixture
def typed(capsys, tmp_path):
    """Writes a day with runs and runs a command line on it: exit code, stdout, stderr."""

    def command(*words, runs=RUNS):
        entries = tuple(
            Entry(person=key, car="pepper", number=str(n), class_code=code)
            for n, (key, code) in enumerate((("ana", "S"), ("bo", "S"), ("cy", "R")), start=1)
        )
        people = tuple(days.person(key) for key in ("ana", "bo", "cy", "ghost"))
        day = days.event_day(event=days.event(entries=entries, classes=("S", "R")), people=people)
        path = tmp_path / "spring.toml"
        path.write_text(event_text(day), encoding="utf-8")
        (tmp_path / "spring.runs.csv").write_text(runs, encoding="utf-8")
        code = run(["results", str(path), *words])
        out, err = capsys.readouterr()
        assert "Traceback" not in err + out
        return code, out, err

    return command


def test_places_ties_and_strangers_are_said(typed):
    code, out, _ = typed("--history")
    assert code == 0
    assert out.count("1=") == 2
    assert "Tied, not decided by the rules: Ana, Bo." in out
    assert "Drove without an entry, not placed: Ghost." in out
    assert "timekeeper decides" in out
    assert "again" in out
    assert "Pepper" in out  # the car by its name
    assert "pepper" not in out


def test_what_corrects_no_result_is_no_correction(typed):
    _, out, _ = typed("--history", runs="driver,run,time,reason,notes\nana,1,62.345,,\nana,1,62.345,a note,windy\n")
    assert "a note" not in out
    assert "No result was corrected." in out


def test_json(typed):
    record = json.loads(typed("--json")[1])
    assert {(row["car"], row["car_name"]) for row in record["rows"]} == {("pepper", "Pepper")}
    assert [(row["driver"], row["place"], row["total_s"]) for row in record["rows"]] == [
        ("ana", 1, 64.345),
        ("bo", 1, 64.345),
        ("cy", 1, 60.0),
    ]
    assert record["rows"][0]["is_tied"]


def test_a_wrong_row_is_named(typed):
    code, _, err = typed(runs="driver,run,time\nana,1,fast\n")
    assert code == 2
    assert "line 2, time" in err
