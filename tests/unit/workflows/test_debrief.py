"""What a debrief asks and withholds: runs by number, times without a recording, the recording that carries no line."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import conewise.demo
from conewise.course.reference import lay_out
from conewise.event.run_time import TimeFormError
from conewise.findings import Finding
from conewise.logs.breakdown import FrictionFound, Interval
from conewise.logs.laid import lay_day
from conewise.logs.log import Channel, Log
from conewise.logs.problem import NothingToFuseError
from conewise.logs.quality import review
from conewise.reports.debrief_words import CANNOT_TELL, friction_sentence, gap_sentence, part, paths_sentence
from conewise.runs import Body
from conewise.workflows import predict
from conewise.workflows.debrief import DebriefQuestion, DebriefUsageError, _Debrief, answer_debrief, told_run
from conewise.workflows.debrief_times import answer_times, timed_run
from conewise.workflows.recorded import NoRunError, Recorded, RunNumberError, lateral_deviation, measured, recorded
from tests.cars import DEMO_NAMES, demo_car
from tests.debriefs import BODY, driven_run, made_up_debrief
from tests.driven import FRONT, Drive, day_of
from tests.reports_fixture import made_up_answer
from tests.solved import demo_course, short_course

DEMO = Path(conewise.demo.__file__).parent
COURSE, CAR = DEMO / "courses" / "harbour-yard.toml", DEMO / "cars" / "marigold.toml"


@pytest.fixture(scope="module")
def day():
    """Three tries, the second broken off."""
    geometry = lay_out(short_course())
    drives = [Drive(friction=0.8), Drive(until=60.0, leave=8.0), Drive(friction=0.7)]
    track = day_of(geometry, drives).track(np.random.default_rng(2), noise=0.05)
    return Recorded(
        log=Log(file="day.csv", channels={}),
        track=track,
        day=lay_day(track, geometry, is_placed=True, front_reach=FRONT, half_width=BODY.width / 2.0),
    )


def test_the_last_finished_run_unless_one_is_named(day):
    assert [laid.run.number for laid in day.finished] == [1, 3]
    assert day.run(None).run.number == 3
    assert day.run(1).run.number == 1


def test_a_run_that_did_not_finish_is_not_there(day):
    with pytest.raises(RunNumberError, match="finished are 1, 3"):
        day.run(2)
    with pytest.raises(NoRunError):
        replace(day, day=replace(day.day, runs=day.day.runs[1:2])).run(None)


def withheld(day, rate, spread=1.0):
    laid = day.run(None)
    trace = replace(laid.trace, lateral_offset_deviation=laid.trace.lateral_offset_deviation * spread)
    debrief = _Debrief(
        question=DebriefQuestion(log=Path("day.csv"), course=COURSE, car=CAR),
        car=demo_car(DEMO_NAMES[0]),
        day=replace(day, track=replace(day.track, position_rate=rate)),
        body=BODY,
        began=0.0,
        progress=print,
    )
    return debrief._withheld(replace(laid, trace=trace))


def test_a_slow_or_vague_receiver_carries_no_line(day):
    assert withheld(day, 10.0) == ()
    (slow,) = withheld(day, 1.0)
    assert "1 positions a second" in slow.message
    assert "5 a second or more" in slow.message
    (vague,) = withheld(day, 10.0, spread=2.0 / lateral_deviation(day.run(None)))
    assert "2.00 m across" in vague.message


def test_distances_to_cones_are_those_of_a_recording_that_tells_the_line(day):
    laid = day.run(None)
    assert measured(day, laid, geometry=laid.geometry, body=BODY).cones
    slow = replace(day, track=replace(day.track, position_rate=1.0))
    assert measured(slow, laid, geometry=laid.geometry, body=BODY).cones == ()
    (told,) = withheld(day, 1.0)
    assert "nor how near to cones" in told.message
    feature = laid.geometry.passes[0].feature
    lost = replace(laid, run=replace(laid.run, guessed=frozenset({feature})))
    assert feature not in {cone.feature for cone in measured(day, lost, geometry=laid.geometry, body=BODY).cones}


def test_the_recording_of_the_examples_has_one_clean_run():
    geometry = lay_out(demo_course("harbour-yard"))
    found = recorded(DEMO / "logs" / "harbour-yard-evening.csv", geometry, Body(length=4.2, width=1.8, front_reach=1.9))
    (laid,) = found.finished
    assert laid.run.kind == "complete"
    assert laid.run.time == pytest.approx(38.18, abs=0.15)  # as driven; the start is unsure to 0.08 s
    assert lateral_deviation(laid) < 0.1


@pytest.mark.parametrize(
    ("text", "raw", "cones"),
    [("47.31", 47.31, 0), ("46,02+1", 46.02, 1), (" 60.0+12 ", 60.0, 12), ("1:02.5 (1)", 62.5, 1)],
)
def test_a_time_with_its_cones(text, raw, cones):
    run = timed_run(text)
    assert (run.raw, run.cones) == (raw, cones)
    assert run.scored(2.0) == pytest.approx(raw + 2.0 * cones)


@pytest.mark.parametrize("text", ["", "fast", "47.3+", "-5", "4", "601", "46.0+1.5", "1e2", "DNF", "46.02 re-run"])
def test_what_is_no_time(text):
    with pytest.raises(TimeFormError):
        timed_run(text)


@pytest.mark.parametrize(
    ("times", "cause", "seconds"),
    [
        (["41.0", "40.9+1", "41.1+2"], "cones", 2.0),
        (["44.0", "41.0", "43.0"], "spread", 2.0),
        (["41.0", "41.05"], "pace", None),
    ],
)
def test_times_alone_give_a_focus(monkeypatch, times, cause, seconds):
    best = made_up_answer().solution
    monkeypatch.setattr(predict, "fastest_run", lambda *_, **__: best)
    answer = answer_times(times, course=COURSE, car=CAR, surface=None, progress=print)
    assert answer.focus.cause == cause
    assert answer.focus.seconds == pytest.approx(answer.gap if seconds is None else seconds)
    assert answer.gap == pytest.approx(min(run.raw for run in answer.runs) - best.time)
    assert answer.friction.is_lower_bound


@pytest.mark.parametrize(
    ("times", "evidence"),
    [
        (["41.0+1", "41.2"], "1 cone in 2 runs: 1.00 s a run."),
        (["47.3", "46.0"], "The two runs are 1.30 s apart, 0.65 s a run."),
        (["44.0", "41.0", "43.0"], "The middle run is 2.00 s behind the fastest of 3."),
    ],
)
def test_times_alone_are_told_as_they_are(monkeypatch, times, evidence):
    monkeypatch.setattr(predict, "fastest_run", lambda *_, **__: made_up_answer().solution)
    assert answer_times(times, course=COURSE, car=CAR, surface=None, progress=print).focus.evidence == evidence


def test_a_time_that_cannot_be_is_doubted(monkeypatch):
    best = replace(made_up_answer().solution, time=50.0)
    monkeypatch.setattr(predict, "fastest_run", lambda *_, **__: best)
    answer = answer_times(["41.0"], course=COURSE, car=CAR, surface="0.9", progress=print)
    assert [finding.code for finding in answer.findings][-1] == "faster-than-possible"
    assert (answer.friction.value, answer.friction.origin) == (0.9, "surface")
    assert "faster than the best possible" in answer.focus.evidence
    assert "belong together" in answer.focus.advice


def test_findings_of_a_debrief_follow_the_units_asked_for():
    geometry = lay_out(short_course())
    drives = [
        Drive(until=60.0, leave=8.0),
        Drive(friction=0.7, offset=lambda s: 4.0 * np.exp(-(((s - 80.0) / 8.0) ** 2))),
    ]
    track = day_of(geometry, drives).track(np.random.default_rng(2), noise=1.5)
    laid = lay_day(track, geometry, is_placed=True, front_reach=FRONT, half_width=BODY.width / 2.0)
    found = Recorded(log=log_with_findings(), track=track, day=laid)
    told = {
        system: told_run(found, found.run(None), car=demo_car(DEMO_NAMES[0]), body=BODY, system=system).findings
        for system in ("metric", "us")
    }
    assert {"out-of-range", "side-unsure"} <= {finding.code for finding in told["us"]}
    metric, american = r"\d (m|km|m/s|m/s2|km/h)\b", r"\d (ft|mi|mph|g)\b"
    assert [len(re.findall(metric, f.message)) for f in told["metric"]] == [
        len(re.findall(american, f.message)) for f in told["us"]
    ]
    assert not any(re.search(metric, finding.message) for finding in told["us"])


def log_with_findings():
    """A log of which speeds that cannot be were left out."""
    speed = Channel("speed", np.arange(50) / 10.0, np.append(np.full(49, 10.0), 150.0), "speed")
    return review(Log(file="day.csv", channels={"speed": speed}))


def test_a_recording_that_cannot_be_fused_tells_what_was_found(monkeypatch):
    finding = Finding("warning", "zero-fix", "120 places lie at 0, 0.", "day.csv")
    log = Log(file="day.csv", channels={}, findings=(finding,))
    monkeypatch.setattr("conewise.workflows.recorded.open_log", lambda *_, **__: log)
    with pytest.raises(NothingToFuseError) as caught:
        recorded(Path("day.csv"), lay_out(short_course()), BODY)
    assert caught.value.findings == (finding,)


def test_a_cone_that_the_course_lacks_cannot_have_been_hit():
    question = DebriefQuestion(
        log=DEMO / "logs" / "harbour-yard-evening.csv", course=COURSE, car=CAR, hit=frozenset({"zz"})
    )
    with pytest.raises(DebriefUsageError, match="has no cone 'zz'") as caught:
        answer_debrief(question, progress=print)
    assert "zl" in caught.value.hint


def test_a_part_smaller_than_its_interval_is_not_told():
    assert part(0.2, Interval(0.15, 0.25)) == "+0.20 ±0.05"
    assert part(-0.2, Interval(-0.25, -0.15)) == "−0.20 ±0.05"
    assert part(0.05, Interval(0.0, 0.1)) == CANNOT_TELL
    assert part(0.02, Interval(0.018, 0.022)) == "+0.02 ±0.01"  # nothing is known to less than a hundredth
    assert part(float("nan"), Interval(0.0, 0.1)) == CANNOT_TELL


def test_sentences_say_where_friction_is_from():
    known = FrictionFound(value=0.95, low=0.9, high=1.0, origin="skidpad")
    assert friction_sentence(known) == "Friction 0.95 of the car file's (0.90 to 1.00), from a recording at the limit."
    shown = FrictionFound(value=0.93, low=0.93, high=1.0, origin="surface")
    assert "as told for the surface, raised to what the run shows" in friction_sentence(shown)
    assert "at least 0.80" in friction_sentence(made_up_debrief().breakdown.friction)
    assert "in the line (0.20 to 0.50)" in gap_sentence(made_up_debrief())
    assert paths_sentence(made_up_debrief()).endswith("recording allows, if the friction is 1.00.")
    assert driven_run()[2].kind == "complete"
