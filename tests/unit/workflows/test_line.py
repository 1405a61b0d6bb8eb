"""What `line` asks of the solver, with a made-up solve: surfaces, paces, drivers, what is gathered."""

from __future__ import annotations

import types
from dataclasses import replace
from pathlib import Path

import pytest

import conewise.demo
import conewise.workflows
from conewise.cars.toml_file import CarFileMissingError
from conewise.course.files import CourseFileMissingError
from conewise.workflows import line
from tests.reports_fixture import made_up_answer

DEMO = Path(conewise.demo.__file__).parent
COURSE, CAR = DEMO / "courses" / "harbour-yard.toml", DEMO / "cars" / "marigold.toml"
SOLUTION = made_up_answer().solution


@pytest.fixture
def solves(monkeypatch):
    """The calls of the solver; a made-up run whose time goes with one over the root of the friction used."""
    calls = []

    def solve(course, car, **asked):
        calls.append(asked)
        return replace(SOLUTION, time=SOLUTION.time / (asked["pace"] * asked["surface"]) ** 0.5)

    monkeypatch.setattr(conewise.workflows, "predict", types.SimpleNamespace(solve=solve), raising=False)
    return calls


def asked(**changes):
    said = []
    answer = line.answer_line(
        line.LineQuestion(**{"course": COURSE, "car": CAR} | changes), progress=lambda words, *_: said.append(words)
    )
    return answer, said


def test_every_solve_may_fall_back_and_knows_driver_and_level(solves):
    asked(driver="novice", level="quasi-steady")
    assert {call["fallback"] for call in solves} == {True}
    assert {call["level"] for call in solves} == {"quasi-steady"}
    assert {call["driver"].level for call in solves} == {"novice"}


def test_the_pace_is_the_driver_s_own_unless_told(solves):
    """Typical friction shares of novice and expert: 0.80 and 0.97, common practice, no source."""
    assert asked(driver="novice")[0].pace == 0.80
    assert asked(driver="expert")[0].pace == 0.97
    assert asked(driver="novice", pace=0.9)[0].pace == 0.9


def test_the_build_up_has_every_pace_once_and_gets_faster(solves):
    answer, said = asked(pace=0.9)
    assert [row.pace for row in answer.build_up] == [0.7, 0.8, 0.9, 0.95, 1.0]
    times = [row.time for row in answer.build_up]
    assert times == sorted(times, reverse=True)
    assert len(solves) == 5
    assert len(said) == 5
    assert {key.feature for key in answer.build_up[0].speeds} == {
        f.id for f in SOLUTION.features if f.kind not in {"start", "finish"}
    }


def test_a_pace_between_the_steps_has_its_own_row(solves):
    assert [row.pace for row in asked(pace=0.85)[0].build_up] == [0.7, 0.8, 0.85, 0.9, 0.95, 1.0]


def test_a_wet_surface_is_a_band(solves):
    answer, _ = asked(surface="wet")
    assert (answer.band.low, answer.band.high, answer.surface) == (0.6, 0.8, pytest.approx(0.7))
    assert answer.band.fastest < answer.solution.time < answer.band.slowest


def test_a_factor_is_one_answer(solves):
    answer, _ = asked(surface="0.7")
    assert answer.band is None
    assert answer.surface == 0.7
    assert {call["surface"] for call in solves} == {0.7}


@pytest.mark.parametrize("text", ["", "icy", "0", "-1", "nan", "inf", "2"])
def test_a_surface_that_is_none_is_refused_with_what_there_is(solves, text):
    with pytest.raises(line.SurfaceNameError, match="dry, damp, wet"):
        asked(surface=text)
    assert not solves


@pytest.mark.parametrize("pace", [0.0, 0.29, 1.01, -1.0, float("nan")])
def test_a_pace_outside_is_refused(solves, pace):
    with pytest.raises(line.PaceRangeError, match=r"0\.3 to 1"):
        asked(pace=pace)
    assert not solves


def test_a_file_that_is_not_there_is_said_before_any_solve(solves, tmp_path):
    with pytest.raises(CourseFileMissingError):
        asked(course=tmp_path / "a.toml")
    with pytest.raises(CarFileMissingError):
        asked(car=tmp_path / "a.toml")
    with pytest.raises(CarFileMissingError):
        asked(driver=str(tmp_path / "a.toml"))
    assert not solves
