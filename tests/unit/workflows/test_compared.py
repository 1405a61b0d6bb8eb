"""Two recorded runs side by side: which runs, what is lost where, and what is said."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from conewise.cli import debrief_text
from conewise.reports.comparison_record import comparison_record, feature_differences
from conewise.reports.units import UNIT_SYSTEMS
from conewise.workflows import compared
from conewise.workflows.compared import AgainstError, SecondRun, answer_comparison, second_run
from conewise.workflows.debrief import DebriefQuestion, DebriefUsageError, refuse_question
from tests.debrief_fixture import compared_runs


@pytest.mark.parametrize(
    ("told", "meant"),
    [
        ("4", (None, 4)),
        ("evening.csv", (Path("evening.csv"), None)),
        ("logs/evening.csv:2", (Path("logs/evening.csv"), 2)),
    ],
)
def test_the_second_run_is_a_number_or_a_file(told, meant):
    found = second_run(told)
    assert (found.log, found.number) == meant


@pytest.mark.parametrize("told", ["", ":3"])
def test_nothing_is_no_second_run(told):
    with pytest.raises(AgainstError, match="neither a number nor a file"):
        second_run(told)


def test_what_is_lost_sums_to_the_difference_of_the_runs():
    answer = compared_runs()
    rows = feature_differences(answer)
    assert sum(row.lost for row in rows) == pytest.approx(answer.gap, abs=1e-9)
    record = json.loads(json.dumps(comparison_record(answer)))
    assert record["gap_s"] == pytest.approx(sum(f["lost_s"] for f in record["features"]))
    assert record["against"] == "run 4 of the evening"
    assert record["along"]["later_s"][-1] == pytest.approx(record["gap_s"], abs=1e-9)
    assert record["along"]["later_s"][0] == pytest.approx(0.0, abs=1e-9)


def test_the_text_names_both_runs(capsys):
    debrief_text.print_comparison(compared_runs(), UNIT_SYSTEMS["us"])
    said = capsys.readouterr().out
    assert "slower than run 4 of the evening" in said
    assert "slowest mph" in said


@pytest.mark.parametrize("option", ["--best", "--pdf", "--surface", "--limit", "--other", "--keep", "--workers"])
def test_two_runs_are_compared_without_what_a_solve_needs(option):
    with pytest.raises(DebriefUsageError, match=f"Two runs that are compared do not take {option}"):
        refuse_question(log=Path("a.csv"), times=None, workers=None, given={"--against", option})
    refuse_question(log=Path("a.csv"), times=None, workers=None, given={"--against", "--hit", "--report", "--run"})


def test_times_alone_take_nothing_of_a_recording():
    with pytest.raises(DebriefUsageError, match="do not take --run, --hit and --report"):
        refuse_question(log=None, times=["47.3"], workers=None, given={"--hit", "--run", "--report", "--surface"})
    refuse_question(log=None, times=["47.3"], workers=None, given={"--surface"})


def test_a_cone_that_the_course_has_not_is_refused_beside_another_run_too():
    demo = Path(compared.__file__).parents[1] / "demo"
    question = DebriefQuestion(
        log=Path("none.csv"),
        course=demo / "courses" / "harbour-yard.toml",
        car=demo / "cars" / "marigold.toml",
        hit=frozenset({"nosuchcone"}),
    )
    with pytest.raises(DebriefUsageError, match="no cone 'nosuchcone'"):
        answer_comparison(question, SecondRun(told="2", number=2), progress=print)


def test_runs_of_the_demo_recording(tmp_path):
    """The one run of the demo recording beside itself, named as another file's: nothing is lost anywhere."""
    demo = Path(compared.__file__).parents[1] / "demo"
    log = demo / "logs" / "harbour-yard-evening.csv"
    copy = tmp_path / "copy.csv"
    copy.write_bytes(log.read_bytes())
    question = DebriefQuestion(
        log=log, course=demo / "courses" / "harbour-yard.toml", car=demo / "cars" / "marigold.toml"
    )
    answer = answer_comparison(question, second_run(str(copy)), progress=lambda _words: None)
    assert answer.other.name == "run 1 of copy.csv"
    assert answer.gap == pytest.approx(0.0, abs=1e-9)
    assert max(abs(row.lost) for row in feature_differences(answer)) < 1e-9
    with pytest.raises(AgainstError, match="run 1 itself"):
        answer_comparison(question, second_run("1"), progress=lambda _words: None)
    faster = replace(answer, other=replace(answer.other, time=0.98 * answer.other.time))
    assert np.sum([row.lost for row in feature_differences(faster)]) == pytest.approx(0.02 * answer.driven.run_time)
