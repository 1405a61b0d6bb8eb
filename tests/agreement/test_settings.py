"""A search for settings with real solves on a short course: no worse than where it began, nor than a click beside."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import numpy as np
import pytest

import conewise.demo
from conewise.advisor.rows import NUMERICAL
from conewise.course.files import write_course
from conewise.solver.min_time import rerun
from conewise.vehicle.lock_order import rear_first_from
from conewise.vehicle.staging import staged_like
from conewise.workflows import setting_search
from conewise.workflows.settings import SettingsQuestion, answer_settings
from tests.solved import short_course

DEMO = Path(conewise.demo.__file__).parent
RANGES = """
[[setting]]
name = "front camber"
field = "front.camber"
low = "-5.4 deg"
high = "-1.2 deg"
step = "0.8 deg"

[[setting]]
name = "rear camber"
field = "rear.camber"
low = "-5.4 deg"
high = "-1.2 deg"
step = "0.8 deg"

[[setting]]
name = "brake balance"
field = "brakes.front_share"
low = "0.70"
high = "0.86"
step = "0.02"
"""

MEASURED = 'inclination_loss = ["12", "1"]\n'  # as if somebody had measured it, so that camber can be told

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def looked(tmp_path_factory):
    """The answer for a roadster with far too much camber and too little brake at the rear, and the search itself."""
    folder = tmp_path_factory.mktemp("settings")
    car = (DEMO / "cars" / "marigold.toml").read_text(encoding="utf-8")
    for old, new in (
        ("-2.2 deg", "-5.2 deg"),
        ("-1.9 deg", "-5.2 deg"),
        ('pad_friction = "0.37"', 'pad_friction = "0.25"'),
    ):
        assert old in car
        car = car.replace(old, new)
    write_course(short_course(), folder / "short.toml")
    (folder / "car.toml").write_text(car, encoding="utf-8")
    (folder / "ranges.toml").write_text(RANGES, encoding="utf-8")
    question = SettingsQuestion(
        courses=(folder / "short.toml",),
        car=folder / "car.toml",
        ranges=folder / "ranges.toml",
        workers=1,
        day=dt.date(2026, 5, 1),
    )
    kept = []

    class Kept(setting_search._Look):
        def answer(self, **told):
            kept.append(self)
            return super().answer(**told)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(setting_search, "_Look", Kept)
        return answer_settings(question, progress=str), kept[0]


def test_what_is_far_off_is_found(looked):
    _, look = looked
    clicks = np.array(look.peak) - np.array(look.asked.space.now)
    assert clicks[0] > 0  # towards upright: degrees beyond the tyre's best cost grip
    assert clicks[1] > 0
    assert look.solves.time(look.asked.space.now) - look.solves.time(look.peak) > 0.05


def test_what_is_moved_gains_for_sure(looked):
    answer, _ = looked
    for row in answer.rows:
        assert (row.verdict == "moved") == (row.clicks != 0)
        if row.in_company is not None:
            assert row.in_company.low > 0.0
            assert row.in_company.value >= 0.01
    gained = 0.0 if answer.together is None else answer.together.value
    assert answer.courses[0].now - answer.courses[0].best == pytest.approx(gained, abs=1e-9)


def test_no_click_beside_is_faster(looked):
    _, look = looked
    peak = look.solves.time(look.peak)
    for near in look.search.neighbours(look.peak):
        assert look.solves.time(near) >= peak - NUMERICAL
    assert peak <= look.solves.time(look.asked.space.now)


def test_the_best_is_as_fast_when_solved_once_more(looked):
    _, look = looked
    base = look.solves.bases.bases[0]
    run = rerun(base.run(), staged_like(look.solves.known[look.peak].p, base.p))
    assert run.point.time == pytest.approx(look.solves.time(look.peak), abs=NUMERICAL)


def test_nothing_that_locks_the_rear_first_was_ever_solved_or_offered(looked):
    answer, look = looked
    assert all(not np.isfinite(rear_first_from(look.solves.parameters(at))) for at in look.solves.known)
    balance = next(row for row in answer.rows if row.name == "brake balance")
    assert balance.best >= balance.low


def test_a_move_that_gains_less_than_is_shown_is_taken_back(looked):
    answer, look = looked
    assert look.peak[2] < look.asked.space.now[2]  # the model alone would brake more at the rear
    balance = next(row for row in answer.rows if row.name == "brake balance")
    assert (balance.clicks, balance.verdict) == (0, "hardly matters")


def test_bounds_say_what_they_cost_or_that_they_do_not(looked):
    answer, _ = looked
    brakes, first_stop = answer.bounds  # an expert is not held to understeer
    assert first_stop.name == "lock order at the first stop"
    for bound in (brakes, first_stop):
        assert bound.after >= bound.least - 1e-9
        assert bound.cost is None or bound.cost > 0.0
