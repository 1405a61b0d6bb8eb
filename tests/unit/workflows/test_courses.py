"""The course workflows: what a car adds to a check."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from conewise.course.stopping import Arrival
from conewise.findings import Finding
from conewise.workflows import courses

NOTES = """\
name = "Lane"
[walk]
gate_width = "3 m"
notes = "start, straight 30 m, gate, left 180 degrees radius 6 m, gate after 30 m, finish after 30 m, stop box 200 m"
"""


@pytest.fixture
def lane(tmp_path):
    path = tmp_path / "lane.toml"
    path.write_text(NOTES, encoding="utf-8")
    return path


class Car(SimpleNamespace):
    def value(self, name):
        return vars(self)[name.rsplit(".", 1)[1]]


def solved_with(monkeypatch, car, *, speed):
    """Stands in for reading and solving a car: the car's few numbers, and one speed everywhere."""
    asked = {}

    def solve(course, given, **options):
        asked.update(course=course, car=given, **options)
        station = np.linspace(0.0, 150.0, 50)
        return SimpleNamespace(station=station, speed=np.full(50, speed))

    monkeypatch.setattr("conewise.workflows.courses.car_from", lambda _: car)
    monkeypatch.setattr("conewise.workflows.predict.solve", solve)
    monkeypatch.setattr("conewise.vehicle.derived.safety_findings", lambda _: [])
    monkeypatch.setattr("conewise.workflows.courses._arrival", lambda _geometry, _car, run: arriving(run))
    return asked


def arriving(run):
    return Arrival(speed=float(run.speed[-1]), speed_wet=float(run.speed[-1]))


def codes(checked):
    return {finding.code: finding.severity for finding in checked.findings}


SMALL = Car(width=1.7, wheelbase=2.4, ratio=15.0, lock_to_lock=3.0)


def test_without_a_car_nothing_is_solved(lane):
    found = codes(courses.check_course(lane))
    assert "gate-narrow" in found
    assert not {"gate-below-car", "turn-below-car", "speed-high"} & set(found)


def test_a_car_brings_its_speed_into_the_check(lane, monkeypatch, tmp_path):
    """62 mph is the most that the club rules allow for straights: 27.7 m/s."""
    asked = solved_with(monkeypatch, SMALL, speed=35.0)
    assert "speed-high" in codes(courses.check_course(lane, cars=[tmp_path / "car.toml"]))
    assert asked["car"] is SMALL
    assert asked["level"] == "quasi-steady"
    solved_with(monkeypatch, SMALL, speed=20.0)
    assert "speed-high" not in codes(courses.check_course(lane, cars=[tmp_path / "car.toml"]))


def test_a_gate_narrower_than_the_car_says_stop(lane, monkeypatch, tmp_path):
    solved_with(monkeypatch, Car(**vars(SMALL) | {"width": 3.2}), speed=15.0)
    checked = courses.check_course(lane, cars=[tmp_path / "car.toml"])
    assert codes(checked)["gate-below-car"] == "stop"
    assert not checked.may_run


def test_a_turn_tighter_than_the_turning_circle_says_stop(lane, monkeypatch, tmp_path):
    """Full lock of 1.5 turns through 40 : 1 is 13.5 degrees: 3 m of wheelbase turn on 12.5 m."""
    solved_with(monkeypatch, Car(width=1.7, wheelbase=3.0, ratio=40.0, lock_to_lock=3.0), speed=10.0)
    assert codes(courses.check_course(lane, cars=[tmp_path / "car.toml"]))["turn-below-car"] == "stop"
    solved_with(monkeypatch, SMALL, speed=10.0)
    assert "turn-below-car" not in codes(courses.check_course(lane, cars=[tmp_path / "car.toml"]))


def test_the_fastest_car_at_every_place_counts_and_each_says_how_near_it_is_to_rolling_over(lane, monkeypatch):
    """Of three cars the middle one is fastest; the tall one is named with its figure."""
    cars = [Car(**vars(SMALL), name=name) for name in ("slow", "fast", "tall")]
    speeds = {"slow": 12.0, "fast": 35.0, "tall": 14.0}
    solved_with(monkeypatch, SMALL, speed=0.0)
    monkeypatch.setattr("conewise.workflows.courses.car_from", lambda file: cars[int(file.stem)])
    monkeypatch.setattr(
        "conewise.workflows.predict.solve",
        lambda _course, car, **_: SimpleNamespace(station=np.linspace(0, 150, 50), speed=np.full(50, speeds[car.name])),
    )
    said = [Finding("warning", "roll-over", "The static stability factor is 1.10.", "body.cg_height")]
    monkeypatch.setattr("conewise.vehicle.derived.safety_findings", lambda car: said if car.name == "tall" else [])
    checked = courses.check_course(lane, cars=[Path(f"{i}.toml") for i in range(3)])
    assert "126 km/h" in next(f.message for f in checked.findings if f.code == "speed-high")
    assert [f.where for f in checked.findings if f.code == "roll-over"] == ["tall, body.cg_height"]


def test_a_summary_tiles_the_course(lane):
    summary = courses.summary(lane)
    ends = [row.start + row.length for row in summary.features]
    assert [row.start for row in summary.features[1:]] == pytest.approx(ends[:-1])
    assert ends[-1] == pytest.approx(summary.length)
    assert (summary.n_standing, summary.n_pointers, summary.stop) == (14, 0, "box")
