"""What a person does to single cones of a course while drawing it: sides, one more, one less, pointers."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

from conewise.course import feature_forms as forms
from conewise.course.act_parts import (
    ENDS,
    SWAPPED,
    ActRefusedError,
    EntryUnknownError,
    free_name,
    index_of,
    with_feature,
    with_parts,
)
from conewise.course.layout import Cone, ConePass, FeatureKind, PassSide
from conewise.course.poses import walk_poses

if TYPE_CHECKING:
    from conewise.course.layout import Course

Side = Literal["left", "right", "either"]

POINTER_GAP = 0.6  # centre of a pointer to the centre of its cone [m]; common practice, no source
_EXTRA = 2.0  # from the only cone of a row to the next one [m]
_PASS = {"left": PassSide.RIGHT, "right": PassSide.LEFT, "either": PassSide.EITHER}
_WHOLE = frozenset({FeatureKind.GATE, FeatureKind.OFFSET_GATE, FeatureKind.SPLIT_GATE}) | ENDS  # of two cones


def sides(course: Course, entry: str, first: Side) -> Course:
    """The course with the first cone of an entry on the driver's side that is named, and the others as follows from it.

    Raises
    ------
    ActRefusedError
        If the entry has gates: a gate is passed between its cones.
    """
    at = index_of(course, entry)
    feature = course.features[at]
    if any(len(crossing) > 1 for crossing in feature.crossings):
        raise ActRefusedError("A gate is passed between its cones.", feature=entry, hint="Use this on single cones.")
    if feature.kind is FeatureKind.SPLIT_GATE:
        raise ActRefusedError("A split gate has one cone on either side.", feature=entry, hint="Mirror it instead.")
    crossings = (
        forms.slalom(feature.cone_ids, first)
        if feature.kind is FeatureKind.SLALOM
        else forms.row(feature.cone_ids, _PASS[first])
    )
    return with_feature(course, at, feature.changed(crossings=crossings))


def add_cone(course: Course, entry: str) -> Course:
    """The course with one more cone, or gate, at the end of an entry, as far on as the last ones are apart."""
    at = index_of(course, entry)
    feature = course.features[at]
    if feature.kind in _WHOLE | {FeatureKind.CONE}:
        raise ActRefusedError("This entry has its cones.", feature=entry, hint="Add an entry after it, or repeat it.")
    taken = {cone.id for cone in course.cones}
    last = [course.cone(passed.cone) for passed in feature.crossings[-1]]
    before = [course.cone(passed.cone) for passed in feature.crossings[-2]] if len(feature.crossings) > 1 else []
    cones = []
    for number, cone in enumerate(last):
        step = (cone.x - before[number].x, cone.y - before[number].y) if len(before) == len(last) else (_EXTRA, 0.0)
        cones.append(
            Cone(id=free_name(taken), x=round(cone.x + step[0], 3), y=round(cone.y + step[1], 3), base=cone.base)
        )
    turned = feature.kind is FeatureKind.SLALOM
    crossing = tuple(
        ConePass(cone=cone.id, pass_side=SWAPPED[passed.pass_side] if turned else passed.pass_side)
        for cone, passed in zip(cones, feature.crossings[-1], strict=True)
    )
    grown = course.changed(cones=(*course.cones, *cones))
    return with_feature(grown, at, feature.changed(crossings=(*feature.crossings, crossing)))


def remove_cone(course: Course, cone: str) -> Course:
    """The course without a cone and its pointers; an entry whose last cone it is goes with it."""
    if cone not in course.cones_by_id:
        raise EntryUnknownError(cone)
    features = []
    for feature in course.features:
        crossings = tuple(c for c in (tuple(p for p in x if p.cone != cone) for x in feature.crossings) if c)
        if feature.kind in _WHOLE and (crossings != feature.crossings):
            raise ActRefusedError(
                f"A {feature.kind.replace('-', ' ')} needs both its cones.",
                feature=feature.id,
                hint="Remove the entry.",
            )
        if crossings:
            features.append(feature.changed(crossings=crossings))
    return with_parts(course, features, [c for c in course.cones if cone not in {c.id, c.points_to}])


def pointer(course: Course, cone: str) -> Course:
    """The course with a pointer at a standing cone, on the side away from the car; where it has one, without it."""
    if cone not in course.cones_by_id:
        raise EntryUnknownError(cone)
    target = course.cone(cone)
    if target.points_to is not None:
        return course.changed(cones=tuple(c for c in course.cones if c.id != cone))
    ours = [c for c in course.cones if c.points_to == cone]
    if ours:
        return course.changed(cones=tuple(c for c in course.cones if c.id != ours[-1].id))
    away = _away_from_car(course, cone)
    name = free_name({c.id for c in course.cones})
    x, y = target.x + POINTER_GAP * math.cos(away), target.y + POINTER_GAP * math.sin(away)
    return course.changed(cones=(*course.cones, Cone(id=name, x=round(x, 3), y=round(y, 3), points_to=cone)))


def _away_from_car(course: Course, cone: str) -> float:
    """Direction from a cone to the side on which the car does not go. [rad]"""
    for feature, (come, go) in zip(course.features, walk_poses(course), strict=True):
        for number, crossing in enumerate(feature.crossings):
            for passed in crossing:
                if passed.cone == cone:
                    heading = come.heading if number < len(feature.crossings) / 2 else go.heading
                    return heading + (-math.pi / 2 if passed.pass_side is PassSide.LEFT else math.pi / 2)
    return 0.0
