"""Runs are added without losing what is there; results go into JSON with their units."""

from __future__ import annotations

import pytest

from conewise.errors import ConewiseError
from conewise.event.event_file import event_text
from conewise.rule_set import rule_text
from conewise.workflows.events import class_indexes, load_day
from conewise.workflows.results import answer_results, results_record
from conewise.workflows.run_entry import RunEntry, add_run
from tests import days
from tests.days import SOURCE


@pytest.fixture
def spring(tmp_path):
    path = tmp_path / "spring.toml"
    path.write_text(event_text(days.event_day()), encoding="utf-8")
    return path


def add(path, time, **facts):
    return add_run(load_day(path, source=SOURCE), RunEntry(**({"driver": "ana", "time": time} | facts)))


def table(path):
    return path.with_suffix(".runs.csv").read_text(encoding="utf-8").splitlines()


def test_runs_get_the_next_number(spring):
    assert [add(spring, time).run.order for time in ("62.345+1", "61345", "DNF")] == [1, 2, 3]
    assert [line.split(",")[2] for line in table(spring)] == ["time", "62.345+1", "61345", "DNF"]
    assert add(spring, "60.5").row.place == 1


def test_a_correction_stays_beside_what_it_corrects(spring):
    add(spring, "62.345", notes="first, of the day", passenger="")
    corrected = add(spring, "62.345+1", number=1, reason="cone seen late")
    assert corrected.before.cones == 0
    assert corrected.total == 64.345
    assert corrected.run.notes == "first, of the day"
    assert len(table(spring)) == 3
    (correction,) = load_day(spring, source=SOURCE).corrections
    assert correction.reason == "cone seen late"


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"time": "62"}, "time-form"),
        ({"time": "-62.3"}, "time-form"),
        ({"driver": "ghost"}, "person-unknown"),
        ({"car": "ghost"}, "runs-file"),
        ({"number": 1}, "run-there"),
        ({"number": 9}, "run-odd"),
        ({"time": "61.0+99"}, "run-odd"),
        ({"number": 7, "reason": "why"}, "runs-file"),
        ({"passenger": "ana"}, "runs-file"),
    ],
)
def test_what_is_refused_leaves_the_table_as_it_was(spring, facts, code):
    add(spring, "62.345")
    before = table(spring)
    with pytest.raises(ConewiseError) as refused:
        add(spring, **({"time": "61.0"} | facts))
    assert refused.value.code == code
    assert table(spring) == before


def test_a_table_by_hand_is_added_to_in_its_own_columns(spring):
    file = spring.with_suffix(".runs.csv")
    file.write_bytes("\ufeffdriver;run;time;car\r\nana;1;62,345;pepper".encode())
    assert add(spring, "61,5").run.order == 2
    assert [run.raw_time for run in load_day(spring, source=SOURCE).day.runs] == [62.345, 61.5]


def test_results_in_json_carry_their_units(spring):
    add(spring, "62.345+1")
    loaded = load_day(spring, source=SOURCE)
    record = results_record(answer_results(loaded), loaded.corrections)
    (row,) = record["rows"]
    assert (row["raw_time_s"], row["cones"], row["total_s"], row["place"]) == (62.345, 1, 64.345, 1)
    assert record["who_decides"].endswith("timekeeper decides.")


def test_indexes_are_those_of_the_rule_set(tmp_path):
    path = tmp_path / "ours.toml"
    path.write_text('[[class]]\ncode = "S"\nindex = 0.8\n[[class]]\ncode = "R"\nallows = "all"\n', encoding="utf-8")
    assert class_indexes(rule_text(str(path))) == {"S": 0.8, "R": 1.0}
    assert class_indexes(rule_text("club")) == {}
