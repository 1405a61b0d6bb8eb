"""Results worked by hand; see CITATION.md."""

from __future__ import annotations

import pytest

from conewise.event.day import Entry
from conewise.event.rules import load_event_rules
from conewise.event.runs_file import read_run_table
from conewise.scoring.results import day_results
from tests.days import car, event, event_day, person

CLUB = load_event_rules("club")
NAMES = ("ana", "bo", "cy", "dee", "eli")

# Two classes; S has index 0.800, R has 0.850.
#        run 1        run 2       run 3       best      total
# ana    62.345+1     60.100      59.900+1    run 2     60.100
# bo     60.100       61.000      DNF         run 1     60.100   tied; next best: ana 61.900, bo 61.000: bo is first
# cy     58.000+2     OFF         re-run      run 1     62.000
# dee    55.000       54.200+1    56.000      run 1     55.000   54.200+1 is 56.200
# eli    DNS          DNF                     none      -
WRITTEN = """driver,run,time
ana,1,62.345+1
ana,2,60100
ana,3,59.900 (1)
bo,1,1:00.100
bo,2,61.0
bo,3,DNF
cy,1,"58,000+2"
cy,2,OFF
cy,3,57.000 re-run
dee,1,55.000
dee,2,54.200+1
dee,3,56.000
eli,1,DNS
eli,2,dnf
"""


def entry(key, class_code):
    return Entry(person=key, car="pepper", number=str(NAMES.index(key) + 1), class_code=class_code)


def worked(rules=CLUB, table=WRITTEN, **facts):
    entries = (entry("ana", "S"), entry("bo", "S"), entry("cy", "S"), entry("dee", "R"), entry("eli", "R"))
    day = event_day(
        event=event(classes=("S", "R"), entries=entries), people=tuple(person(key) for key in NAMES), cars=(car(),)
    )
    runs = read_run_table(table.encode(), day, file="runs.csv").runs
    return day_results(day.changed(runs=runs), rules, indexes={"S": 0.8, "R": 0.85})


def rows(results, *fields):
    return {row.person: tuple(getattr(row, name) for name in fields) for row in results.rows}


def test_best_run_cones_and_total():
    assert rows(worked(), "raw_time", "cones", "total") == {
        "bo": (60.1, 0, 60.1),
        "ana": (60.1, 0, 60.1),
        "cy": (58.0, 2, 62.0),
        "dee": (55.0, 0, 55.0),
        "eli": (None, 0, None),
    }


def test_places_in_class_with_the_tie_decided_by_the_next_best_run():
    found = worked()
    assert rows(found, "place", "behind", "is_tied") == {
        "bo": (1, 0.0, False),
        "ana": (2, 0.0, False),
        "cy": (3, 1.9, False),
        "dee": (1, 0.0, False),
        "eli": (None, None, False),
    }
    assert [row.person for row in found.of_class("S")] == ["bo", "ana", "cy"]


def test_all_classes_by_indexed_time():
    """60.1 x 0.8 = 48.08; 62.0 x 0.8 = 49.6; 55.0 x 0.85 = 46.75."""
    assert rows(worked(), "indexed", "overall_place") == {
        "dee": (46.75, 1),
        "bo": (48.08, 2),
        "ana": (48.08, 3),
        "cy": (49.6, 4),
        "eli": (None, None),
    }


@pytest.mark.parametrize(
    ("ties", "places", "is_tied"),
    [("shared", (1, 1, 3), True), ("earlier", (2, 1, 3), False), ("next-best", (2, 1, 3), False)],
)
def test_ties_by_rule(ties, places, is_tied):
    """Bo drove 60.100 in the first run, Ana in the second."""
    found = rows(worked(CLUB.changed(results=CLUB.results.changed(ties=ties))), "place", "is_tied")
    assert tuple(found[key][0] for key in ("ana", "bo", "cy")) == places
    assert found["ana"][1] is is_tied


def test_two_best_runs_added_up():
    """ana 60.100 + 61.900; bo 60.100 + 61.000; cy has one; dee 55.000 + 56.000."""
    found = rows(worked(CLUB.changed(results=CLUB.results.changed(counted_runs=2))), "total", "place")
    assert found == {"bo": (121.1, 1), "ana": (122.0, 2), "cy": (None, None), "dee": (111.0, 1), "eli": (None, None)}


def test_student_rules_give_off_course_twenty_seconds():
    """cy's run 2 has no time, so the OFF gives none; with one it is 20 s more: 57.000 + 20 = 77.000."""
    student = load_event_rules("student")
    assert rows(worked(student), "total")["cy"] == (62.0,)
    timed = WRITTEN.replace('cy,1,"58,000+2"', "cy,1,DNF").replace("cy,2,OFF", "cy,2,57.000 OFF")
    assert rows(worked(student, timed), "total")["cy"] == (77.0,)


def test_a_correction_changes_the_result():
    """Bo's 60.100 had a cone: 62.100; his best is then 61.000, and ana leads."""
    found = rows(
        worked(table=WRITTEN.replace("driver,run,time", "driver,run,time,reason") + "bo,1,60.100+1,cone seen late\n"),
        "total",
        "place",
    )
    assert found["bo"] == (61.0, 2)
    assert found["ana"] == (60.1, 1)
