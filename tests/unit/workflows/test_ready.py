"""The answer as JSON, without private fields; and the sheet of the inspection."""

from __future__ import annotations

import json
from pathlib import Path

from conewise.event.cars import CarChange
from conewise.readiness.judge import judged_car
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
    assert [row["item"] for row in rows if row["open"]] == ["seat"]


def test_the_sheet_has_as_much_open_as_the_answer():
    """Passed, and open again since an off with contact; a roof that is not written down stands at the end."""
    car = days.car(body="open", roll_protection="unknown")
    contact = CarChange(id="off", car=car.id, kind="contact", happened_at=days.moment(11), note="left front wheel")
    day = days.event_day(cars=(car,), checks=days.checks(car), changes=(contact,))
    judged = judged_car(car.id, day, days.CLUB)
    rows = inspection_sheet(car, day, days.CLUB)
    still_open = [row for row in rows if row["open"]]
    assert len(still_open) == sum(item.blocks for item in judged.open_items) > 2
    assert any(row["result"] == "passed" and "Open again" in row["open"] for row in still_open)
    assert rows[-1]["item"] == "car-roll-protection"
