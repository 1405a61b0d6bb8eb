"""The answer as JSON, without private fields; and the sheet of the inspection."""

from __future__ import annotations

import json
from pathlib import Path

from conewise.workflows.events import LoadedDay
from conewise.workflows.ready import answer_ready, inspection_sheet, ready_record
from tests import days


def loaded(**facts):
    return LoadedDay(
        day=days.event_day(**facts),
        rules=days.CLUB,
        file=Path("x.toml"),
        runs_file=Path("x.runs.csv"),
    )


def test_the_record_says_ready_and_what_is_open():
    record = ready_record(answer_ready(loaded(people=(days.person(medical="asthma", licence=None),))))
    assert (record["ok"], record["ready"], record["n_blocking"]) == (False, False, 1)
    (driver,) = record["drivers"]
    assert [item["code"] for item in driver["open_items"]] == ["driver-licence"]
    assert all(item["reason"] for item in driver["open_items"])
    assert "decide" in record["caution"]


def test_no_private_field_is_in_it():
    text = json.dumps(ready_record(answer_ready(loaded(people=(days.person(medical="asthma"),)))))
    assert "asthma" not in text
    assert "555" not in text


def test_the_sheet_has_every_item_with_what_was_seen():
    rows = inspection_sheet(days.car(), days.event_day(checks=days.checks(days.car(), but={"seat"})), days.CLUB)
    assert {row["item"]: row["result"] for row in rows}["seat"] == ""
    assert all(row["result"] == "passed" for row in rows if row["item"] != "seat")
    assert all(row["looked_by"] == "Bo" for row in rows if row["result"])
