"""What to work on next: one place and one cause from the gap of a run and its traces.

The rules, their thresholds and where those come from stand in docs/models/causes.md.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from conewise.findings import Finding, Sentence, Value
from conewise.logs.cause_words import advice, evidence, untold_line
from conewise.logs.focus import Cause, Focus
from conewise.logs.line_causes import CARRIES, can_carry, line_causes
from conewise.logs.speed_causes import speed_causes, unused_grip
from conewise.logs.three_runs import three_runs

if TYPE_CHECKING:
    from conewise.logs.breakdown import Breakdown
    from conewise.logs.focus_candidate import Candidate
    from conewise.logs.measures import Measures
    from conewise.logs.three_runs import ThreeRuns
    from conewise.quantities import System
    from conewise.runs import Trace

MOST = 3  # one focus, two more beside it
LEAST_SECONDS = 0.08  # a focus costs at least this [s]
LEAST_RATE = 5.0  # positions a second that can carry a line [1/s]
MOST_DEVIATION = 0.5  # lateral standard deviation that can carry a line [m]
LEAST_CHANCE = 0.95  # its 90% interval lies above what counts as a loss: the noise at hand decides


def focuses(
    breakdown: Breakdown,
    *,
    driven: Trace,
    on_line: Trace | None,
    best: Trace,
    measures: Measures | None = None,
    system: System = "metric",
    has_rate: bool = True,
) -> tuple[Focus, ...]:
    """What to work on next, best first, at most three.

    Parameters
    ----------
    breakdown : Breakdown
        Of the driven run.
    driven, best : Trace
        The run and the fastest on any line, along one path, of one car.
    on_line : Trace or None
        The fastest on the driver's own line along the same path. Where the recording cannot tell that line, the
        fastest on the bend that its sensors tell; None where they do not, and then there is nothing to hold a cause to.
    measures : Measures, optional
        Of the driven run: cones tell where it was wide, pedals where both were down.
    system : "metric" or "us"
        Units of the evidence.
    has_rate : bool, default True
        Whether a gyroscope, or a yaw rate of the car, was used: the evidence tells it where the line is not told.

    Returns
    -------
    tuple of Focus
        Ranked by seconds times chance; at most one for a place. Empty where nothing costs enough, or surely enough.
    """
    if on_line is None:
        return ()
    runs = three_runs(breakdown, driven=driven, on_line=on_line, best=best, measures=measures)
    chosen: list[Candidate] = []
    for candidate in sorted(_candidates(runs), key=lambda c: -c.seconds * c.chance):
        if len(chosen) < MOST and not any(_is_same_place(candidate, other) for other in chosen):
            chosen.append(candidate)
    against = "" if breakdown.tells_line else f" {untold_line(has_rate=has_rate)}"
    return tuple(
        Focus(
            feature=candidate.feature,
            cause=candidate.cause,
            seconds=candidate.seconds,
            chance=candidate.chance,
            evidence=evidence(candidate, system) + against,
            advice=advice(candidate.cause),
        )
        for candidate in chosen
    )


def _candidates(runs: ThreeRuns) -> list[Candidate]:
    found = [*speed_causes(runs), *unused_grip(runs)]
    if runs.breakdown.tells_line:
        found += line_causes(runs)
    return [c for c in found if c.seconds >= LEAST_SECONDS and c.chance >= LEAST_CHANCE]


def _is_same_place(candidate: Candidate, other: Candidate) -> bool:
    """One cause a place; grip unused everywhere stands beside the others."""
    whole = Cause.UNUSED_GRIP in (candidate.cause, other.cause)
    return not whole and (candidate.feature == other.feature or candidate.overlaps(other))


def withheld(
    breakdown: Breakdown,
    *,
    driven: Trace,
    position_rate: float,
    has_rate: bool,
    measures: Measures | None = None,
    tells_bend: bool = True,
) -> tuple[Finding, ...]:
    """Causes that are not looked for with this recording, and what would allow them.

    Parameters
    ----------
    breakdown : Breakdown
    driven : Trace
    position_rate : float
        Of the recording. [1/s]
    has_rate : bool
        Whether a gyroscope, or a yaw rate of the car, was used.
    measures : Measures, optional
        As `focuses` takes them.
    tells_bend : bool, default True
        Whether the recording tells how the car turned, where it cannot tell its line.
    """
    found = []
    if not breakdown.tells_line and not tells_bend:
        message = _untold_bend(driven, position_rate=position_rate, has_rate=has_rate)
        found.append(Finding("note", "speed-causes-withheld", message, driven.name))
    if not can_carry(driven) or not breakdown.tells_line:
        message = Sentence(
            "Causes in the line (early at the apex, wide at a cone, late in a slalom) are not looked for: they need the"
            " position across the course to {}, one standard deviation, as a receiver of 10 Hz or more with corrections"
            " gives it.",
            Value(CARRIES, "length", 2),
        )
        found.append(Finding("note", "line-causes-withheld", message, driven.name))
    if measures is None or measures.pedals is None:
        message = "Both pedals at once are not looked for: throttle and brake were not recorded."
        found.append(Finding("note", "pedals-not-recorded", message, driven.name))
    if not breakdown.tells_line:
        message = "Unused grip is not looked for: the recording cannot tell the line that was driven."
        found.append(Finding("note", "unused-grip-withheld", message, driven.name))
    elif breakdown.friction.is_lower_bound:
        message = (
            "Unused grip is not looked for: the friction is a lower bound from runs whose tyres were not at their"
            " limit. A stop in earnest or a circle at the limit would tell it."
        )
        found.append(Finding("note", "unused-grip-withheld", message, driven.name))
    return tuple(found)


def _untold_bend(driven: Trace, *, position_rate: float, has_rate: bool) -> str:
    """Why a recording that tells neither the line nor the bend does not, and what would."""
    is_slow = position_rate < LEAST_RATE
    is_vague = float(np.median(driven.lateral_offset_deviation)) > MOST_DEVIATION
    if has_rate:
        why = "neither the positions nor the inertial sensors of this recording tell closely enough how the car turned"
        help_ = "Inertial sensors fixed firmly to the car"
    else:
        when = "between two positions this recording does not tell" if is_slow else "its positions do not tell closely"
        why = f"{when} how the car turned, and no inertial sensor was used"
        help_ = "The inertial sensors of a phone fixed firmly to the car"
    known = "known to {} across the course"
    more = f", or positions {known}," if is_vague else ""
    if is_slow:
        more = f", or a receiver of {LEAST_RATE:g} positions a second or more, {known},"
    words = f"Causes in the speed are not looked for: {why}. {help_}{more} would."
    return Sentence(words, Value(MOST_DEVIATION, "length", 1))
