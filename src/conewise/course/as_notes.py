"""A feature as one would note it on a walk: the words that `walk_notes` reads, from where the cones stand."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from conewise.course.layout import Course, CourseFeature, FeatureKind, PassSide
from conewise.course.poses import BESIDE, walk_poses

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from conewise.course.poses import Pose

_YOUR_SIDE = {PassSide.RIGHT: "left", PassSide.LEFT: "right", PassSide.EITHER: "either"}
_FIRST = {"left": "first to your left", "right": "first to your right", "either": "either side"}
_SMALL = math.radians(4.0)  # a turn that nobody notes [rad]
_ON_LINE = 0.3  # a step aside that nobody notes [m]
_LEAST_BEND = math.radians(10.0)
_TANGENT = math.radians(2.0)
_SAME_RADIUS = 0.03  # relative


def course_notes(course: Course) -> tuple[str, ...]:
    """Notes of every feature in driving order, one text a feature; two notes in one are parted by a semicolon.

    Parameters
    ----------
    course : Course

    Notes
    -----
    Lengths are rounded to decimetres and angles to degrees; what notes cannot say (a row that is not quite straight,
    spacings that differ) is told by its mean. Laying the notes out again gives the course about, not exactly.
    """
    poses = walk_poses(course)
    notes = []
    for number, feature in enumerate(course.features):
        before = poses[number - 1][1] if number else None
        is_gate = number > 0 and len(course.features[number - 1].crossings[-1]) > 1
        notes.append(_notes(course, feature, before, poses[number], is_gate_before=is_gate))
    return tuple(notes)


def _notes(
    course: Course, feature: CourseFeature, before: Pose | None, poses: tuple[Pose, Pose], *, is_gate_before: bool
) -> str:
    if before is None:
        return " ".join(["start", *_wide(course, feature)])
    forward, left, turn = poses[0].seen_from(before)
    first = []
    if feature.kind is not FeatureKind.OFFSET_GATE and _is_aside(forward, left):
        bend = math.atan2(left, forward)
        first.append(_bear(bend))
        forward, left, turn = math.hypot(forward, left), 0.0, turn - bend
    if feature.kind in _BENDS:
        if is_gate_before and _goes_on(before, poses):
            return "; ".join(_bend(course, feature, (before, poses[1])))
        first += _straight(forward)
        first += [_bear(turn)] if abs(turn) > _SMALL else []
        return "; ".join([*first, *_bend(course, feature, poses)])
    words = _maker(feature)(course, feature, left)
    after = [f"after {_metres(forward)}"] if forward >= 0.05 else []
    return "; ".join([*first, " ".join([*words, *after])])


_BENDS = frozenset({FeatureKind.SWEEPER, FeatureKind.HAIRPIN})


def _is_aside(forward: float, left: float) -> bool:
    """Whether a feature does not lie straight ahead."""
    return abs(left) > _ON_LINE and abs(math.atan2(left, forward)) > _SMALL


def _bear(turn: float) -> str:
    return f"bear {'left' if turn > 0.0 else 'right'} {abs(math.degrees(turn)):.0f} degrees"


def _straight(forward: float) -> list[str]:
    return [f"straight {_metres(forward)}"] if forward >= 0.05 else []


def _metres(length: float) -> str:
    return f"{length:.1f}".removesuffix(".0") + " m"


def _gate_words(course: Course, feature: CourseFeature, left: float) -> list[str]:
    if feature.kind is FeatureKind.OFFSET_GATE and abs(left) >= 0.05:
        shift = f"{_metres(abs(left))} {'left' if left > 0.0 else 'right'}"
        return ["offset gate", shift, *_wide(course, feature)]
    word = "finish" if feature.kind is FeatureKind.FINISH else "gate"
    return [word, *_wide(course, feature)]


def _split_words(course: Course, feature: CourseFeature, _left: float) -> list[str]:
    side = _YOUR_SIDE[feature.crossings[0][0].pass_side]
    a, b = (course.cone(crossing[0].cone) for crossing in feature.crossings)
    return ["split gate", f"{_metres(math.dist((a.x, a.y), (b.x, b.y)))} apart", f"first to your {side}"]


def _box_words(course: Course, feature: CourseFeature, _left: float) -> list[str]:
    return ["box", f"{_metres(_length(course, feature))} long", *_wide(course, feature)]


def _row_words(course: Course, feature: CourseFeature, _left: float) -> list[str]:
    count = len(feature.crossings)
    side = _YOUR_SIDE[feature.crossings[0][0].pass_side]
    cones = f"{count} cone{'' if count == 1 else 's'}"
    every = f"every {_metres(_length(course, feature) / (count - 1) if count > 1 else 1.0)}"
    if feature.kind is FeatureKind.SLALOM:
        return ["slalom", cones, every, _FIRST[side]]
    return ["wall", cones, every, f"to your {side}"]


def _cone_words(course: Course, feature: CourseFeature, _left: float) -> list[str]:
    side = _YOUR_SIDE[feature.crossings[0][0].pass_side]
    if side == "either":
        return ["cone either side"]
    has_pointer = any(cone.points_to in feature.cone_ids for cone in course.cones)
    return ["cone", f"to your {side}", f"{_metres(BESIDE)} away", *(["with a pointer"] if has_pointer else [])]


def _maker(feature: CourseFeature) -> Callable[[Course, CourseFeature, float], list[str]]:
    """Who tells a feature: by its kind where its crossings are those of the kind, else by what they are."""
    count = len(feature.crossings)
    if all(len(crossing) == 1 for crossing in feature.crossings):
        if feature.kind is FeatureKind.SPLIT_GATE and count == 2:
            return _split_words
        return _cone_words if count == 1 and feature.kind is not FeatureKind.SLALOM else _row_words
    return _gate_words if count == 1 else _box_words


def _bend(course: Course, feature: CourseFeature, poses: tuple[Pose, Pose]) -> list[str]:
    """A bend from its first gate to its last, or round one cone."""
    if len(feature.crossings) == 1 and len(feature.crossings[0]) == 1:
        side = _YOUR_SIDE[feature.crossings[0][0].pass_side]
        turn = poses[1].seen_from(poses[0])[2]
        degrees = abs(math.degrees(turn)) or 180.0
        return [f"hairpin {side} radius {_metres(BESIDE)} {degrees:.0f} degrees around one cone"]
    arc = _Arc.between(*poses)
    if arc is None:
        return [" ".join(["gate", *_wide(course, feature)])]
    words = f"{feature.kind} {'left' if arc.angle > 0.0 else 'right'} {abs(math.degrees(arc.angle)):.0f} degrees"
    return [" ".join([words, f"radius {_metres(arc.radius)}", *_wide(course, feature)])]


@dataclass(frozen=True, slots=True)
class _Arc:
    """The arc that leads from one pose to another."""

    angle: float  # left positive [rad]
    radius: float  # [m]
    is_tangent: bool  # whether it leaves the first pose straight ahead

    @classmethod
    def between(cls, first: Pose, last: Pose) -> _Arc | None:
        """The arc of two poses by their angle and distance; None where they hardly turn."""
        forward, left, turn = last.seen_from(first)
        sign = 1.0 if left > 0.0 else -1.0
        angle = abs(turn)
        if sign * turn < -math.radians(90.0):  # it turned through more than half a circle
            angle = 2.0 * math.pi - angle
        chord = math.hypot(forward, left)
        if angle < _LEAST_BEND or chord < 1.0:
            return None
        off = abs(math.atan2(left, forward) - sign * angle / 2.0)
        return cls(sign * angle, chord / (2.0 * math.sin(angle / 2.0)), off < _TANGENT)


def _goes_on(before: Pose, poses: tuple[Pose, Pose]) -> bool:
    """Whether a bend begins where the walk already stands: one arc leads from there through both its ends."""
    whole, own = _Arc.between(before, poses[1]), _Arc.between(*poses)
    if whole is None or not whole.is_tangent:
        return False
    return own is None or (own.is_tangent and abs(own.radius - whole.radius) < _SAME_RADIUS * whole.radius)


def _wide(course: Course, feature: CourseFeature) -> list[str]:
    """The mean opening of a feature's gates."""
    widths: list[float] = []
    for crossing in feature.crossings:
        if len(crossing) == 2:
            a, b = (course.cone(passed.cone) for passed in crossing)
            widths.append(math.dist((a.x, a.y), (b.x, b.y)) - (a.base + b.base) / 2.0)
    return [f"{_metres(max(sum(widths) / len(widths), 0.1))} wide"] if widths else []


def _length(course: Course, feature: CourseFeature) -> float:
    """Along the middles of a feature's crossings. [m]"""
    middles: Sequence[tuple[float, float]] = [
        (sum(course.cone(p.cone).x for p in c) / len(c), sum(course.cone(p.cone).y for p in c) / len(c))
        for c in feature.crossings
    ]
    return sum(math.dist(a, b) for a, b in pairwise(middles))
