"""An event day from its files: runs beside it, rules beside it, an electric car by its own file."""

from __future__ import annotations

import pytest

from conewise.errors import ConewiseError
from conewise.event.event_file import event_text
from conewise.workflows.events import load_day
from tests import days
from tests.cars import DEMO
from tests.days import SOURCE


@pytest.fixture
def spring(tmp_path):
    path = tmp_path / "spring.toml"
    path.write_text(event_text(days.event_day()), encoding="utf-8")
    return path


def test_runs_beside_the_event_are_read(spring):
    assert load_day(spring, source=SOURCE).day.runs == ()
    spring.with_suffix(".runs.csv").write_text("driver,run,time\nana,1,62.345\n", encoding="utf-8")
    loaded = load_day(spring, source=SOURCE)
    assert [run.raw_time for run in loaded.day.runs] == [62.345]
    assert loaded.runs_file.name == "spring.runs.csv"


def test_a_table_that_is_asked_for_must_be_there(spring, tmp_path):
    with pytest.raises(ConewiseError, match="no table of runs"):
        load_day(spring, source=SOURCE, runs=tmp_path / "none.csv")


def test_a_rule_file_is_looked_for_beside_the_event(tmp_path):
    (tmp_path / "ours.toml").write_text('[penalty]\ncone = "1 s"\n', encoding="utf-8")
    path = tmp_path / "spring.toml"
    path.write_text(event_text(days.event_day(event=days.event(rules="ours.toml"))), encoding="utf-8")
    assert load_day(path, source=SOURCE).rules.penalty.cone == 1.0
    assert load_day(path, source=SOURCE, rules="student").rules.penalty.off_course == 20.0


def test_a_battery_car_is_inspected_as_one(tmp_path):
    source = (DEMO / "pepper.toml").read_text(encoding="utf-8")
    (tmp_path / "volt.toml").write_text('name = "Volt"\nkind = "electric"\n', encoding="utf-8")
    (tmp_path / "pepper.toml").write_text(source, encoding="utf-8")
    for file, energy in (("volt.toml", "electric"), ("pepper.toml", "fuel")):
        path = tmp_path / "day.toml"
        path.write_text(event_text(days.event_day(cars=(days.car(car_file=file),))), encoding="utf-8")
        assert load_day(path, source=SOURCE).day.cars[0].energy == energy
