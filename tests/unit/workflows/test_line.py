"""What `line` asks of the solver, with a made-up solve: surfaces, paces, drivers, what is gathered."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import conewise.demo
from conewise.cars.toml_file import CarFileMissingError
from conewise.course.files import CourseFileMissingError
from conewise.course.passes import NoPathError
from conewise.solver.problem import SolverStoppedError
from conewise.workflows import line, predict
from tests.reports_fixture import fallback_answer, made_up_answer

DEMO = Path(conewise.demo.__file__).parent
COURSE, CAR = DEMO / "courses" / "harbour-yard.toml", DEMO / "cars" / "marigold.toml"
SHIFTED = made_up_answer().solution
ONE_GEAR = replace(SHIFTED, gear=np.full_like(SHIFTED.gear, 2))
SIDES = {"left": 0.0, "right": 0.4}  # what each side of the open slalom costs [s]


class Solver:
    """Made-up runs: the time goes with one over the root of the friction used; what cannot be solved stops."""

    def __init__(self):
        self.calls, self.fallbacks = [], []
        self.run = SHIFTED
        self.stops = lambda _asked: False
        self.fails = lambda _asked: False
        self.held = -0.2  # what holding the gear costs [s]

    def __call__(self, _course, _car, **asked):
        self.calls.append(asked)
        if self.stops(asked):
            if asked.get("fallback"):
                return fallback_answer().solution
            raise SolverStoppedError("Infeasible", feature="hairpin 1", station=90.0, violation=0.1, iterations=99)
        time = self.run.time / (asked["pace"] * asked["surface"]) ** 0.5
        time += sum(SIDES[side] for side in asked["choices"].values())
        if asked.get("settings") is not None:
            time += self.held
        if "progress" in asked:
            asked["progress"]("first line", time)
        first, *others = self.run.checks
        checks = (replace(first, ok=not self.fails(asked)), *others)
        return replace(self.run, time=time, choices=asked["choices"], checks=checks)

    def fallback_run(self, _course, _car, sides, **_asked):
        self.fallbacks.append([choices for choices, _ in sides.stopped])
        return replace(fallback_answer().solution, choices=sides.stopped[0][0])


@pytest.fixture
def solver(monkeypatch):
    made_up = Solver()
    monkeypatch.setattr(predict, "fastest_run", made_up)
    monkeypatch.setattr(predict, "fallback_run", made_up.fallback_run)
    return made_up


def asked(**changes):
    said = []
    question = line.LineQuestion(**{"course": COURSE, "car": CAR} | changes)
    return line.answer_line(question, progress=said.append), said


def test_every_solve_knows_driver_and_level(solver):
    asked(driver="novice", level="quasi-steady")
    assert {call["level"] for call in solver.calls} == {"quasi-steady"}
    assert {call["driver"].level for call in solver.calls} == {"novice"}


def test_the_pace_is_the_driver_s_own_unless_told(solver):
    """Typical friction shares of novice and expert: 0.80 and 0.97, common practice, no source."""
    assert asked(driver="novice")[0].pace == 0.80
    assert asked(driver="expert")[0].pace == 0.97
    assert asked(driver="novice", pace=0.9)[0].pace == 0.9


def test_both_sides_of_an_open_feature_are_solved_and_the_fastest_is_the_answer(solver):
    answer, said = asked()
    assert [(choice.side, choice.is_best) for choice in answer.sides] == [("left", True), ("right", False)]
    assert answer.sides[1].time - answer.sides[0].time == pytest.approx(0.4)
    assert answer.solution.choices == {"slalom 2": "left"}
    assert any("slalom 2, first cone on your left" in words for words in said)
    assert any("first line" in words for words in said)


def test_a_side_without_a_run_is_left_out(solver):
    solver.stops = lambda call: call["choices"] == {"slalom 2": "left"}
    answer, _ = asked()
    assert answer.sides == ()
    assert answer.solution.choices == {"slalom 2": "right"}
    assert [f.message for f in answer.solution.findings if f.code == "side-unsolved"] == [
        "The run with slalom 2, first cone on your right could not be solved: the answer is the fastest of the others."
    ]


def test_hold_and_shift_are_compared_by_time(solver):
    answer, _ = asked()
    best = {choice.label: choice.is_best for choice in answer.gears}
    assert best == {"shift": False, "hold 2nd": True, "shift, 1st in slow corners": False}
    assert answer.solution.time == min(choice.time for choice in answer.gears)
    solver.held = 0.2
    answer, _ = asked()
    assert {choice.label: choice.is_best for choice in answer.gears if choice.is_best} == {"shift": True}


def test_the_faster_use_of_the_gears_is_kept_at_every_pace(solver):
    asked()
    paces = [call for call in solver.calls if call["pace"] != 0.97]
    assert {call["settings"].hold for call in paces} == {2}


def test_a_run_in_one_gear_has_nothing_to_compare(solver):
    solver.run = ONE_GEAR
    assert asked()[0].gears == ()


def test_a_held_gear_without_a_run_is_said(solver):
    solver.stops = lambda call: call.get("settings") is not None
    answer, _ = asked()
    assert answer.gears == ()
    assert [finding.code for finding in answer.solution.findings][-2:] == ["hold-unsolved", "hold-unsolved"]


def test_a_held_gear_that_failed_a_check_never_stands_for_one_that_passed(solver):
    solver.fails = lambda call: call.get("settings") is not None and call["settings"].hold == 2
    answer, _ = asked()
    assert [choice.label for choice in answer.gears] == ["shift", "shift, 1st in slow corners"]
    assert answer.solution.is_checked
    messages = [finding.message for finding in answer.solution.findings if finding.code == "hold-unsolved"]
    assert messages == ["The run with 'hold 2nd' failed a check and is left out of the comparison."]


def test_the_build_up_has_every_pace_once_and_gets_faster(solver):
    answer, _ = asked(pace=0.9)
    assert [row.pace for row in answer.build_up] == [0.7, 0.8, 0.9, 0.95, 1.0]
    times = [row.time for row in answer.build_up]
    assert times == sorted(times, reverse=True)
    assert times[2] == answer.solution.time
    assert {key.feature for key in answer.build_up[0].speeds} == {
        f.id for f in SHIFTED.features if f.kind not in {"start", "finish"}
    }


def test_every_pace_is_solved_from_its_neighbour(solver):
    asked(pace=0.9)
    chain = [(call["pace"], call["start"].time) for call in solver.calls if call["pace"] != 0.9]
    assert [pace for pace, _ in chain] == [0.8, 0.7, 0.95, 1.0]
    starts = [start for _, start in chain]
    assert starts[0] == starts[2]
    assert starts[1] > starts[0] > starts[3]


def test_a_pace_that_fails_warm_is_solved_cold(solver):
    solver.stops = lambda call: call["pace"] == 0.8 and "start" in call
    answer, said = asked(pace=0.9)
    assert 0.8 in [row.pace for row in answer.build_up]
    assert any("from the beginning" in words for words in said)


def test_a_pace_that_only_the_fallback_answers_has_no_row(solver):
    solver.stops = lambda call: call["pace"] == 0.8
    assert [row.pace for row in asked(pace=0.9)[0].build_up] == [0.7, 0.9, 0.95, 1.0]


def test_without_any_run_the_fallback_is_the_answer(solver):
    solver.stops = lambda _call: True
    answer, _ = asked()
    assert answer.solution.fallback is not None
    assert answer.gears == answer.sides == ()
    assert len(answer.build_up) == 6
    assert solver.fallbacks == [[{"slalom 2": "right"}, {"slalom 2": "left"}]]  # every side is tried, none solved again
    assert len([call for call in solver.calls if call["pace"] == 0.97]) == 2


def test_a_side_without_a_way_through_leaves_the_other(solver):
    def no_room(call):
        if call["choices"] == {"slalom 2": "left"}:
            raise NoPathError("slalom 2", reason="its cones stand in a row")
        return False

    solver.stops = no_room
    answer, _ = asked()
    assert answer.solution.choices == {"slalom 2": "right"}
    assert "side-unsolved" in {f.code for f in answer.solution.findings}


def test_the_first_answer_comes_before_the_build_up(solver):
    firsts = []
    question = line.LineQuestion(course=COURSE, car=CAR)
    answer = line.answer_line(question, progress=lambda _: None, first=firsts.append)
    assert firsts == [replace(answer, build_up=(), model_parts={})]


def test_a_neighbour_that_failed_a_check_is_named(solver):
    answer, _ = asked(pace=0.9)
    assert "check-failed" not in {f.code for f in answer.solution.findings}
    solver.fails = lambda call: call["pace"] == 0.8
    answer, _ = asked(pace=0.9)
    assert answer.exit_code == 0
    assert [f.message for f in answer.solution.findings if f.code == "check-failed"] == [
        "Do not rely on the times of the run at pace 0.80: it failed a check (no fold)."
    ]


def test_a_pace_between_the_steps_has_its_own_row(solver):
    assert [row.pace for row in asked(pace=0.85)[0].build_up] == [0.7, 0.8, 0.85, 0.9, 0.95, 1.0]


def test_a_wet_surface_is_a_band(solver):
    answer, _ = asked(surface="wet")
    assert (answer.band.low, answer.band.high, answer.surface) == (0.6, 0.8, pytest.approx(0.7))
    assert answer.band.fastest < answer.solution.time < answer.band.slowest


def test_a_band_never_mixes_two_levels(solver):
    solver.stops = lambda call: call["surface"] == 0.6
    answer, _ = asked(surface="wet")
    assert answer.band is None
    assert answer.surface == pytest.approx(0.7)
    assert "band-unsolved" in [finding.code for finding in answer.solution.findings]


def test_a_factor_is_one_answer(solver):
    answer, _ = asked(surface="0.7")
    assert answer.band is None
    assert answer.surface == 0.7
    assert {call["surface"] for call in solver.calls} == {0.7}


@pytest.mark.parametrize("text", ["", "icy", "0", "-1", "nan", "inf", "2"])
def test_a_surface_that_is_none_is_refused_with_what_there_is(solver, text):
    with pytest.raises(line.SurfaceNameError, match="dry, damp, wet"):
        asked(surface=text)
    assert not solver.calls


@pytest.mark.parametrize("pace", [0.0, 0.29, 1.01, -1.0, float("nan")])
def test_a_pace_outside_is_refused(solver, pace):
    with pytest.raises(line.PaceRangeError, match=r"0\.3 to 1"):
        asked(pace=pace)
    assert not solver.calls


def test_a_file_that_is_not_there_is_said_before_any_solve(solver, tmp_path):
    with pytest.raises(CourseFileMissingError):
        asked(course=tmp_path / "a.toml")
    with pytest.raises(CarFileMissingError):
        asked(car=tmp_path / "a.toml")
    assert not solver.calls


@pytest.mark.parametrize(("text", "hint"), [("nobody", "Name a level"), ("Novise", "Did you mean novice?")])
def test_a_driver_that_is_neither_a_level_nor_a_file(solver, text, hint):
    with pytest.raises(
        line.DriverUnknownError, match="none of novice, regular, expert, no driver file, and no driver of the book"
    ) as caught:
        asked(driver=text)
    assert f"'{text}'" in caught.value.message
    assert hint in caught.value.hint
    assert not solver.calls
