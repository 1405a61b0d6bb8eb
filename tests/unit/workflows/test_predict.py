"""The one function from a course and a car to a run: sides, fallbacks, and what is said of them; solves are made up."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest

import conewise
from conewise.course.reference import lay_out
from conewise.errors import InfeasibleError
from conewise.solver.min_time import Run, Settings
from conewise.solver.problem import SolverStoppedError
from conewise.solver.result import Check
from conewise.workflows import predict
from tests.cars import DEMO_NAMES, demo_car
from tests.reports_fixture import made_up_answer
from tests.solved import demo_course, short_run

COURSE, CAR = demo_course("harbour-yard"), demo_car("marigold")  # its second slalom is open
RUN = made_up_answer().solution
LEFT, RIGHT = {"slalom 2": "left"}, {"slalom 2": "right"}


def stops(where="slalom 2"):
    return SolverStoppedError("Infeasible", feature=where, station=90.0, violation=0.1, iterations=99)


@pytest.fixture
def sides(monkeypatch):
    """What the transient and the quasi-steady level answer on each side: a time or an error."""
    transient, fixed_line = {"left": 40.0, "right": 40.4}, {"left": 43.0, "right": 42.0}

    def answered(table, choices, **more):
        answer = table[choices["slalom 2"]]
        if isinstance(answer, Exception):
            raise answer
        return replace(RUN, time=answer, choices=choices, findings=(), **more)

    def quasi_steady(geometry, _p, *, fallback=None, **_):
        return answered(fixed_line, geometry.choices, level="quasi-steady", fallback=fallback)

    monkeypatch.setattr(predict, "_solved", lambda _course, _car, choices, **_: answered(transient, choices))
    monkeypatch.setattr(predict, "quasi_steady_solution", quasi_steady)
    return transient, fixed_line


def test_the_fastest_side_is_the_answer(sides):
    run = conewise.solve(COURSE, CAR)
    assert (run.choices, run.findings) == (LEFT, ())


@pytest.mark.parametrize("reason", [stops(), InfeasibleError("No way.", where="slalom 2")])
def test_a_side_that_could_not_be_solved_is_found(sides, reason):
    sides[0]["left"] = reason
    run = conewise.solve(COURSE, CAR)
    assert run.choices == RIGHT
    (finding,) = run.findings
    assert (finding.severity, finding.code) == ("warning", "side-unsolved")
    assert "slalom 2, first cone on your right could not be solved" in finding.message


def test_the_fallback_tries_every_side_that_stopped(sides):
    sides[0].update(left=stops("gate 1"), right=stops("hairpin 2"))
    with pytest.raises(SolverStoppedError, match="hairpin 2"):  # of the more natural side
        conewise.solve(COURSE, CAR)
    run = conewise.solve(COURSE, CAR, fallback=True)
    assert (run.choices, run.time, run.fallback.feature) == (RIGHT, 42.0, "hairpin 2")
    sides[1]["right"] = InfeasibleError("No way.", where="slalom 2")
    run = conewise.solve(COURSE, CAR, fallback=True)
    assert (run.choices, run.fallback.feature) == (LEFT, "gate 1")
    assert [f.code for f in run.findings] == ["side-unsolved"]


def test_a_side_without_a_way_through_has_no_fallback(sides):
    sides[0].update(left=InfeasibleError("No way.", where="slalom 2"), right=stops())
    run = conewise.solve(COURSE, CAR, fallback=True)
    assert run.choices == RIGHT
    sides[0]["right"] = sides[0]["left"]
    with pytest.raises(InfeasibleError, match="No way"):
        conewise.solve(COURSE, CAR, fallback=True)


def test_a_side_that_was_chosen_is_solved_alone(sides):
    assert conewise.solve(COURSE, CAR, choices=RIGHT).time == 40.4


@pytest.mark.parametrize(
    ("fails", "stops", "wanted"), [(False, False, "near"), (True, False, "own"), (True, True, "near")]
)
def test_a_neighbour_s_mesh_that_fails_a_check_is_left_for_one_of_its_own(monkeypatch, fails, stops, wanted):
    check = Check(name="limits between nodes", ok=not fails, value=0.1, limit=0.02)
    problem = SimpleNamespace(geometry=lay_out(COURSE))
    near = Run(problem=problem, point=None, settings=Settings(), checks=(check,))
    finer = Run(problem=problem, point=None, settings=Settings(refine=0.5))

    def solve_run(_geometry, _p, *, start, **_):
        assert start is near
        if stops:
            raise SolverStoppedError("Infeasible", feature="gate 1", station=9.0, violation=0.1, iterations=9)
        return finer

    monkeypatch.setattr(predict, "rerun", lambda *_args, **_: near)
    monkeypatch.setattr(predict, "solve_run", solve_run)
    told = predict._Conditions(start=replace(RUN, warm=near))
    found = predict._run(problem.geometry, None, settings=Settings(), told=told)
    assert found is {"near": near, "own": finer}[wanted]


def test_the_doubt_of_a_time_is_that_of_the_car_s_numbers():
    """By what the gradients say: one number unsure, both tyres off alike, and no number unsure."""
    run, car = short_run(), demo_car(DEMO_NAMES[0])
    by_name = {g.name: g.s_per_unit for g in predict.gradients(run, car)}
    sure = {name: replace(value, uncertainty=0.0) for name, value in car.values.items()}
    base = car.with_values(sure)
    assert predict.doubt_of_car(run, base) == 0.0
    assert base.values["front.tyre.friction"] == base.values["rear.tyre.friction"]
    unsure = replace(base.values["front.tyre.friction"], uncertainty=0.05)
    one = base.with_values({"front.tyre.friction": unsure})
    both = base.with_values({"front.tyre.friction": unsure, "rear.tyre.friction": unsure})
    front, rear = by_name["front.tyre.friction"], by_name["rear.tyre.friction"]
    assert predict.doubt_of_car(run, one) == pytest.approx(0.05 * abs(front))
    assert predict.doubt_of_car(run, both) == pytest.approx(0.05 * abs(front + rear))
