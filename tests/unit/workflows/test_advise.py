"""What `advise` reads, refuses and hands to the solver; the solves are made up."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import numpy as np
import pytest

import conewise.demo
from conewise.cars.change import Change, Edit, NoSuchNumberError, changed_car
from conewise.cars.toml_file import CarFileMissingError
from conewise.quantities import Origin, Sourced
from conewise.vehicle.derived import safety_findings
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
    assert "upper bound" in seat[0].option.name


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
    assert effects.shared_name("rear.tyre.friction", values) == "front.tyre.friction"
    assert effects.shared_name("rear.spring_rate", values) == "rear.spring_rate"
    unlike = dict(values) | {"front.tyre.friction": values["front.track"]}
    assert effects.shared_name("rear.tyre.friction", unlike) == "rear.tyre.friction"
