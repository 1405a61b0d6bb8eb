"""A course in words: what each feature is, as one says it on a walk."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

from conewise import quantities
from conewise.course.layout import FeatureKind, PassSide

if TYPE_CHECKING:
    from conewise.course.layout import Course, CourseFeature
    from conewise.quantities import System

_YOUR_SIDE = {
    PassSide.RIGHT: "to your left",
    PassSide.LEFT: "to your right",
    PassSide.EITHER: "on either side",
}


def feature_words(
    course: Course, feature: CourseFeature, *, system: System = "metric", choice: str | None = None
) -> str:
    """One line about a feature: its cones, sides, spacing or width.

    Parameters
    ----------
    course : Course
        The course that the feature belongs to.
    feature : CourseFeature
        The feature.
    system : str, default "metric"
        Units of the lengths: "metric" or "us".
    choice : str, optional
        "left" or "right": the side of the first cone on which the car goes, where either is open.
    """
    parts = [_cones(feature)]
    spacing = _spacing(course, feature)
    if spacing is not None:
        parts.append(f"{_range(*spacing, system)} apart")
    width = _width(course, feature)
    if width is not None:
        parts.append(f"{_range(*width, system)} wide" if width[0] > 0.0 else "shut")
    side = feature.crossings[0][0].pass_side
    if side is PassSide.EITHER and choice is not None:
        side = PassSide(choice)
    if feature.kind is FeatureKind.SLALOM:
        parts.append("either side first" if side is PassSide.EITHER else f"first cone {_YOUR_SIDE[side]}")
    elif len({p.pass_side for crossing in feature.crossings for p in crossing}) == 1:
        parts.append(_YOUR_SIDE[side] + (" first" if len(feature.crossings) > 1 and choice is not None else ""))
    elif feature.kind is FeatureKind.SPLIT_GATE:
        parts.append(f"first cone {_YOUR_SIDE[side]}")
    return ", ".join(parts)


def name_of(kind: str, name: str) -> str:
    """What a feature is called everywhere: its id, with its kind before it where the id does not say it.

    Examples
    --------
    >>> name_of("offset-gate", "offset gate 2"), name_of("hairpin", "the far end")
    ('offset gate 2', 'hairpin the far end')
    """
    words = kind.replace("-", " ")
    said = words.replace(" ", "") in name.lower().replace(" ", "").replace("-", "")
    return name if said else f"{words} {name}"


def cone_words(course: Course) -> dict[str, str]:
    """How to find every standing cone that is passed, by its id: "gate 5, left cone", with the feature's own name.

    A cone of two passes is told by its first.
    """
    words: dict[str, str] = {}
    for feature in course.features:
        name = name_of(feature.kind.value, feature.id)
        for index, crossing in enumerate(feature.crossings, start=1):
            is_pair = len(crossing) > 1
            which = "" if len(feature.crossings) == 1 else f", {'gate' if is_pair else 'cone'} {index}"
            for passed in crossing:
                side = {PassSide.RIGHT: "left", PassSide.LEFT: "right"}.get(passed.pass_side, "")
                words.setdefault(passed.cone, f"{name}{which}" + (f", {side} cone" if is_pair and side else ""))
    return words


def _cones(feature: CourseFeature) -> str:
    """How many cones or gates."""
    kind = feature.kind.replace("-", " ")
    count = len(feature.crossings)
    if all(len(crossing) > 1 for crossing in feature.crossings):
        return kind if count == 1 else f"{kind} of {count} gates"
    if feature.kind in {FeatureKind.CONE, FeatureKind.SPLIT_GATE}:
        return kind
    return f"{kind} round one cone" if count == 1 else f"{kind} of {count} cones"


def _spacing(course: Course, feature: CourseFeature) -> tuple[float, float] | None:
    """Least and largest distance between single cones in a row. [m]"""
    if len(feature.crossings) < 2 or any(len(crossing) > 1 for crossing in feature.crossings):
        return None
    places = [course.cone(crossing[0].cone) for crossing in feature.crossings]
    gaps = [math.hypot(b.x - a.x, b.y - a.y) for a, b in pairwise(places)]
    return min(gaps), max(gaps)


def _width(course: Course, feature: CourseFeature) -> tuple[float, float] | None:
    """Least and largest opening between the bases of the gates' cones. [m]"""
    pairs = [[course.cone(p.cone) for p in crossing] for crossing in feature.crossings if len(crossing) == 2]
    widths = [math.hypot(a.x - b.x, a.y - b.y) - (a.base + b.base) / 2 for a, b in pairs]
    return (min(widths), max(widths)) if widths else None


def _range(low: float, high: float, system: System) -> str:
    """One length, or two where they differ by more than a few centimetres."""
    if high - low < 0.1:
        return quantities.show((low + high) / 2, "length", system)
    unit = quantities.shown_unit("length", system)
    first = quantities.in_unit(low, "length", unit)
    return f"{first:.1f} to {quantities.in_unit(high, 'length', unit):.1f} {unit}"
