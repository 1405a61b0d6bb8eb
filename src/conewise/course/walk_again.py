"""Several walks of one course: every leg measured again, the better measurement counting more."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from conewise.course.walk_track import Leg
from conewise.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.course.walk_layout import Layout, Walker

AGREES_WITHIN = 4.0  # walks that differ by more, in standard uncertainties, hold a wrong note
LEAST_SD = 1e-6  # of a leg that was told exactly, so that it can be weighed [m], [rad]


class WalkAgainError(InputError):
    """Two walks of one course do not tell the same course."""

    code = "walk-again"
    default_hint = "Walk that place once more, and correct the note that is wrong."

    def __init__(self, problem: str, *, where: str) -> None:
        super().__init__(problem, where=where)


def refuse_other_course(first: Layout, other: Layout, *, number: int) -> None:
    """Hold a further walk to the features of the first.

    Raises
    ------
    WalkAgainError
        If it has another feature, other cones or another side somewhere; names the place in the first walk.
    """
    for ours, theirs in zip(first.features, other.features, strict=False):
        if ours != theirs:
            same = ours.kind == theirs.kind
            what = (
                f"other cones or sides at '{ours.id}'" if same else f"a {theirs.kind} where the first has '{ours.id}'"
            )
            raise WalkAgainError(f"Walk {number} has {what}.", where=f"feature '{ours.id}'")
    if len(first.features) != len(other.features) or len(first.legs) != len(other.legs):
        problem = (
            f"Walk {number} has {len(other.features)} features in {len(other.legs)} legs, the first "
            f"{len(first.features)} in {len(first.legs)}."
        )
        raise WalkAgainError(problem, where=f"walk {number}")


def leg_of_all(legs: Sequence[Leg], pace_sds: Sequence[float], *, where: str) -> Leg:
    """One leg from its measurements in several walks.

    Parameters
    ----------
    legs : sequence of Leg
        The same leg, one a walk.
    pace_sds : sequence of float
        Relative uncertainty of each walk's pace length, 0 where lengths were not paced. [-]
    where : str
        The note, for messages.

    Raises
    ------
    WalkAgainError
        If two of them differ by more than their uncertainties explain.

    Notes
    -----
    Means weighed by the inverse of the variance, and its variance 1 / sum(1 / var): Bevington and Robinson, Data
    Reduction and Error Analysis for the Physical Sciences, 3rd edition, 2003, equations 4.17 and 4.19 (numbers from
    memory). The error of a pace length is shared by all legs of a walk and is not lessened leg by leg.
    """
    lengths = [math.hypot(leg.forward, leg.left) for leg in legs]
    sds = [max(leg.length_sd, LEAST_SD) for leg in legs]
    turn_sds = [max(leg.turn_sd, LEAST_SD) for leg in legs]
    whole = [
        math.hypot(s, d * pace if leg.is_paced else 0.0)
        for leg, d, s, pace in zip(legs, lengths, sds, pace_sds, strict=True)
    ]
    _refuse_apart(lengths, whole, "m", where=where)
    _refuse_apart(
        [math.degrees(leg.turn) for leg in legs], [math.degrees(sd) for sd in turn_sds], "degrees", where=where
    )
    weights, turn_weights = [1.0 / sd**2 for sd in sds], [1.0 / sd**2 for sd in turn_sds]
    return Leg(
        forward=_mean([leg.forward for leg in legs], weights),
        left=_mean([leg.left for leg in legs], weights),
        turn=_mean([leg.turn for leg in legs], turn_weights),
        is_paced=any(leg.is_paced for leg in legs),
        length_sd=1.0 / math.sqrt(sum(weights)) if any(leg.length_sd for leg in legs) else 0.0,
        turn_sd=1.0 / math.sqrt(sum(turn_weights)) if any(leg.turn_sd for leg in legs) else 0.0,
    )


def _mean(values: Sequence[float], weights: Sequence[float]) -> float:
    return sum(v * w for v, w in zip(values, weights, strict=True)) / sum(weights)


def _refuse_apart(values: Sequence[float], sds: Sequence[float], unit: str, *, where: str) -> None:
    for number, (value, sd) in enumerate(zip(values[1:], sds[1:], strict=True), start=2):
        apart, expected = abs(value - values[0]), math.hypot(sd, sds[0])
        if apart > AGREES_WITHIN * expected + LEAST_SD:
            problem = (
                f"Here the first walk tells {values[0]:.1f} {unit} and walk {number} tells {value:.1f}; "
                f"errors of measurement explain about {expected:.1f}."
            )
            raise WalkAgainError(problem, where=where)


def of_all(layouts: Sequence[Layout]) -> tuple[Layout, float]:
    """One layout from several walks of a course, and the relative uncertainty of its paces: that of its worst leg.

    Raises
    ------
    WalkAgainError
        If the walks do not tell the same course.
    """
    first = layouts[0]
    for number, other in enumerate(layouts[1:], start=2):
        refuse_other_course(first, other, number=number)
    pace_sds = [layout.pace_share for layout in layouts]
    legs = [
        leg_of_all([layout.legs[i] for layout in layouts], pace_sds, where=first.leg_notes[i])
        for i in range(len(first.legs))
    ]
    places = {
        name: replace(
            place,
            forward=sum(layout.places[name].forward for layout in layouts) / len(layouts),
            left=sum(layout.places[name].left for layout in layouts) / len(layouts),
        )
        for name, place in first.places.items()
    }
    shares = [
        _pace_share([layout.legs[i] for layout in layouts], [layout.walker for layout in layouts])
        for i in range(len(first.legs))
    ]
    return replace(first, legs=legs, places=places), max(shares, default=0.0)


def _pace_share(legs: Sequence[Leg], walkers: Sequence[Walker]) -> float:
    """Relative uncertainty of a leg's mean by the pace lengths alone. [-]

    Walks with one and the same pace length were paced by one calibration: its error is theirs together.
    """
    weights = [1.0 / max(leg.length_sd, LEAST_SD) ** 2 for leg in legs]
    of_calibration: dict[tuple[float, float], float] = {}
    for leg, weight, walker in zip(legs, weights, walkers, strict=True):
        if leg.is_paced and walker.pace is not None:
            key = (walker.pace, walker.pace_sd)
            of_calibration[key] = of_calibration.get(key, 0.0) + weight / sum(weights) * walker.pace_sd / walker.pace
    return math.hypot(*of_calibration.values())
