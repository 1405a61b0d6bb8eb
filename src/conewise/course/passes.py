"""Which cone is passed where and on which side, with every either-side feature decided.

A choice is written like the cone's own `pass`: "left" means that the car goes to the left of the feature's first
open cone. In a slalom the sides alternate from there; elsewhere the open cones are all passed on that side.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.course.layout import Cone, Course, CourseFeature, FeatureKind, PassSide
from conewise.errors import InfeasibleError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

Array = NDArray[np.float64]

CLEARANCE = 1.2  # of the reference path from the centre of a cone [m]
_SIDE = {PassSide.RIGHT: 1, PassSide.LEFT: -1}  # the car goes right of it: it lies on the driver's left
_U_TURN = np.radians(150.0)  # a turn sharper than this goes round the cone


class NoPathError(InfeasibleError):
    """No path can be laid through a feature."""

    code = "no-path"
    default_hint = "Move the cones of this feature, or change the side on which they are passed."

    def __init__(self, feature: str, *, reason: str, source: str = "") -> None:
        where = f"{source}, feature '{feature}'" if source else f"feature '{feature}'"
        super().__init__(f"There is no path through '{feature}': {reason}.", where=where)
        self.feature = feature


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderedPass:
    """One cone of one crossing with its side decided: +1 it lies on the driver's left, -1 on the right."""

    cone: Cone
    feature: str
    crossing: int
    side: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """The cones passed together at one place."""

    feature: str
    passes: tuple[OrderedPass, ...]

    def standing(self, side: int) -> Array:
        """Places of the standing cones on one side, shape (n, 2); pointers where no cone stands. [m]"""
        mine = [p.cone for p in self.passes if p.side == side]
        chosen = [c for c in mine if c.is_standing] or mine
        return np.array([(c.x, c.y) for c in chosen], dtype=float).reshape(-1, 2)

    def gap(self) -> tuple[Array, Array] | None:
        """The pair of a left and a right cone that lies closest together; None for a one-sided crossing."""
        left, right = self.standing(1), self.standing(-1)
        if len(left) == 0 or len(right) == 0:
            return None
        apart = np.hypot(*(left[:, None, :] - right[None, :, :]).transpose(2, 0, 1))
        i, j = np.unravel_index(int(np.argmin(apart)), apart.shape)
        return left[i], right[j]

    def middle(self) -> Array:
        """The middle of the gap, or of the cones of a one-sided crossing. [m]"""
        gap = self.gap()
        if gap is not None:
            return np.asarray(0.5 * (gap[0] + gap[1]))
        return np.asarray(np.vstack([self.standing(1), self.standing(-1)]).mean(axis=0))


def ordered_crossings(
    course: Course, choices: Mapping[str, str], *, features: Sequence[CourseFeature] | None = None
) -> list[Crossing]:
    """Every crossing in driving order with its sides decided.

    Parameters
    ----------
    course : Course
        The course.
    choices : Mapping[str, str]
        "left" or "right" for the either-side features; those that are left out take "left".
    features : Sequence[CourseFeature] or None
        A part of the course; all of it where it is left out.
    """
    cones = course.cones_by_id
    return [
        Crossing(
            feature=feature.id,
            passes=tuple(
                OrderedPass(cone=cones[p.cone], feature=feature.id, crossing=index, side=side)
                for p, side in zip(crossing, sides, strict=True)
            ),
        )
        for feature in (course.features if features is None else features)
        for index, (crossing, sides) in enumerate(
            zip(feature.crossings, decided_sides(feature, choices.get(feature.id, "left")), strict=True)
        )
    ]


def sides_of(feature: CourseFeature) -> tuple[str, ...]:
    """The choices that a feature offers: none, both, or the only one that alternates with its fixed cones."""
    if not feature.is_open:
        return ()
    if feature.kind is FeatureKind.SLALOM:
        fixed = [
            (index, _SIDE[p.pass_side])
            for index, crossing in enumerate(feature.crossings)
            for p in crossing
            if p.pass_side is not PassSide.EITHER
        ]
        if fixed:
            index, side = fixed[0]
            first = _first_open(feature)
            return ("right" if side * (-1) ** (index - first) > 0 else "left",)
    return ("left", "right")


def decided_sides(feature: CourseFeature, choice: str) -> list[tuple[int, ...]]:
    """Side of every cone of every crossing: +1 on the driver's left."""
    first = _first_open(feature)
    chosen = _SIDE[PassSide(choice)]
    sides = []
    for index, crossing in enumerate(feature.crossings):
        free = chosen * (-1) ** (index - first) if feature.kind is FeatureKind.SLALOM else chosen
        n_open = sum(p.pass_side is PassSide.EITHER for p in crossing)
        row = []
        for p in crossing:
            row.append(_SIDE.get(p.pass_side, free))
            if p.pass_side is PassSide.EITHER and n_open == len(crossing) == 2:
                free = -free  # two open cones and nothing else: the car goes between them
        sides.append(tuple(row))
    return sides


def _first_open(feature: CourseFeature) -> int:
    """Index of the first crossing with an open cone; 0 where there is none."""
    for index, crossing in enumerate(feature.crossings):
        if any(p.pass_side is PassSide.EITHER for p in crossing):
            return index
    return 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Poses:
    """A first guess of where and in which direction the crossings are driven; arrays (n_crossings, 2)."""

    place: Array  # [m]
    direction: Array  # unit vectors


def first_poses(crossings: list[Crossing], *, source: str = "", sweeps: int = 3) -> Poses:
    """Places beside the cones and directions of travel.

    A gate is driven square to the line between its cones. At a one-sided crossing the car moves along the
    bisector of the chords to its neighbours, on the demanded side; where the chords nearly reverse it goes round
    the cone. The directions are found in a few sweeps, since they and the places depend on each other.
    """
    middle = np.array([c.middle() for c in crossings])
    place = middle.copy()
    gaps = [c.gap() for c in crossings]
    square = np.full_like(middle, np.nan)
    for k, gap in enumerate(gaps):
        if gap is not None:
            across = gap[0] - gap[1]
            width = float(np.hypot(*across))
            if width < 0.05:
                raise NoPathError(crossings[k].feature, reason="its two cones stand in one place", source=source)
            square[k] = (across[1] / width, -across[0] / width)
    is_gate = np.isfinite(square[:, 0])
    side = np.array([c.passes[0].side for c in crossings], dtype=float)
    direction = np.where(is_gate[:, None], square, 0.0)
    for _ in range(sweeps):
        bisector = _bisectors(place, side)
        direction = np.where(is_gate[:, None], square, bisector)
        right = np.column_stack([direction[:, 1], -direction[:, 0]])
        beside = middle + CLEARANCE * side[:, None] * right
        place = np.where(is_gate[:, None], middle, beside)
    return Poses(place=place, direction=direction)


def _bisectors(place: Array, side: Array) -> Array:
    """Unit vectors half way between the chord in and the chord out of each place."""
    chord = np.diff(place, axis=0)
    length = np.maximum(np.hypot(chord[:, 0], chord[:, 1]), 1e-9)
    angle = np.arctan2(chord[:, 1], chord[:, 0])
    usable = length > 0.3  # two crossings in one place: look further out
    if not usable.all():
        index = np.arange(len(angle))
        angle = angle[np.where(usable, index, np.maximum.accumulate(np.where(usable, index, 0)))]
    into = np.concatenate([angle[:1], angle])
    out = np.concatenate([angle, angle[-1:]])
    turn = (out - into + np.pi) % (2 * np.pi) - np.pi
    goes_round = (np.abs(turn) > _U_TURN) & (np.sign(turn) != side)
    turn = np.where(goes_round, turn + 2 * np.pi * side, turn)
    middle = into + 0.5 * turn
    return np.column_stack([np.cos(middle), np.sin(middle)])
