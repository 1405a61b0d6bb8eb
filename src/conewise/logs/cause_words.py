"""A cause in words: the evidence with its numbers, and one sentence to try."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.logs.focus import Cause
from conewise.quantities import in_unit, show

if TYPE_CHECKING:
    from collections.abc import Callable

    from conewise.logs.focus_candidate import Candidate
    from conewise.quantities import System

ADVICE = {
    Cause.EARLY_APEX: "Turn in later, and reach the inside of the corner only when you can see the way out.",
    Cause.SLOW_ENTRY: "Come off the brake a little sooner and carry more speed to the slowest point of the corner.",
    Cause.FAST_ENTRY: "Brake a little earlier, arrive slower, and be back on the throttle sooner.",
    Cause.EARLY_LIFT: "Stay on the throttle until the braking point, then brake firmly once.",
    Cause.WIDE_AT_CONE: "Pass the cones here closer: look at each early and aim the car beside its base.",
    Cause.SLALOM_LATE: "Turn earlier: the hands move before the car is abreast of the cone, and look one cone further.",
    Cause.LATE_POWER: "Begin to squeeze the throttle at the slowest point, as soon as the wheel starts to come back.",
    Cause.COASTING: "Be on one pedal or the other: hold the throttle until it is time to brake.",
    Cause.PEDAL_OVERLAP: "Let the brake go before the throttle goes down.",
    Cause.OVER_SLIP: "Turn the wheel a little less in mid-corner: let the front tyres roll instead of slide.",
    Cause.UNUSED_GRIP: "Raise the pace in small steps where there is room: the tyres still have grip to give.",
}

FELT = "That is against the bend that the sensors felt: where your line lay, this recording cannot tell."
RECEIVED = "That is against the bend that the receiver tells: where your line lay, this recording cannot tell."


def advice(cause: Cause) -> str:
    """One plain sentence to try."""
    return ADVICE[cause]


def untold_line(*, has_rate: bool) -> str:
    """What a cause is held against where the line is not told; `has_rate`: a gyroscope or a yaw rate was used."""
    return FELT if has_rate else RECEIVED


def _give_or_take(value: float, doubt: float, system: System) -> str:
    """A length and how far it may be off, in one unit."""
    if system == "us":
        return f"{in_unit(value, 'length', 'in'):.0f} ±{in_unit(doubt, 'length', 'in'):.0f} in"
    return f"{value:.2f} ±{doubt:.2f} m"


def _likewise(others: float) -> str:
    """How many more cones of the place were passed as wide."""
    return f"; so it was at {others:.0f} more cone{'s' if others > 1 else ''} of this place" if others else ""


def evidence(candidate: Candidate, system: System) -> str:
    """One sentence with the numbers."""
    facts = candidate.facts

    def speed(name: str) -> str:
        return show(facts[name], "speed", system, 2)

    def length(name: str) -> str:
        return show(facts[name], "length", system, 2)

    says: dict[Cause, Callable[[], str]] = {
        Cause.EARLY_APEX: lambda: (
            f"Your line lay {length('inside')} inside the best one before the slowest point"
            f" and {length('outside')} outside of it behind."
        ),
        Cause.SLOW_ENTRY: lambda: (
            f"At the slowest point you drove {speed('slowest')},"
            f" {speed('slower_at_slowest')} less than your line allows."
        ),
        Cause.FAST_ENTRY: lambda: (
            f"You arrived up to {speed('faster')} faster than the best run"
            f" and were up to {speed('slower')} slower behind."
        ),
        Cause.EARLY_LIFT: lambda: (
            f"You slowed from {length('before')} before the braking point and were"
            f" up to {speed('slower')} slower there, at the right speed in the corner."
        ),
        Cause.WIDE_AT_CONE: lambda: (
            f"At cone {candidate.cone} the car was {_give_or_take(facts['distance'], facts['doubt'], system)}"
            f" from the base, {length('wider')} more than the best line leaves{_likewise(facts['others'])}."
        ),
        Cause.SLALOM_LATE: lambda: f"You turned {length('late')} later than the best run, cone for cone.",
        Cause.LATE_POWER: lambda: (
            f"Behind the slowest point the car did not gain speed for {length('length')} as it could;"
            f" you were up to {speed('slower')} slower on the way out."
        ),
        Cause.COASTING: lambda: (
            f"From {length('before')} before the braking point the car rolled on neither pedal;"
            f" it was up to {speed('slower')} slower there."
        ),
        Cause.PEDAL_OVERLAP: lambda: f"Both pedals were down together for {facts['overlap']:.2f} s.",
        Cause.OVER_SLIP: lambda: (
            f"Turning at the limit the car lost up to {speed('slower')} that the best run on your line keeps."
        ),
        Cause.UNUSED_GRIP: lambda: (
            f"Where cornering limits the speed you used at most {100.0 * facts['share']:.0f}% of the grip,"
            f" all over the course; here it cost {facts['here']:.2f} s."
        ),
    }
    return says[candidate.cause]()
