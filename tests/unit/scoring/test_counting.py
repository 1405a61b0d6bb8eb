"""What a run counts: hand-worked, with the penalties of both shipped rule sets."""

from __future__ import annotations

import pytest

from conewise.event.rules import load_event_rules
from conewise.event.runs import Run
from conewise.scoring.counting import best_first, counted

CLUB = load_event_rules("club").penalty
STUDENT = load_event_rules("student").penalty


def run(order=1, **facts):
    return Run.model_validate({"id": f"r{order}", "event": "e", "person": "p", "order": order} | facts)


@pytest.mark.parametrize(
    ("facts", "rule", "total", "why"),
    [
        ({"raw_time": 62.345}, CLUB, 62.345, ""),
        ({"raw_time": 62.345, "cones": 2}, CLUB, 66.345, ""),
        ({"raw_time": 62.345, "outcome": "off"}, CLUB, None, "OFF"),
        ({"raw_time": 62.345, "outcome": "off", "cones": 1}, STUDENT, 84.345, ""),
        ({"outcome": "off"}, STUDENT, None, "OFF"),
        ({"outcome": "dnf"}, CLUB, None, "DNF"),
        ({"raw_time": 62.345, "outcome": "dsq"}, CLUB, None, "DSQ"),
        ({"outcome": "dns"}, STUDENT, None, "DNS"),
        ({"raw_time": 62.345, "cones": 3, "is_void": True}, CLUB, None, "re-run"),
    ],
)
def test_totals(facts, rule, total, why):
    found = counted(run(**facts), rule)
    assert (found.total, found.why) == (total, why)


def test_the_published_example_of_the_student_rules():
    """Formula SAE Rules 2026, D.11.3: 2 s a cone, 20 s off course; 55 s, two cones and one off course are 79.0 s."""
    assert counted(run(raw_time=55.0, cones=2, outcome="off"), STUDENT).total == 79.0


def test_the_earlier_of_two_equal_runs_comes_first():
    runs = [
        counted(run(3, raw_time=60.0), CLUB),
        counted(run(1, outcome="dnf"), CLUB),
        counted(run(2, raw_time=60.0), CLUB),
    ]
    assert [one.run.order for one in best_first(runs)] == [2, 3]
