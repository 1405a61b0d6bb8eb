"""The course workflows: what a car adds to a check."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from conewise.course.stopping import Arrival
from conewise.findings import Finding
from conewise.reports.sentences import check_sentence
from conewise.solver.corridor_problem import NoRoomError
from conewise.solver.problem import SolverStoppedError
from conewise.workflows import courses
from conewise.workflows.line import LineQuestion, asked, solved_answer
from tests.cars import DEMO
from tests.solved import DEMO_COURSES

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


def of_demo(tmp_path, length):
    """The demo course with another stop box."""
    text = (DEMO_COURSES / "harbour-yard.toml").read_text(encoding="utf-8")
    path = tmp_path / "cut.toml"
    path.write_text(text.replace("length = 72.0", f"length = {length:g}"), encoding="utf-8")
    return path


@pytest.mark.parametrize(("length", "said"), [(30.0, ("stop", "stop-short")), (72.0, ("warning", "stop-short-wet"))])
def test_line_and_check_say_the_same_of_the_stop_area(tmp_path, length, said):
    course, car = of_demo(tmp_path, length), DEMO / "marigold.toml"
    checked = courses.check_course(course, cars=[car])
    question = LineQuestion(course=course, car=car, level="quasi-steady", pace=1.0)
    _, _, solves = asked(question, progress=lambda _words: None)
    answer = solved_answer(solves, solves.best())
    told = [[f for f in found if f.code.startswith("stop-")] for found in (checked.findings, answer.solution.findings)]
    assert [[(f.severity, f.code, f.where) for f in found] for found in told] == [[(*said, "finish")]] * 2
    assert told[0][0].message == told[1][0].message
    assert (checked.may_run, answer.exit_code) == ((True, 0) if said[0] == "warning" else (False, 10))


def test_a_stop_area_that_is_too_short_for_a_quick_car_warns_where_no_car_is_named(tmp_path):
    checked = courses.check_course(of_demo(tmp_path, 30.0))
    found = next(f for f in checked.findings if f.code == "stop-short")
    assert (found.severity, checked.may_run) == ("warning", True)
    assert "estimated for a quick car" in found.message


def test_a_solver_that_stops_is_no_fault_of_the_course(lane, monkeypatch, tmp_path):
    solved_with(monkeypatch, Car(**vars(SMALL), name="Small"), speed=15.0)

    def stopped(*_told, **_more):
        raise SolverStoppedError("for a test", feature="gate 1", station=3.0, violation=1.0, iterations=1)

    monkeypatch.setattr("conewise.workflows.predict.solve", stopped)
    checked = courses.check_course(lane, cars=[tmp_path / "car.toml"])
    found = next(one for one in checked.findings if one.code == "solver-stopped")
    assert (found.severity, checked.may_run) == ("warning", True)
    assert "Speeds are not judged with Small" in found.message


def test_a_car_that_does_not_fit_leaves_the_other_findings(lane, monkeypatch, tmp_path):
    solved_with(monkeypatch, Car(**vars(SMALL) | {"width": 3.2}, name="Wide"), speed=15.0)

    def stuck(*_told, **_more):
        raise NoRoomError("gate 1", 0.88)

    monkeypatch.setattr("conewise.workflows.predict.solve", stuck)
    checked = courses.check_course(lane, cars=[tmp_path / "car.toml"])
    found = codes(checked)
    assert (found["no-room"], found["gate-below-car"]) == ("stop", "stop")
    assert "gate-narrow" in found
    words = next(f for f in checked.findings if f.code == "no-room")
    assert "0.88 m are lacking. That counts 0.10 m to either side" in words.message
    assert words.where == "gate 1"


def test_a_line_through_what_no_car_passes_says_stop(tmp_path):
    path = tmp_path / "spikes.toml"
    notes = "start\nslalom 5 cones every 4 m first to your left after 20 m\nfinish after 30 m\nstop box 90 m"
    path.write_text(f'name = "Spikes"\n[walk]\nnotes = """\n{notes}\n"""\n', encoding="utf-8")
    question = LineQuestion(course=path, car=DEMO / "marigold.toml", level="quasi-steady")
    _, _, solves = asked(question, progress=lambda _words: None)
    answer = solved_answer(solves, solves.best())
    found = {f.code: f for f in answer.solution.findings}
    assert found["slalom-below-car"].where == "feature 'slalom 1', cones 1 and 2"
    assert (found["slalom-below-car"].severity, answer.exit_code) == ("stop", 10)
    assert "a finding says stop" in check_sentence(answer)
