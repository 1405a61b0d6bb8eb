"""Whose run tells the friction: only one that was on the course from start to finish."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from conewise.logs.breakdown import FrictionFound
from conewise.logs.laid import lay_day
from conewise.logs.log import Log
from conewise.workflows import debrief_friction
from conewise.workflows.debrief_friction import Grounds, with_friction
from conewise.workflows.line import as_told, surface_named
from conewise.workflows.recorded import Recorded
from tests.debriefs import BODY, driven_run
from tests.driven import FRONT

FASTER = SimpleNamespace(point=SimpleNamespace(time=40.0))


@pytest.fixture
def free(monkeypatch):
    """A run that beat the best run and showed a fifth more than its accelerations; no solve."""
    monkeypatch.setattr(debrief_friction, "on_drivers_line", lambda *_: FASTER)
    monkeypatch.setattr(debrief_friction, "demonstrated", lambda *_: 1.2)
    typical = FrictionFound(value=1.0, low=0.0, high=float("inf"), origin="typical")
    monkeypatch.setattr(debrief_friction, "_found", lambda *_, **__: typical)
    monkeypatch.setattr(debrief_friction, "free_run", lambda *_, start, **__: start)

    def of(kind):
        return SimpleNamespace(
            laid=SimpleNamespace(run=SimpleNamespace(kind=kind, number=3, time_deviation=0.01)),
            run=FASTER,
            car=None,
            driven=SimpleNamespace(run_time=38.0),
            trace=lambda *_: None,
        )

    return of


def test_a_complete_run_shows_friction(free):
    found = with_friction(free("complete"), np.zeros(3), surface=1.0, grounds=Grounds(day=None))
    assert found.friction.value > 1.2
    assert [finding.code for finding in found.findings] == ["friction-raised"]


@pytest.mark.parametrize("kind", ["wrong-course", "aborted", "positions-lost"])
def test_a_run_that_left_the_course_shows_none(free, kind):
    found = with_friction(free(kind), np.zeros(3), surface=1.0, grounds=Grounds(day=None))
    assert (found.friction.value, found.friction.low) == (1.0, 0.0)
    (finding,) = found.findings
    assert finding.code == "friction-not-shown"
    assert f"Run 3 is told as {kind}" in finding.message


def test_only_complete_runs_of_the_day_tell_slides(monkeypatch):
    geometry, track, _, _ = driven_run()
    laid = lay_day(track, geometry, is_placed=True, front_reach=FRONT, half_width=BODY.width / 2.0)
    day = Recorded(log=Log(file="day.csv", channels={}), track=track, day=laid)
    everywhere = np.ones(track.time.size, dtype=bool)
    monkeypatch.setattr(debrief_friction, "sliding", lambda *_: everywhere)
    assert len(debrief_friction._slides_of((day,), None)) == 1
    wrong = replace(laid.runs[0], run=replace(laid.runs[0].run, kind="wrong-course"))
    assert debrief_friction._slides_of((replace(day, day=replace(laid, runs=(wrong,))),), None) == []


@pytest.mark.parametrize(("said", "value"), [(None, 1.0), ("dry", 1.0), ("damp", 0.875), ("wet", 0.7)])
def test_a_word_for_the_surface_is_no_measurement_of_these_tyres(said, value):
    friction = as_told(None if said is None else surface_named(said))
    assert friction.is_lower_bound
    assert friction.value == pytest.approx(value)
    assert friction.low == 0.0


def test_a_factor_is_known_to_a_twentieth():
    friction = as_told(surface_named("0.8"))
    assert (friction.value, friction.low, friction.high) == pytest.approx((0.8, 0.76, 0.84))
    assert not friction.is_lower_bound
