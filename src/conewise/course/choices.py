"""Either-side features: which ways a course permits, and which of them is the most natural."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from conewise.course.passes import first_poses, ordered_crossings, sides_of
from conewise.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from conewise.course.layout import Course, CourseFeature

_MOST_CHOICES = 16
_MOST_VARIED = 4  # two ways each make 16
_TURN = 4.0  # length that a radian of turning counts for when ways are compared [m]


class UnknownChoiceError(InputError):
    """A side was chosen for a feature that offers no choice."""

    code = "unknown-choice"
    default_hint = "Choose 'left' or 'right' for a feature with a cone that may be passed on either side."

    def __init__(self, feature: str, side: str, *, known: tuple[str, ...]) -> None:
        offers = f"features with a choice: {', '.join(known)}" if known else "this course offers no choice"
        super().__init__(f"'{side}' cannot be chosen for '{feature}'; {offers}.", where=f"choice for '{feature}'")


def permitted_choices(course: Course) -> list[dict[str, str]]:
    """Every combination of sides that the course permits, the most natural first, at most 16.

    A choice is "left" or "right": the side of the feature's first open cone on which the car goes. The most natural
    way is short and turns little. With more than four either-side features the four whose two ways differ least are
    varied; the others keep their more natural way.
    """
    open_features = [f for f in course.features if f.is_open]
    if not open_features:
        return [{}]
    natural = natural_choice(course)
    extra = {
        f.id: _effort(course, natural | {f.id: _other(natural[f.id])}, at) - _effort(course, natural, at)
        for at, f in enumerate(course.features)
        if len(sides_of(f)) > 1
    }
    varied = sorted((f for f in open_features if f.id in extra), key=lambda f: extra[f.id])[:_MOST_VARIED]
    combinations = [
        natural | dict(zip((f.id for f in varied), sides, strict=True))
        for sides in product(*(sides_of(f) for f in varied))
    ]
    ordered = sorted(combinations, key=lambda choice: _effort_of(course, choice, course.features))
    return ordered[:_MOST_CHOICES]


def natural_choice(course: Course) -> dict[str, str]:
    """For every either-side feature the way that is shorter and turns less, seen with its neighbours."""
    choice = {f.id: sides_of(f)[0] for f in course.features if f.is_open}
    for at, feature in enumerate(course.features):
        ways = sides_of(feature)
        if len(ways) > 1:
            efforts = []
            for side in ways:
                choice[feature.id] = side
                efforts.append(_effort(course, choice, at))
            choice[feature.id] = ways[int(np.argmin(efforts))]
    return choice


def decided(course: Course, choices: Mapping[str, str] | None) -> dict[str, str]:
    """A side for every either-side feature: as chosen, else the natural one.

    Raises
    ------
    UnknownChoiceError
        Where a choice names a feature that offers none, or another word than "left" and "right".
    """
    chosen = dict(choices or {})
    known = tuple(f.id for f in course.features if f.is_open)
    for feature, side in chosen.items():
        if feature not in known or side not in ("left", "right"):
            raise UnknownChoiceError(feature, side, known=known)
    return chosen if len(chosen) == len(known) else natural_choice(course) | chosen


def _other(side: str) -> str:
    return "right" if side == "left" else "left"


def _effort(course: Course, choice: Mapping[str, str], at: int) -> float:
    """Effort of the way through the feature at an index, with two features before and after it."""
    return _effort_of(course, choice, course.features[max(at - 2, 0) : at + 3])


def _effort_of(course: Course, choice: Mapping[str, str], features: Sequence[CourseFeature]) -> float:
    """Length of the chords from crossing to crossing, and what is turned between chords and directions. [m]"""
    poses = first_poses(ordered_crossings(course, choice, features=features), source=course.source)
    chord = np.diff(poses.place, axis=0)
    along = np.arctan2(chord[:, 1], chord[:, 0])
    facing = np.arctan2(poses.direction[:, 1], poses.direction[:, 0])
    turned = np.abs([_wrapped(along - facing[:-1]), _wrapped(facing[1:] - along)])
    return float(np.sum(np.hypot(chord[:, 0], chord[:, 1])) + _TURN * np.sum(turned))


def _wrapped(angle: np.ndarray) -> np.ndarray:
    return (angle + np.pi) % (2.0 * np.pi) - np.pi
