"""The examples of the page on event files belong together."""

from __future__ import annotations

import re
from pathlib import Path

from conewise.event.day import EventDay, Schedule
from conewise.event.event_file import event_day
from conewise.event.rules import load_event_rules
from conewise.event.runs_file import COLUMNS, read_run_table
from conewise.event.tables import dimension_of
from conewise.readiness.judge import judge_day
from conewise.records import Record

PAGE = (Path(__file__).resolve().parents[3] / "docs" / "formats-event.md").read_text(encoding="utf-8")


def block(head):
    return re.search(rf"^```{head}\n(.*?)^```$", PAGE, flags=re.MULTILINE | re.DOTALL)[1]


DAY = event_day(block("toml event"), file="spring.toml")


def test_the_table_of_runs_belongs_to_the_event():
    table = read_run_table(block("csv").encode(), DAY, file="spring.runs.csv")
    assert [(run.person, run.order, run.written) for run in table.runs] == [
        ("ana", 1, "62.345+1"),
        ("ana", 2, "61.900 (1)"),
        ("kid", 1, "DNF"),
        ("kid", 2, "71.2 re-run"),
    ]
    assert len(table.corrections) == 1


def test_the_example_is_judged():
    found = judge_day(DAY, load_event_rules("club"))
    assert not found.ready
    assert found.drivers[0].ready
    assert found.helmets[0].ready


def records(kind, seen):
    """A record and every record within it."""
    if kind in seen:
        return
    seen.add(kind)
    for info in kind.model_fields.values():
        pending = [info.annotation]
        while pending:
            part = pending.pop()
            pending += getattr(part, "__args__", ())
            if isinstance(part, type) and issubclass(part, Record):
                records(part, seen)


def test_every_field_is_on_the_page():
    seen = set()
    records(EventDay, seen)
    computed = {"Run", "FeatureLoss", "EventDay"}
    names = {
        name
        for kind in seen
        if kind.__name__ not in computed
        for name in kind.model_fields
        if name not in {"id", "event"}
    }
    assert {"tread", "waiver_signed", "course_length"} <= names
    assert not sorted(name for name in {*names, *COLUMNS} if not re.search(rf"\b{name}\b", PAGE.replace("```", "")))


def test_durations_are_written_with_a_unit():
    assert all(dimension_of(Schedule.model_fields[name]) == "time" for name in ("interval", "lunch_time"))
