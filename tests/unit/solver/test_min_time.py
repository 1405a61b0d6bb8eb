"""The way to a run: stages, gears, meshes, what is told on the way, what is raised where there is none."""

from dataclasses import replace

import numpy as np
import pytest

from conewise.course.reference import lay_out
from conewise.errors import ConvergenceError
from conewise.solver import checks, gear_search, min_time, replay
from conewise.solver.gears import GearPlan, interrupted, moved_changes
from conewise.solver.mesh import build_mesh
from conewise.solver.min_time import Settings, guess_limits, rerun, solve_run
from conewise.solver.node import SCALE
from conewise.solver.problem import Problem, SolverStoppedError
from conewise.solver.transfer import carried_over
from tests.cars import DEMO_NAMES
from tests.solved import model, settings_of, short_course, short_run, straight_course


def test_half_the_smoothing_leaves_the_time():
    run = short_run()
    half = run.problem.warm(run.point, smoothing=run.point.smoothing / 2.0, tol=1e-8)
    assert half.time == pytest.approx(run.point.time, abs=1e-3)  # section 7 of the design: under 1 ms


def test_progress_is_told_in_words_with_a_time():
    course = straight_course(60.0)
    told = []
    run = solve_run(
        lay_out(course), model(DEMO_NAMES[0], course), progress=lambda words, time: told.append((words, time))
    )
    assert told[0][0] == "first line"
    assert told[-1][1] == pytest.approx(run.point.time, rel=0.05)


def test_a_held_gear_is_held_and_not_faster_than_the_better_of_both():
    run = short_run()
    held = rerun(run, run.problem.p, settings=replace(run.settings, hold=2))
    gears = held.problem.gears.gear
    reached = int(np.argmax(gears == 2))
    assert np.all(gears[reached:] == 2)
    limiter = held.problem.p.engine_speed_limit
    speed = held.point.variables["v_x"][reached:]
    radius = held.problem.p.rolling_radius_rear
    assert np.max(speed / radius * held.problem.p.gear_ratios[1]) <= limiter * 1.01


def test_a_shorter_shift_is_never_slower():
    run = short_run()
    quick, slow = (
        rerun(run, run.problem.p, settings=replace(run.settings, shift_time=t)).point.time for t in (0.05, 0.5)
    )
    assert quick <= slow + 1e-4


def drafted(run):
    """The draft beside an answer."""
    return replace(run, point=run.problem.warm(run.point, barrier=1e-4, tol=gear_search.DRAFT_TOLERANCE))


@pytest.mark.parametrize("barrier", [1e-4, 1e-3, 1e-2])
def test_a_draft_is_the_same_from_every_start(barrier):
    run = short_run()
    draft = drafted(run)
    again = run.problem.warm(draft.point, barrier=barrier, tol=gear_search.DRAFT_TOLERANCE)
    assert again.time == pytest.approx(draft.point.time, abs=gear_search.LEAST_GAIN)
    assert 0.01 < draft.point.time - run.point.time < 0.1  # solved far from the end


def test_an_answer_does_not_hang_on_its_draft():
    run = short_run()
    found = gear_search.finished(drafted(run))
    assert found.point.time == pytest.approx(run.point.time, abs=1e-5)
    assert found.iterations > run.iterations


def ends_that_stop(monkeypatch, which):
    """Have the ends of drafts stop whose number, from 0, is in `which`; how many there were."""
    warm, ends = Problem.warm, []

    def stopping(problem, at, **others):
        if "tol" not in others:
            ends.append(problem)
            if len(ends) - 1 in which:
                raise SolverStoppedError("made to", feature="", station=0.0, violation=1.0, iterations=1)
        return warm(problem, at, **others)

    monkeypatch.setattr(Problem, "warm", stopping)
    return ends


def test_where_the_end_with_other_gears_stops_the_draft_that_came_is_solved_to_its_end(monkeypatch):
    run = short_run()
    low = drafted(rerun(run, run.problem.p, settings=replace(run.settings, hold=1)))
    ends = ends_that_stop(monkeypatch, {0})
    found = gear_search.finished(replace(low, settings=run.settings))
    assert ends[0].gears is not low.problem.gears
    assert found.problem.gears is low.problem.gears
    assert found.checks == low.checks


def test_where_every_end_stops_that_is_said(monkeypatch):
    run = short_run()
    ends_that_stop(monkeypatch, range(9))
    with pytest.raises(SolverStoppedError, match="made to"):
        gear_search.finished(drafted(run))


@pytest.mark.parametrize("stops", [(), (1,)])
def test_an_answer_is_kept_where_the_next_stops_or_is_slower(monkeypatch, stops):
    run = short_run()
    low = rerun(run, run.problem.p, settings=replace(run.settings, hold=1))
    draft, slower = drafted(run), low.problem.gears
    monkeypatch.setattr(gear_search._Tries, "settle", lambda _tries: None)

    def improve(tries, asking):
        tries.draft = replace(drafted(low), iterations=asking.iterations, settings=run.settings)
        return asking.problem.gears is not slower

    monkeypatch.setattr(gear_search._Tries, "improve", improve)
    ends = ends_that_stop(monkeypatch, stops)
    found = gear_search.finished(draft)
    assert len(ends) == 2
    assert found.problem.gears is run.problem.gears
    assert found.point.time == pytest.approx(run.point.time, abs=1e-5)


@pytest.mark.parametrize("nodes", [-3, 3, 8])
def test_drafts_tell_what_other_gears_cost(nodes):
    """Two milliseconds: nine in ten of the tries measured in docs/models/transient.md."""
    run = short_run()
    mesh, gear = run.problem.mesh, run.problem.gears.gear
    moved = np.roll(gear, nodes)
    moved[:5], moved[-10:] = gear[:5], gear[-10:]
    plan = interrupted(moved, run.point.variables["v_x"], mesh.step, shift_time=run.settings.shift_time)
    other = replace(run, problem=run.problem.changed(gears=plan))
    other = replace(other, point=other.problem.warm(run.point, barrier=1e-3))
    cost = other.point.time - run.point.time
    assert abs(cost) > 3e-3
    assert drafted(other).point.time - drafted(run).point.time == pytest.approx(cost, abs=2e-3)


@pytest.mark.parametrize("stops", [(), gear_search.GEAR_BARRIERS[:1]])
def test_a_run_that_stays_in_first_gear_finds_its_gears(monkeypatch, stops):
    run = short_run()
    low = rerun(run, run.problem.p, settings=replace(run.settings, hold=1))
    draft, warm = drafted(low), Problem.warm

    def stopping(problem, at, *, barrier, **others):
        if barrier in stops and others.get("tol") == gear_search.DRAFT_TOLERANCE:
            raise SolverStoppedError("made to", feature="", station=0.0, violation=1.0, iterations=1)
        return warm(problem, at, barrier=barrier, **others)

    monkeypatch.setattr(Problem, "warm", stopping)
    found = gear_search.finished(replace(draft, settings=run.settings))
    assert low.point.time > run.point.time + 0.05
    assert found.point.time == pytest.approx(run.point.time, rel=1e-3)


def test_where_all_changes_of_gear_together_stop_one_alone_is_tried(monkeypatch):
    run = short_run()
    low = rerun(run, run.problem.p, settings=replace(run.settings, hold=1))
    mesh, speed = low.problem.mesh, low.point.variables["v_x"]
    plan = interrupted(moved_changes(run.problem.gears.gear)[0], speed, mesh.step, shift_time=run.settings.shift_time)
    together = low.problem.changed(gears=plan)
    alone = low.problem.changed(gears=run.problem.gears)
    draft, warm = drafted(low), Problem.warm
    monkeypatch.setattr(gear_search, "_asked_for", lambda run, _least: [together, alone] if run is draft else [])

    def stopping(problem, at, **others):
        if problem is together:
            raise SolverStoppedError("made to", feature="", station=0.0, violation=1.0, iterations=1)
        return warm(problem, at, **others)

    monkeypatch.setattr(Problem, "warm", stopping)
    found = gear_search.finished(draft)
    assert found.problem.gears is run.problem.gears
    assert found.point.time == pytest.approx(run.point.time, rel=1e-3)


def test_a_run_carried_to_another_mesh_is_the_same_run():
    run = short_run()
    geometry, p = run.problem.geometry, run.problem.p
    speed = np.full(len(geometry.path.station), 12.0)
    mesh = build_mesh(geometry, p, speed, refine=0.7)
    z = carried_over(run, geometry, mesh) * SCALE
    for i, name in enumerate(("v_x", "v_y", "yaw_rate")):
        inside = (mesh.station > run.problem.mesh.station[0]) & (mesh.station < run.problem.mesh.station[-1])
        wanted = np.interp(mesh.station, run.problem.mesh.station, run.point.variables[name])
        assert z[inside, i] == pytest.approx(wanted[inside])


def test_a_gate_that_is_too_narrow_stops_with_its_name():
    course = straight_course(60.0)
    geometry = lay_out(course)
    passes = geometry.passes
    margins = np.where([c.feature == passes[2].feature for c in passes], 2.0, 0.0)
    with pytest.raises(ConvergenceError) as caught:
        solve_run(geometry, model(DEMO_NAMES[0], course), margins=margins)
    assert passes[2].feature in str(caught.value)


def test_a_rerun_whose_windows_drift_too_far_is_solved_on_a_finer_mesh(monkeypatch):
    run = short_run()
    same = rerun(run, run.problem.p)
    assert same.problem.mesh is run.problem.mesh  # fine enough: nothing is split
    drift = replay.window_drift(run.problem, run.point).lateral
    monkeypatch.setattr(checks, "DRIFT_USUAL", 0.5 * np.percentile(drift, 95))
    finer = rerun(run, run.problem.p)
    assert len(finer.problem.mesh.station) > len(run.problem.mesh.station)
    assert np.percentile(replay.window_drift(finer.problem, finer.point).lateral, 95) < np.percentile(drift, 95)
    assert finer.point.time == pytest.approx(run.point.time, rel=2e-3)  # 0.09% where all steps are halved


def test_a_rerun_that_no_finer_mesh_carries_keeps_its_failed_check(monkeypatch):
    run = short_run()

    def stops(*_args, **_others):
        raise SolverStoppedError("gone", feature="gate-2", station=3.0, violation=1.0, iterations=7)

    monkeypatch.setattr(checks, "DRIFT_USUAL", 1e-6)
    monkeypatch.setattr(min_time, "_solved", stops)
    again = rerun(run, run.problem.p)
    assert again.problem.mesh is run.problem.mesh
    assert "replay drift, 95%" in {check.name for check in again.checks if not check.ok}


def test_a_run_that_is_asked_for_wider_margins_keeps_them():
    run = short_run()
    margins = np.full(len(run.problem.margins), 0.15)
    wide = rerun(run, run.problem.p, margins=margins)
    assert np.array_equal(wide.problem.margins, margins)
    assert wide.point.time > run.point.time
    clearance = next(check for check in wide.checks if check.name == "clearance over the margin")
    assert clearance.value > -0.02


def test_the_guess_has_less_grip_and_the_power_of_the_car():
    p = model(DEMO_NAMES[0], short_course())
    circle = guess_limits(p)
    assert circle.friction < min(p.friction_lateral_front, p.friction_lateral_rear)
    assert 40.0 < circle.specific_power < 400.0


def test_settings_are_those_of_a_driver_who_shifts():
    assert Settings().hold is None
    assert settings_of(DEMO_NAMES[0]).shift_time > 0.0
    assert isinstance(short_run().problem.gears, GearPlan)


def test_a_run_that_no_try_finds_says_how_each_ended(monkeypatch):
    """Only the last reason would hide that the first guesses got stuck elsewhere."""
    course = straight_course(60.0)
    ends = iter([("Infeasible", "gate 1"), ("no step", "gate 2"), ("Infeasible", "hairpin"), ("too long", "finish")])

    def stuck(*_, **__):
        why, feature = next(ends)
        raise SolverStoppedError(why, feature=feature, station=9.0, violation=0.1, iterations=9)

    monkeypatch.setattr("conewise.solver.problem.Problem.cold", stuck)
    with pytest.raises(SolverStoppedError, match="stuck at 'finish'") as caught:
        solve_run(lay_out(course), model(DEMO_NAMES[0], course))
    told = caught.value.message.partition("Tried: ")[2]
    assert told == (
        "from 100% of the speed: Infeasible at 'gate 1'; from 80% of the speed: no step at 'gate 2'; "
        "from 60% of the speed: Infeasible at 'hairpin'; to a calm run: too long at 'finish'."
    )
    assert str(caught.value) == caught.value.message
    assert caught.value.where == "finish"
