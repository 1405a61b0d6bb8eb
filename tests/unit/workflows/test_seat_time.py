"""Seat time: when it comes first, and what debriefs say of it."""

from __future__ import annotations

import json

import numpy as np
import pytest

from conewise.advisor.advice import FEW_RUNS
from conewise.advisor.rows import Effect, Option, Row
from conewise.cars.driver import typical_driver
from conewise.workflows.seat_time import (
    DebriefFileError,
    DebriefFileMissingError,
    RunsError,
    debriefed_row,
    read_debrief,
    reason_first,
)

BASE = {"lot": 40.0, "apron": 60.0}
RECORD = {
    "course": "lot",
    "gap_s": 3.0,
    "focus": {"seconds": 1.0, "chance": 0.8},
    "also_seen": [{"seconds": 0.5, "chance": 0.4}],
}
TYPICAL = Row(
    option=Option(name="seat time: as quick as a typical expert driver", kind="driver"),
    effects=(Effect(course="lot", linear=1.0, gain=1.0),),
)


@pytest.fixture
def debrief(tmp_path):
    def read(record):
        path = tmp_path / "debrief.json"
        path.write_text(record if isinstance(record, str) else json.dumps(record), encoding="utf-8")
        return read_debrief(path)

    return read


def test_few_runs_put_seat_time_first_with_the_reason():
    expert, novice = typical_driver("expert"), typical_driver("novice")
    assert reason_first(expert, FEW_RUNS) == ""
    assert reason_first(expert, None) == ""
    assert reason_first(expert, 12).startswith("12 runs in this car so far. Seat time and safety items come first")
    assert reason_first(expert, 1).startswith("1 run in")
    assert "nobody said how many runs" in reason_first(novice, None)
    assert reason_first(novice, 200) == ""
    with pytest.raises(RunsError):
        reason_first(expert, -1)


def test_the_expected_seconds_are_those_of_the_causes_with_their_chances(debrief):
    row = debriefed_row(TYPICAL, [debrief(RECORD)], BASE)
    assert row.gain == pytest.approx(0.8 * 1.0 + 0.4 * 0.5, abs=0.03)  # 2000 draws: a standard error of 0.011 s
    assert [effect.course for effect in row.effects] == ["lot"]
    assert "3.00 s" in row.note
    low, high = row.interval
    assert low < row.gain < high


def test_causes_never_cost_more_than_the_gap(debrief):
    row = debriefed_row(TYPICAL, [debrief(RECORD | {"gap_s": 0.7})], BASE)
    assert float(np.max(row.effects[0].draws + row.gain)) <= 0.7 + 1e-12


def test_a_debrief_of_another_course_says_nothing(debrief):
    assert debriefed_row(TYPICAL, [debrief(RECORD | {"course": "elsewhere"})], BASE) is None


def test_a_cause_from_times_alone_has_no_chance_and_counts_whole(debrief):
    told = debrief({"course": "lot", "gap_s": 2.0, "focus": {"seconds": 0.6}, "also_seen": []})
    assert told.causes == ((0.6, 1.0),)
    assert debrief(RECORD | {"focus": None, "also_seen": []}).causes == ()


@pytest.mark.parametrize(
    "record",
    ["no json", "[1]", "{}", {"course": "lot"}, RECORD | {"gap_s": "3"}, RECORD | {"focus": {"chance": 1}},
     RECORD | {"focus": {"seconds": 1.0, "chance": 2.0}}, RECORD | {"focus": 3}, RECORD | {"course": 7}],
)  # fmt: skip
def test_what_is_no_debrief_is_said(debrief, record):
    with pytest.raises(DebriefFileError):
        debrief(record)


def test_a_missing_debrief_is_said(tmp_path):
    with pytest.raises(DebriefFileMissingError):
        read_debrief(tmp_path / "none.json")
