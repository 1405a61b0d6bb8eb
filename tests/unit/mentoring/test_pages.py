"""A driver's page worked by hand, and who needs what first."""

from __future__ import annotations

from datetime import date

import pytest

from conewise.event.day import Entry
from conewise.event.runs import FeatureLoss, RideAlong, Run
from conewise.mentoring.pages import driver_page, overview
from tests.days import CLUB, event, event_day, person

RULE = CLUB.penalty


def run(order, raw=None, *, key="ana", at="spring", **facts):
    facts = {"outcome": "dnf"} | facts if raw is None else facts
    return Run.model_validate(
        {"id": f"{at}-{key}-{order}", "event": at, "person": key, "order": order, "raw_time": raw} | facts
    )


def day(*runs, **facts):
    entries = (Entry(person="ana", car="pepper"), Entry(person="bo", car="pepper"))
    people = facts.pop("people", (person(), person("bo")))
    return event_day(event=event(entries=entries, **facts), people=people, runs=runs)


def page(*days):
    return driver_page("ana", [(one, RULE) for one in days])


def test_a_day_worked_by_hand():
    """62.0, 60.0 with a cone, 60.5, DNF: learned 2.0, the middle raw time is 60.5, the best total 60.5."""
    found = page(day(run(1, 62.0), run(2, 60.0, cones=1), run(3, 60.5), run(4), run(5, 50.0, is_void=True)))
    (only,) = found.days
    assert (only.first, only.best, only.total) == (62.0, 60.0, 60.5)
    assert (only.learned, only.spread, only.cones, only.n_without_time) == (2.0, 0.5, 1, 1)
    assert only.cones_per_run == 0.25


@pytest.mark.parametrize(
    ("runs", "words"),
    [
        ((), "first run slowly"),
        ((run(1, 60.0), run(2)), "Learn the course"),
        ((run(1, 60.0, cones=1), run(2, 60.0, cones=1)), "Room at the key cones"),
        ((run(1, 60.0), run(2, 63.0), run(3, 64.0)), "Repeat a good run"),
        ((run(1, 60.0), run(2, 60.2)), "Record a run"),
        ((run(1, 60.0, losses=(FeatureLoss(feature="s1", kind="slalom", seconds=0.8),)),), "Work on the slalom"),
    ],
)
def test_the_next_step(runs, words):
    assert words in page(day(*runs)).next_step


def test_progress_over_the_season_by_kind_of_feature():
    def lost(*seconds):
        return tuple(FeatureLoss(feature=f"f{k}", kind="slalom", seconds=value) for k, value in enumerate(seconds))

    spring = day(run(1, 60.0, losses=lost(1.0, 2.0)))
    autumn = day(run(1, 59.0, at="autumn", losses=lost(0.5)), id="autumn", name="Autumn", day=date(2026, 9, 1))
    found = page(autumn, spring)
    assert found.progress == {"slalom": (("Spring day", 1.5), ("Autumn", 0.5))}
    assert [one.event for one in found.days] == ["Spring day", "Autumn"]


def test_ride_alongs_from_runs_and_from_notes():
    ride = RideAlong(id="x", event="spring", driver="bo", passenger="ana", said="look up")
    of = day(run(1, 60.0, passenger="bo"))
    found = page(of.changed(ride_alongs=(ride,)))
    assert found.ride_alongs == (
        "Spring day, run 1: Bo rode along with Ana.",
        'Spring day: Ana with Bo. "look up"',
    )


def test_the_overview_has_first_who_needs_most():
    of = day(run(1, 60.0), run(2, 60.1), run(1, 60.0, key="bo"), run(2, key="bo"))
    assert [one.person for one in overview([(of, RULE)])] == ["bo", "ana"]


def test_the_overview_of_one_mentor():
    people = (person(mentor="kim"), person("bo"), person("kim"))
    assert [one.person for one in overview([(day(people=people), RULE)], mentor="kim")] == ["ana"]
