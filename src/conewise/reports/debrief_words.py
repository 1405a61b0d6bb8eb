"""The sentences of a debrief that every face says alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.logs.breakdown import LEAST_HALF
from conewise.quantities import HALF_90
from conewise.reports.units import signed

if TYPE_CHECKING:
    from conewise.logs.breakdown import FrictionFound, Interval
    from conewise.logs.where import Where
    from conewise.reports.debrief_answer import DebriefAnswer

CANNOT_TELL = "cannot tell"
NOTHING = "Nothing stands out: what is lost is lost a little everywhere."
_ORIGINS = {
    "saturated": "from tyres that slid in a recording of the day",
    "skidpad": "from a recording at the limit",
    "surface": "as told for the surface",
    "typical": "typical for this kind of tyre",
}


def gap_sentence(answer: DebriefAnswer) -> str:
    """The gap and its two parts in one sentence."""
    breakdown = answer.breakdown
    assert breakdown is not None
    sure = "" if answer.told is None else f" ({within(answer.told.time_deviation)})"
    said = f"{breakdown.measured:.2f} s is {breakdown.gap:.2f} s{sure} behind the best possible {breakdown.best:.2f} s"
    if not breakdown.tells_line:
        return f"{said}; this recording cannot tell line from speed."
    line, speed = breakdown.best_on_line - breakdown.best, breakdown.measured - breakdown.best_on_line
    return (
        f"{said}: {line:.2f} s in the line ({_from_to(breakdown.line_interval)}), "
        f"{speed:.2f} s in the speed on it ({_from_to(breakdown.speed_interval)})."
    )


def where_title(name: str) -> str:
    """To which place to look, where no cause is named."""
    return f"Look at {name}: time is lost there, by your line or by your speed."


def where_sentence(where: Where) -> str:
    """What is lost at a place, and what would tell by what."""
    return (
        f"{where.seconds:.2f} s are lost there, for its length {where.more:.2f} s more than at {_beside(where)}."
        " No cause stands out, and this recording cannot tell your line from your speed on it:"
        " a receiver of 10 positions a second, known to half a metre, would."
    )


def _beside(where: Where) -> str:
    """The places that one was held against."""
    if not where.beside:
        return "the other places of this course"
    kind = where.beside.replace("-", " ")
    if where.n_beside == 1:
        return f"your other {kind}"
    return f"your other {kind}{'es' if kind.endswith(('x', 'sh')) else 's'}"


def friction_sentence(friction: FrictionFound) -> str:
    """How much friction the best run has, and from where that is known."""
    origin = _ORIGINS[friction.origin]
    bound = f", at least {friction.low:.2f}" if friction.is_lower_bound and friction.low > 0.0 else ""
    if not friction.is_lower_bound:
        bound = f" ({friction.low:.2f} to {friction.high:.2f})"
    if friction.low == friction.value:
        origin += ", raised to what the run shows"
    only = "; no recording showed these tyres at their limit" if friction.is_lower_bound else ""
    return f"Friction {friction.value:.2f} of the car file's{bound}, {origin}{only}."


def part(seconds: float, interval: Interval) -> str:
    """A part of the gap with half its interval, or that it cannot be told."""
    if not interval.tells(seconds):
        return CANNOT_TELL
    return f"{signed(seconds, 2)} {_plus_minus(interval.width / 2.0)}"


def within(deviation: float) -> str:
    """Half a 90% interval of a time; `deviation` is one standard deviation. [s]"""
    return _plus_minus(HALF_90 * deviation)


def _plus_minus(half: float) -> str:
    return f"±{max(half, LEAST_HALF):.2f}"


def paths_sentence(answer: DebriefAnswer) -> str:
    """On how many drawn lines the intervals rest, and what they take for granted; empty where there are none."""
    breakdown = answer.breakdown
    if breakdown is None or not breakdown.n_paths:
        return ""
    given = []
    if breakdown.friction.is_lower_bound:
        given.append(f"the friction is {breakdown.friction.value:.2f}")
    if any(finding.code == "arm-unknown" for finding in answer.findings):
        given.append("the antenna sits over the centre of gravity")
    only = f", if {' and '.join(given)}" if given else ""
    return f"Intervals hold about 90%, from {breakdown.n_paths} lines that the recording allows{only}."


def _from_to(interval: Interval) -> str:
    return f"{interval.low:.2f} to {interval.high:.2f}".replace("-", "−")
