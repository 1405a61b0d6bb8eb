"""Where a walk of the course comes into a feature and leaves it, and moving parts of a course as a whole."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.course.layout import Cone, Course, CourseFeature, FeatureKind, PassSide

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from conewise.course.layout import ConePass, Point

BESIDE = 3.0  # of the walk from a single cone that is passed on one side: half a gate [m]; common practice, no source
_LEAST = 0.05  # places nearer than this give no direction [m]
_DIGITS = 4  # of a moved coordinate: a tenth of a millimetre


@dataclass(frozen=True, slots=True)
class Pose:
    """A place on the plan with a direction."""

    x: float  # east [m]
    y: float  # north [m]
    heading: float  # counter-clockwise from east [rad]

    def ahead(self, forward: float, left: float = 0.0, turn: float = 0.0) -> Pose:
        """The pose after a step forward and to the left, then a turn. [m], [rad]"""
        c, s = math.cos(self.heading), math.sin(self.heading)
        return Pose(self.x + c * forward - s * left, self.y + s * forward + c * left, self.heading + turn)

    def seen_from(self, other: Pose) -> tuple[float, float, float]:
        """Forward, left and turn that lead from another pose to this one. [m], [m], [rad]"""
        c, s = math.cos(other.heading), math.sin(other.heading)
        dx, dy = self.x - other.x, self.y - other.y
        turn = (self.heading - other.heading + math.pi) % (2.0 * math.pi) - math.pi
        return c * dx + s * dy, c * dy - s * dx, turn


@dataclass(frozen=True, slots=True)
class Motion:
    """A rigid motion of the plan: what takes one pose to another."""

    before: Pose
    after: Pose

    def point(self, at: Point) -> Point:
        """A point after the motion."""
        forward, left, _ = Pose(at[0], at[1], 0.0).seen_from(self.before)
        moved = self.after.ahead(forward, left)
        return round(moved.x, _DIGITS), round(moved.y, _DIGITS)

    def cones(self, cones: Iterable[Cone], names: Collection[str]) -> tuple[Cone, ...]:
        """All cones, those of these names moved."""
        return tuple(self._moved(cone) if cone.id in names else cone for cone in cones)

    def _moved(self, cone: Cone) -> Cone:
        x, y = self.point((cone.x, cone.y))
        return cone.changed(x=x, y=y)


def walk_poses(course: Course) -> list[tuple[Pose, Pose]]:
    """Pose at the first and at the last crossing of every feature, as a person walks the course.

    Parameters
    ----------
    course : Course

    Returns
    -------
    list of tuple
        Coming in and going out, one pair a feature. [m], [rad]

    Notes
    -----
    Across a gate the direction is square to the line between its cones. Along a row of cones it is that of the row.
    A single cone is passed in the direction from the place before to the place after.
    """
    stops = [_place(course, crossing) for feature in course.features for crossing in feature.crossings]
    poses, first = [], 0
    for feature in course.features:
        last = first + len(feature.crossings) - 1
        comes = _pose(course, feature, stops, at=first, number=0, is_exit=False)
        goes = _pose(course, feature, stops, at=last, number=last - first, is_exit=True)
        poses.append((comes, goes))
        first = last + 1
    return poses


def _place(course: Course, crossing: tuple[ConePass, ...]) -> Point:
    cones = [course.cone(passed.cone) for passed in crossing]
    return sum(c.x for c in cones) / len(cones), sum(c.y for c in cones) / len(cones)


def _pose(course: Course, feature: CourseFeature, stops: list[Point], *, at: int, number: int, is_exit: bool) -> Pose:
    """Pose at one crossing of a feature, which is stop `at` of the course."""
    crossing = feature.crossings[number]
    if len(crossing) > 1:
        return _square(course, crossing, stops[at])
    before, after = max(at - 1, 0), min(at + 1, len(stops) - 1)
    if len(feature.crossings) > 1:  # a row has its own direction
        before, after = max(before, at - number), min(after, at - number + len(feature.crossings) - 1)
    elif feature.kind in {FeatureKind.HAIRPIN, FeatureKind.SWEEPER}:  # round one cone: in one direction, out another
        before, after = (at, after) if is_exit else (before, at)
    heading = _direction(stops[before], stops[after]) or 0.0
    if feature.kind is FeatureKind.SLALOM:
        return Pose(*stops[at], heading)
    side = {PassSide.LEFT: BESIDE, PassSide.RIGHT: -BESIDE}.get(crossing[0].pass_side, 0.0)
    return Pose(*stops[at], heading).ahead(0.0, side)


def _square(course: Course, crossing: tuple[ConePass, ...], middle: Point) -> Pose:
    """Through the middle of a gate, its left cone on the left."""
    left = next((p.cone for p in crossing if p.pass_side is PassSide.RIGHT), crossing[0].cone)
    right = next((p.cone for p in crossing if p.pass_side is PassSide.LEFT), crossing[-1].cone)
    a, b = course.cone(right), course.cone(left)
    across = _direction((a.x, a.y), (b.x, b.y))
    return Pose(*middle, 0.0 if across is None else across - math.pi / 2.0)


def _direction(start: Point, end: Point) -> float | None:
    """Direction from one point to another; None where they are one. [rad]"""
    if math.dist(start, end) < _LEAST:
        return None
    return math.atan2(end[1] - start[1], end[0] - start[0])


def own_cones(course: Course, features: Iterable[CourseFeature]) -> frozenset[str]:
    """Cones of these features alone, with the pointers at them."""
    features = tuple(features)
    ids = {feature.id for feature in features}
    others = {name for feature in course.features if feature.id not in ids for name in feature.cone_ids}
    standing = {name for feature in features for name in feature.cone_ids} - others
    return frozenset(standing | {cone.id for cone in course.cones if cone.points_to in standing})
