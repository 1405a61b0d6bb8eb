"""Other sides beside a debrief: what cannot be compared is said, and nothing is compared that has another friction."""

from __future__ import annotations

import time
from types import SimpleNamespace

import pytest

from conewise.errors import InfeasibleError
from conewise.workflows import debrief_sides
from conewise.workflows.debrief_sides import OtherSides, _Side, _side

NOW, NEVER = -1.0, float("inf")  # times of the monotonic clock until which is waited


class NoWayError(InfeasibleError):
    """The car does not fit through."""

    code = "no-way"


def run_of(seconds, *, surface=1.0, sides="right"):
    problem = SimpleNamespace(p=SimpleNamespace(surface=surface), geometry=None)
    return SimpleNamespace(point=SimpleNamespace(time=seconds), problem=problem, choices={"gate": sides})


def free_of(seconds, *, surface=1.0):
    """A free run on the left side."""
    return SimpleNamespace(
        run=run_of(seconds, surface=surface),
        car=None,
        geometry=SimpleNamespace(choices={"gate": "left"}),
        solution=lambda run: SimpleNamespace(time=run.point.time, choices=run.choices),
    )


def solved(*seconds):
    return [SimpleNamespace(base=True, why="", run=lambda at=at: run_of(at)) for at in seconds]


def after(seconds):
    """A side on which nothing was found, after a while."""
    time.sleep(seconds)
    return _Side(why="The gap is 1.2 m.")


def sides(*found):
    return OtherSides(surface=1.0, count=len(found), found=iter(found))


def test_the_fastest_side_is_told_and_one_without_a_way_does_not_hide_it():
    best, findings = sides(*solved(34.0), _Side(why="The gap is 1.2 m."), *solved(33.5)).fastest(
        free_of(35.0), until=NEVER
    )
    assert best.time == 33.5
    assert [finding.code for finding in findings] == ["side-unsolved", "faster-side"]
    assert "The gap is 1.2 m." in findings[0].message
    assert "1.50 s" in findings[1].message


def test_slower_sides_say_nothing():
    assert sides(*solved(36.0, 35.2)).fastest(free_of(35.0), until=NEVER) == (None, ())


def test_without_time_the_most_promising_is_compared_and_how_many_are_not_is_said():
    best, findings = sides(*solved(34.0, 33.0, 32.0)).fastest(free_of(35.0), until=time.monotonic() + NOW)
    assert best.time == 34.0
    assert [finding.code for finding in findings] == ["faster-side", "sides-not-compared"]
    assert findings[1].message.startswith("2 more sides were")


@pytest.mark.filterwarnings("error")
def test_sides_for_which_there_is_no_time_are_let_go_without_a_word():
    from joblib import Parallel, delayed

    work = (delayed(after)(seconds) for seconds in (0.0, 30.0))
    found = Parallel(n_jobs=2, pre_dispatch=1, batch_size=1, return_as="generator")(work)
    _, findings = OtherSides(surface=1.0, count=2, found=found).fastest(free_of(35.0), until=time.monotonic() + NOW)
    assert findings[-1].code == "sides-not-compared"
    assert next(found, None) is None


@pytest.mark.parametrize("surface", [0.995, 1.2])
def test_a_side_is_compared_with_the_friction_of_the_free_run(monkeypatch, surface):
    """1% of friction is about 0.4% of the time: 0.15 s in 35 s, which would be told of the side."""
    asked = []
    monkeypatch.setattr(debrief_sides.predict, "parameters", lambda _, __, *, surface: surface)
    monkeypatch.setattr(debrief_sides, "rerun", lambda _, p: asked.append(p) or run_of(35.1))
    assert sides(*solved(34.9)).fastest(free_of(35.0, surface=surface), until=NEVER) == (None, ())
    assert asked == [surface]


def test_a_side_that_has_no_way_with_the_friction_found_is_told(monkeypatch):
    def refused(*_):
        raise NoWayError("The car does not fit through.")

    monkeypatch.setattr(debrief_sides.predict, "parameters", lambda *_, **__: None)
    monkeypatch.setattr(debrief_sides, "rerun", refused)
    best, (finding,) = sides(*solved(34.0)).fastest(free_of(35.0, surface=1.1), until=NEVER)
    assert best is None
    assert "does not fit through" in finding.message


def test_a_side_without_room_is_an_answer_and_no_failure(monkeypatch):
    def refused(*_, **__):
        raise NoWayError("The car does not fit through.")

    monkeypatch.setattr(debrief_sides.predict, "parameters", refused)
    assert _side(None, None, surface=1.0) == _Side(why="The car does not fit through.")
