"""Debriefs for the report: the made-up run beside lines that lie apart from it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from conewise.findings import Finding
from conewise.logs.breakdown import Interval
from conewise.logs.focus import Cause
from conewise.logs.where import Where
from tests.debriefs import WIDE, made_up_debrief

APART = 0.8  # of the other line, at its farthest [m]
FINDINGS = (
    Finding("note", "no-pedals", "There are no pedals: coasting is taken from the acceleration.", "evening.csv"),
    Finding("warning", "late-fix", "The first position came 1.2 s after the start beam.", "evening.csv"),
)


def _apart(trace):
    """The same run on a line that weaves about its own."""
    aside = APART * np.sin(trace.station / 9.0)
    return replace(
        trace,
        lateral_offset=trace.lateral_offset + aside,
        x=trace.x - aside * np.sin(trace.heading),
        y=trace.y + aside * np.cos(trace.heading),
    )


def told_debrief():
    """A debrief with every part filled in; its first two features are told, the others are not."""
    base = made_up_debrief()
    first, second, *others = base.breakdown.features
    told = tuple(
        replace(
            gap,
            line_interval=Interval(gap.line - 0.4 * abs(gap.line), gap.line + 0.4 * abs(gap.line)),
            speed_interval=Interval(gap.speed - 0.3 * abs(gap.speed), gap.speed + 0.6 * abs(gap.speed)),
        )
        for gap in (first, second)
    )
    slow = replace(
        WIDE,
        feature="sweeper-1",
        cause=Cause.SLOW_ENTRY,
        seconds=0.14,
        evidence="At the slowest point you drove 40.0 km/h, 3.1 km/h less than your line allows.",
        advice="Come off the brake a little sooner.",
    )
    return replace(
        base,
        other=_apart(base.other),
        breakdown=replace(base.breakdown, features=(*told, *others)),
        focuses=(*base.focuses, slow),
        findings=FINDINGS,
    )


def reduced_debrief():
    """A debrief of a recording that cannot tell line from speed: a place, and no cause."""
    base = made_up_debrief(is_reduced=True)
    where = Where(feature=base.breakdown.features[1].id, seconds=0.41, more=0.27, chance=0.98, beside="", n_beside=4)
    return replace(base, where=where)


def compared_runs():
    """Two runs beside each other: no best run, no cause."""
    base = told_debrief()
    other = replace(base.other, name="run 4 of the evening")
    return replace(base, other=other, breakdown=None, focuses=(), on_line=None, told=None)


def named_debrief(name):
    """The debrief of a run, a car, a recording and a finding of that name."""
    base = told_debrief()
    return replace(
        base,
        car=name,
        driven=replace(base.driven, name=name),
        told=replace(base.told, file=name),
        findings=(Finding("note", "named", name, name),),
    )
