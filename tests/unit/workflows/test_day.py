"""All runs of a recording together, and a course of recordings: on made days and from the demo's recording."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import conewise.demo
from conewise.cli import log_text
from conewise.course.files import read_course, write_course
from conewise.course.reference import lay_out
from conewise.logs.export import csv_text
from conewise.logs.seasons import day_of_runs
from conewise.logs.simulated import SensorNoise, simulated_log
from conewise.reports.day_record import day_record
from conewise.workflows.day import ConesOfRunError, answer_day, course_of_logs, told_cones
from tests.driven import Drive, day_of
from tests.solved import short_course

DEMO = Path(conewise.demo.__file__).parent
CAR = DEMO / "cars" / "marigold.toml"
PACES = (0.55, 0.6, 0.65, 0.7)


@pytest.fixture(scope="module")
def day(tmp_path_factory):
    """Four runs, each faster than the one before, as a receiver of 10 Hz records them; and their course."""
    folder = tmp_path_factory.mktemp("day")
    write_course(short_course(), folder / "short.toml")
    made = day_of(lay_out(short_course()), [Drive(friction=pace) for pace in PACES])
    noise = SensorNoise(slow_position=0.05, white_position=0.02, delay=0.0)
    log = simulated_log(made.motion(moves=1e-3), rng=np.random.default_rng(4), noise=noise, mounting=np.eye(3))
    (folder / "day.csv").write_text(csv_text(log))
    return folder, [finish - start for start, finish in made.truth]


@pytest.fixture(scope="module")
def answer(day):
    folder, _ = day
    return answer_day(folder / "day.csv", course=folder / "short.toml", car=CAR, cones={2: 1})


def test_every_run_has_its_time_and_the_trend_is_seen(answer, day):
    _, true = day
    assert answer.numbers == (1, 2, 3, 4)
    assert [t.time for t in answer.tries] == pytest.approx(true, abs=0.2)  # staging and front are typical: 0.1 s
    assert answer.day.best == pytest.approx(min(true), abs=0.2)
    assert answer.day.gain_per_doubling > 0.2
    assert answer.day.is_still_learning
    assert (answer.day.cones, answer.day.n_clean) == (1, 3)
    for k in range(4):
        assert sum(feature.times[k] for feature in answer.features) == pytest.approx(answer.tries[k].time, abs=1e-6)


def test_the_record_and_the_text_say_the_same(answer, capsys):
    record = json.loads(json.dumps(day_record(answer)))
    assert record["best_features_s"] <= record["best_features_joined_s"] + 1e-9
    assert record["runs"][1] == {"run": 2, "cones": 1}
    assert record["features"][0]["kind"] == "launch"
    assert sum(f["best_s"] for f in record["features"]) == pytest.approx(record["best_features_s"])
    log_text.print_day(answer)
    said = capsys.readouterr().out
    assert "4 finished runs of 4 tries" in said
    assert "You were still learning" in said
    assert f"{record['best_features_s']:.2f} s" in said


def test_of_three_runs_nothing_is_told_of_learning_and_scatter(answer):
    few = replace(answer, day=day_of_runs(answer.numbers[:3], [t.time for t in answer.tries[:3]]))
    said = " ".join(log_text.day_sentences(few))
    assert "takes four finished runs or more" in said
    assert "scatter" not in said
    assert "learning" not in said
    record = day_record(few)
    assert (record["gain_per_doubling_s"], record["spread_s"]) == (None, None)
    assert record["gain_interval_s"] == [None, None]


@pytest.mark.parametrize("told", ["3", "x:1", "3:", "3:one"])
def test_cones_that_cannot_be_read_are_refused(told):
    with pytest.raises(ConesOfRunError, match="no run and count"):
        told_cones([told])


def test_cones_of_a_run_that_is_not_there_are_refused(day):
    folder, _ = day
    assert told_cones(["3:1", "1:2"]) == {3: 1, 1: 2}
    with pytest.raises(ConesOfRunError, match="finished are 1, 2, 3, 4"):
        answer_day(folder / "day.csv", course=folder / "short.toml", car=CAR, cones={9: 1})


def test_a_course_of_a_recording_can_be_read_and_is_as_long(day, tmp_path):
    folder, _ = day
    driven, left_out = course_of_logs([folder / "day.csv"], tmp_path / "driven.toml")
    assert left_out == []
    again = lay_out(read_course(tmp_path / "driven.toml"))
    assert again.path.length == pytest.approx(driven.path.length, rel=0.02)  # shortest between cones, not the middle
    assert again.path.length == pytest.approx(lay_out(short_course()).path.length, rel=0.25)  # to where all still drove
    assert len(driven.traces) == 4
