"""What `advise` reads, refuses and hands to the solver; the solves are made up."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

import conewise.demo
from conewise.cars.change import Change, Edit, NoSuchNumberError, changed_car
from conewise.cars.driver import typical_driver
from conewise.cars.toml_file import CarFileMissingError
from conewise.money import MoneyError, NoBudgetError
from conewise.quantities import Origin, Sourced
from conewise.reports import advice_words
from conewise.reports.advice_record import advice_record
from conewise.reports.advice_report import advice_html
from conewise.reports.advice_screen import advice_screen
from conewise.sweeps import Resolved
from conewise.vehicle.derived import safety_findings
from conewise.vehicle.file_slopes import shared_name
from conewise.workflows import advise, effects
from conewise.workflows import advise_question as asking
from conewise.workflows.directions import Direction
from conewise.workflows.line import DriverUnknownError, PaceRangeError, SurfaceNameError

DEMO = Path(conewise.demo.__file__).parent
COURSE, CAR = DEMO / "courses" / "harbour-yard.toml", DEMO / "cars" / "marigold.toml"
CHANGES = DEMO / "changes" / "winter.toml"


def asked(**others):
    told = {"courses": (COURSE,), "car": CAR, "changes": CHANGES, "workers": 1, "day": dt.date(2026, 5, 1)} | others
    return asking.AdviceQuestion(**told)


@pytest.mark.parametrize(
    ("others", "error"),
    [
        ({"workers": 0}, asking.WorkersError),
        ({"pace": 1.2}, PaceRangeError),
        ({"surface": "ice"}, SurfaceNameError),
        ({"courses": (COURSE, COURSE)}, asking.CourseTwiceError),
        ({"changes": DEMO / "nothing.toml"}, CarFileMissingError),
        ({"driver": "nobody.toml"}, DriverUnknownError),
        ({"budget": "lots"}, MoneyError),
        ({"budget": "-5"}, MoneyError),
        ({"budget": "0"}, NoBudgetError),
        ({"budget": "0.00 EUR"}, NoBudgetError),
    ],
)
def test_what_cannot_be_used_is_refused_before_anything_is_solved(others, error):
    with pytest.raises(error):
        advise.answer_advise(asked(**others), progress=str)


def test_a_change_that_does_not_fit_the_car_is_refused_at_once(tmp_path):
    file = tmp_path / "changes.toml"
    file.write_text(
        '[[change]]\nname = "gear"\nkind = "gearing"\n[[change.edit]]\nfield = "transmission.gears.8"\nscale = 1.1\n'
    )
    with pytest.raises(NoSuchNumberError):
        advise.answer_advise(asked(changes=file), progress=str)


def directions(**others):
    found = asking.read_question(asked(**others)).work.directions()
    return {direction.option.name: direction for direction in found}


def test_every_change_and_the_seat_time_is_a_direction():
    found = directions(driver="regular")
    names = [change.name for change in asking.read_question(asked()).work.changes]
    assert list(found) == [*names, "seat time: as quick as a typical expert driver"]
    seat = found["seat time: as quick as a typical expert driver"]
    assert seat.p.friction_share == 0.97  # design value of an expert; common practice, no source
    assert seat.draws.std(axis=0).max() == pytest.approx(0.04, rel=0.3)  # 64 draws


def test_an_expert_is_compared_with_all_of_the_friction():
    seat = [d for d in directions(driver="expert").values() if d.option.kind == "driver"]
    assert [d.p.friction_share for d in seat] == [1.0]
    assert seat[0].option.only_gains
    assert "97% is taken, and the interval reaches from 90% to 100%" in seat[0].option.note


@pytest.mark.parametrize("level", ["novice", "regular", "expert"])
def test_nobody_uses_more_of_the_friction_than_seat_time_leads_to(level):
    (seat,) = (d for d in directions(driver=level).values() if d.option.kind == "driver")
    share = seat.p.names().index("friction_share")
    gaps = seat.draws[:, share] + seat.p.friction_share - typical_driver(level).friction_share.value
    assert gaps.min() >= -1e-12
    # 90 % of a normal distribution lies within 1.645 standard deviations: tables of the normal distribution
    most = seat.p.friction_share - typical_driver(level).friction_share.value + 1.645 * 0.04
    assert np.percentile(gaps, 95.0) == pytest.approx(most, rel=0.03)
    if level == "expert":  # who already uses all of it has nothing to gain
        assert gaps.min() == pytest.approx(0.0, abs=1e-12)


def test_seat_time_never_takes_away_what_a_driver_has():
    seat = next(d for d in directions(driver="novice", pace=0.95).values() if d.option.kind == "driver")
    assert seat.p.friction_share == 0.95


def test_draws_scatter_as_the_change_says():
    found = directions()["one step stickier tyres"]
    at = found.p.names().index("friction_lateral_front")
    nominal = found.p.friction_lateral_front / 1.05
    assert found.draws[:, at].std() == pytest.approx(0.02 * nominal, rel=0.3)  # 64 draws
    assert found.draws.mean(axis=0)[at] == pytest.approx(0.0, abs=0.01 * nominal)


def test_a_change_that_puts_the_brakes_to_the_rear_is_not_proposed(tmp_path):
    file = tmp_path / "changes.toml"
    head = '[[change]]\nname = "rear pads"\nkind = "brake"\n'
    file.write_text(head + '[[change.edit]]\nfield = "rear.brake.pad_friction"\nscale = 1.6\n')
    found = directions(changes=file)["rear pads"]
    assert not found.option.is_proposed
    codes = {finding.code for finding in safety_findings(found.car)}
    assert "rear-locks-first" in codes


def test_a_pressure_outside_the_marked_limits_is_not_proposed():
    work = asking.read_question(asked()).work
    assert work.car.value("front.tyre.pressure_low") == pytest.approx(24 * 6894.757, rel=1e-4)
    for psi, is_proposed in ((20.0, False), (26.0, True)):
        value = Sourced(value=psi * 6894.757, uncertainty=0.0, origin=Origin.SPEC_SHEET)
        change = Change(name="softer", edits=(Edit(fields=("front.tyre.pressure",), action="set", value=value),))
        option = work.direction((change,)).option
        assert option.is_proposed is is_proposed
        assert ("pressure-limit" in {finding.code for finding in option.findings}) is not is_proposed


def test_a_change_that_locks_the_axle_gets_no_seconds_since_the_model_tells_them_several_times_too_large(tmp_path):
    file = tmp_path / "changes.toml"
    head = '[[change]]\nname = "{0}"\nkind = "differential"\n'
    edit = head + '[[change.edit]]\nfield = "rear.differential.kind"\nset = "{0}"\n'
    file.write_text(edit.format("locked") + edit.format("open"), encoding="utf-8")
    found = directions(changes=file)
    assert not found["locked"].option.has_effect
    assert "scrubs in tight turns" in found["locked"].option.note
    assert found["open"].option.has_effect


def test_a_change_does_not_excuse_the_stop_that_it_leaves(tmp_path):
    rearward, changes = tmp_path / "rearward.toml", tmp_path / "changes.toml"
    rearward.write_text(CAR.read_text().replace('pad_friction = "0.37"', 'pad_friction = "0.50"'))
    edit = '[[change]]\nname = "{}"\nkind = "{}"\n[[change.edit]]\nfield = "{}"\nscale = {}\n'
    changes.write_text(
        edit.format("bar", "bar", "front.bar_diameter", 1.05)
        + edit.format("front tyres", "tyre", "front.tyre.friction", 1.1)
        + edit.format("mild pads", "brake", "rear.brake.pad_friction", 0.6)
    )
    found = directions(car=rearward, changes=changes)
    assert [found[name].option.is_proposed for name in ("bar", "front tyres", "mild pads")] == [False, False, True]


def test_the_difference_of_gradients_is_zero_where_nothing_changes():
    work = asking.read_question(asked()).work
    direction = work.directions()[0]
    slopes = np.linspace(-1.0, 1.0, len(direction.p.vector()))
    bases = effects.Bases(bases=[], slopes=[slopes], leans=[0.0])
    same = Direction(option=direction.option, p=direction.p, shift_time=0.2, draw=lambda: direction.draws, car=work.car)
    common = effects._Spread(work=work, bases=bases).common(same, 0, slopes)
    assert common
    assert max(map(abs, common.values())) == 0.0


def test_what_a_change_sets_no_longer_has_the_old_uncertainty():
    work = asking.read_question(asked()).work
    direction = next(d for d in work.directions() if "treadwear 100" in d.option.name)
    assert direction.replaced == {"front.tyre.treadwear", "rear.tyre.treadwear"}
    assert changed_car(work.car, work.changes[1]).value("front.tyre.treadwear") == 100


def test_the_same_tyre_front_and_rear_is_off_alike():
    values = asking.read_question(asked()).work.car.values
    assert shared_name("rear.tyre.friction", values) == "front.tyre.friction"
    assert shared_name("rear.spring_rate", values) == "rear.spring_rate"
    unlike = dict(values) | {"front.tyre.friction": values["front.track"]}
    assert shared_name("rear.tyre.friction", unlike) == "rear.tyre.friction"


@pytest.fixture
def made_up_solves(monkeypatch):
    """Solves in place of those of the solver: a list of functions, one a sweep, from a question to its answer."""

    def made(*sweeps, times=(40.0,)):
        work = asking.read_question(asked()).work
        p = work.parameters(work.car)
        slopes = [np.linspace(-1.0, 1.0, len(p.vector())) for _ in times]
        bases = [SimpleNamespace(p=p, point=SimpleNamespace(time=time)) for time in times]
        found = effects.Bases(bases=bases, slopes=slopes, leans=[0.01] * len(times))
        rounds, solved = iter(sweeps), []

        def sweep(_bases, questions, *, workers, tell):
            solves = next(rounds)
            for question in questions:
                solved.append(question.name)
                tell(solves(question))

        monkeypatch.setattr(effects, "sweep", sweep)
        monkeypatch.setattr(effects, "solved_bases", lambda *_, **__: found)
        return SimpleNamespace(bases=found, solved=solved, slopes=slopes[0])

    return made


def answer_to(question, made, **others):
    told = {"time": 39.9, "back": 40.0, "slopes": made.slopes, "lean": 0.02} | others
    return Resolved(course=question.course, name=question.name, **told)


def test_what_is_solved_when_the_keyboard_stops_it_is_told_and_the_rest_by_slopes(made_up_solves):
    def until_two(question):
        if len(made.solved) > 2:
            raise KeyboardInterrupt
        return answer_to(question, made)

    made, shown = made_up_solves(until_two), []
    with pytest.raises(KeyboardInterrupt):
        advise.answer_advise(asked(budget="900 EUR"), progress=str, stopped=shown.append)
    [advice] = shown
    solved = [row for row in advice.rows if row.solved]
    assert [row.option.name for row in advice.rows[:2]] == [row.option.name for row in solved]
    assert {row.option.name for row in solved} == set(made.solved[:2])
    assert [row.gain for row in solved] == pytest.approx([0.1, 0.1])
    waiting = [row for row in advice.rows if row.is_waiting]
    assert waiting
    assert all(np.isnan(row.gain) and advice_words.gain(row).endswith("s by slopes") for row in waiting)
    assert "2 of " in advice.stopped
    assert advice_words.headline(advice).startswith("Stopped before the end: 2 of ")
    record = advice_record(advice)
    assert record["ok"] is False
    assert [row["is_solved"] for row in record["changes"]] == [bool(row.solved) for row in advice.rows]
    screen = advice_screen(advice)
    assert [row["is_solved"] for row in screen["rows"]] == [bool(row.solved) for row in advice.rows]
    assert "Stopped before the end" in advice_html(advice)


def test_a_stop_while_packages_are_sought_leaves_every_solved_change(made_up_solves, monkeypatch):
    def stopped(*_):
        raise KeyboardInterrupt

    made = made_up_solves(lambda question: answer_to(question, made))
    shown = []
    monkeypatch.setattr(advise, "_with_packages", stopped)
    with pytest.raises(KeyboardInterrupt):
        advise.answer_advise(asked(budget="900 EUR"), progress=str, stopped=shown.append)
    [advice] = shown
    assert "packages that were asked for are not" in advice.stopped
    assert not any(row.is_waiting for row in advice.rows)
    assert advice.packages is None


def test_a_faster_run_without_a_change_stands_for_all_and_only_open_round_trips_are_solved_again(made_up_solves):
    faster = SimpleNamespace(point=SimpleNamespace(time=39.98), run=lambda: "run")

    def first(question):
        if question.name == made.solved[0]:
            return answer_to(question, made, back=39.98, better=faster)
        if question.name == made.solved[1]:
            return answer_to(question, made, back=39.9805)
        return answer_to(question, made, back=40.0)

    made = made_up_solves(first, lambda question: answer_to(question, made, time=39.89, back=39.98))
    faster.p = made.bases.bases[0].p
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(effects, "slopes_and_lean", lambda _run: (made.slopes, 0.01))
        advice = advise.answer_advise(asked(), progress=str)
    n = len(set(made.solved))
    assert len(made.solved) == 2 * n - 2
    assert not set(made.solved[:2]) & set(made.solved[n:])
    gains = {row.option.name: row.gain for row in advice.rows}
    assert list(advice.base.values()) == [39.98]
    assert gains[made.solved[0]] == pytest.approx(0.08)  # the better run stands for both
    assert gains[made.solved[n]] == pytest.approx(0.09)
