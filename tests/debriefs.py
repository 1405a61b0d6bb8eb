"""Debriefs without a solve: a driven run along a short course, and made-up runs beside it."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np

from conewise.course.reference import lay_out
from conewise.logs.align import laid_along
from conewise.logs.breakdown import Breakdown, FeatureGap, FrictionFound, Interval
from conewise.logs.focus import Cause, Focus
from conewise.logs.measures import measures
from conewise.logs.run_finder import find_runs
from conewise.reports.debrief_answer import DebriefAnswer
from conewise.reports.run_told import RunTold, TriedRun
from conewise.runs import Body
from tests.driven import FRONT, Drive, day_of
from tests.solved import short_course

BODY = Body(length=4.2, width=1.7, front_reach=FRONT)
TYPICAL = FrictionFound(value=1.0, low=0.8, high=float("inf"), origin="typical")
WIDE = Focus(
    feature="gate-1",
    cause=Cause.WIDE_AT_CONE,
    seconds=0.31,
    chance=0.9,
    evidence="At cone 3 the car was 0.9 m from the base.",
    advice="Pass this cone closer.",
)


@lru_cache(maxsize=1)
def driven_run():
    """Geometry, track, run and trace of one drive along the short course."""
    geometry = lay_out(short_course())
    track = day_of(geometry, [Drive(friction=0.8)]).track(np.random.default_rng(1), noise=0.02)
    (run,) = find_runs(track, geometry, front_reach=FRONT)
    return geometry, track, run, laid_along(track, run)


def faster(trace, share, name):
    """The same line in a share of the time."""
    return replace(trace, name=name, time=trace.time * share, speed=trace.speed / share)


def gap_of(span, times, half):
    """One feature's gap from three times, with intervals of a half width."""
    measured, on_line, best = times
    line, speed = on_line - best, measured - on_line
    return FeatureGap(
        id=span.id,
        kind=span.kind.value,
        start=span.start,
        end=span.end,
        measured=measured,
        best_on_line=on_line,
        best=best,
        line_interval=Interval(line - half, line + half),
        speed_interval=Interval(speed - half, speed + half),
    )


@lru_cache(maxsize=2)
def made_up_debrief(*, is_reduced=False):
    """A run that loses 3% by its speed and 2% by its line."""
    geometry, _, run, trace = driven_run()
    on_line, best = faster(trace, 0.97, "best on this line"), faster(trace, 0.95, "best run")
    done = measures(trace, geometry, BODY)
    times = np.array([row.result.time for row in done.features])
    middle = np.nan if is_reduced else 0.97
    gaps = tuple(
        gap_of(span, (t, middle * t, 0.95 * t), np.nan if is_reduced else 0.05)
        for span, t in zip(geometry.spans, times, strict=True)
    )
    whole = Interval(np.nan, np.nan) if is_reduced else Interval(0.2, 0.5)
    told = RunTold(
        file="evening.csv",
        car="invented",
        run=1,
        time=run.time,
        time_deviation=0.02,
        tries=(TriedRun(number=1, kind="complete", time=run.time, furthest=run.furthest),),
        measures=done,
        position_rate=10.0,
        lateral_deviation=0.1,
        speed_deviation=0.05,
    )
    return DebriefAnswer(
        car="invented",
        geometry=geometry,
        driven=trace,
        other=best,
        on_line=None if is_reduced else on_line,
        breakdown=Breakdown(
            features=gaps,
            friction=TYPICAL,
            n_paths=0 if is_reduced else 12,
            line_interval=whole,
            speed_interval=whole,
        ),
        focuses=() if is_reduced else (WIDE,),
        measures=done,
        position_rate=10.0,
        told=told,
    )
