"""Checks of a course that need no path: gates, slaloms, doubled cones, order, obstacles, the site's edge."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from conewise.course.corridor import obstacle_shape
from conewise.course.layout import FeatureKind
from conewise.course.passes import ordered_crossings, sides_of
from conewise.course.said import METRIC
from conewise.findings import Finding

if TYPE_CHECKING:
    from conewise.course.layout import Course, CourseFeature
    from conewise.course.passes import Crossing
    from conewise.course.rules import Rules
    from conewise.course.said import Said

Array = NDArray[np.float64]

TOLERANCE = 0.01  # by which a measure may miss its limit: what a tape measure gives [m]
_SAME_PLACE = 0.15  # two cones nearer than this are one cone entered twice [m]
_FAR_AHEAD = 40.0  # a feature further off may lie behind the car: there is room to turn [m]
_BEHIND = np.radians(120.0)
_AGAINST = np.radians(100.0)


def check_layout(course: Course, *, rules: Rules, say: Said = METRIC) -> list[Finding]:
    """Everything that cones, features and site tell without a path.

    Parameters
    ----------
    course : Course
        The course.
    rules : Rules
        Limits.
    say : Said, optional
        Units of the messages.
    """
    crossings = ordered_crossings(course, {f.id: sides_of(f)[0] for f in course.features if f.is_open})
    return [
        *_gates(crossings, rules, say),
        *_slaloms(course, rules, say),
        *_doubled(course, say),
        *_order_within(course),
        *_order(crossings, say),
        *_near_obstacles(course, rules, say),
        *_off_site(course, say),
    ]


def gate_widths(crossings: list[Crossing]) -> list[tuple[Crossing, float]]:
    """Clear width between the bases for every crossing that has cones on both sides. [m]"""
    widths = []
    for crossing in crossings:
        gap = crossing.gap()
        if gap is not None:
            base = np.mean([p.cone.base for p in crossing.passes])
            widths.append((crossing, float(np.hypot(*(gap[0] - gap[1])) - base)))
    return widths


def _gates(crossings: list[Crossing], rules: Rules, say: Said) -> list[Finding]:
    found = []
    for crossing, width in gate_widths(crossings):
        place = place_of(crossing)
        if width <= 0.0:
            base = float(np.mean([p.cone.base for p in crossing.passes]))
            message = (
                f"The gate is shut: its cones stand {say.length(width + base)} apart, less than their bases of "
                f"{say.length(base)}; one of them has the wrong place or the wrong name."
            )
            found.append(Finding("stop", "gate-shut", message, place))
        elif rules.gate_width is not None and width < rules.gate_width - TOLERANCE:
            message = (
                f"The gate is {say.length(width)} wide between the bases; rule set '{rules.name}' asks for "
                f"{say.length(rules.gate_width)}."
            )
            found.append(Finding("warning", "gate-narrow", message, place))
    return found


def _slaloms(course: Course, rules: Rules, say: Said) -> list[Finding]:
    found = []
    for feature in course.features:
        if feature.kind is not FeatureKind.SLALOM:
            continue
        places = [_middle(course, feature, k) for k in range(len(feature.crossings))]
        for k, (a, b) in enumerate(pairwise(places)):
            gap = float(np.hypot(*(b - a)))
            where = f"feature '{feature.id}', cones {k + 1} and {k + 2}"
            if rules.slalom_spacing is not None and gap < rules.slalom_spacing - TOLERANCE:
                message = (
                    f"The cones are {say.length(gap)} apart; rule set '{rules.name}' asks for at least "
                    f"{say.length(rules.slalom_spacing)}."
                )
                found.append(Finding("warning", "slalom-tight", message, where))
            if rules.slalom_spacing_largest is not None and gap > rules.slalom_spacing_largest + TOLERANCE:
                message = (
                    f"The cones are {say.length(gap)} apart; rule set '{rules.name}' allows at most "
                    f"{say.length(rules.slalom_spacing_largest)}."
                )
                found.append(Finding("warning", "slalom-wide", message, where))
    return found


def _doubled(course: Course, say: Said) -> list[Finding]:
    places = np.array([(c.x, c.y) for c in course.cones])
    pairs = sorted(cKDTree(places).query_pairs(_SAME_PLACE))
    return [
        Finding(
            "warning",
            "cone-doubled",
            f"Cones '{course.cones[i].id}' and '{course.cones[j].id}' are "
            f"{say.length(float(np.hypot(*(places[i] - places[j]))))} apart; a cone that serves two passes is entered "
            "once.",
            f"cones '{course.cones[i].id}' and '{course.cones[j].id}'",
        )
        for i, j in pairs
    ]


def _order_within(course: Course) -> list[Finding]:
    """The cones of a slalom, a wall or a box come one after the other and do not turn back."""
    found = []
    for feature in course.features:
        if feature.kind not in (FeatureKind.SLALOM, FeatureKind.WALL, FeatureKind.BOX):
            continue
        places = [_middle(course, feature, k) for k in range(len(feature.crossings))]
        for k, (a, b, c) in enumerate(zip(places, places[1:], places[2:], strict=False)):
            if _angle(b - a, c - b) > _BEHIND:
                message = f"After number {k + 2} of this {feature.kind} the way turns back to number {k + 3}."
                where = f"feature '{feature.id}', cone '{feature.crossings[k + 2][0].cone}'"
                found.append(Finding("stop", "order-impossible", message, where))
    return found


def _order(crossings: list[Crossing], say: Said) -> list[Finding]:
    """A gate that faces the other way, and a feature that lies behind the car."""
    middle = np.array([c.middle() for c in crossings])
    found = []
    for k in range(1, len(crossings)):
        gap, before = crossings[k].gap(), crossings[k - 1].gap()
        chord_in = middle[k] - middle[k - 1]
        chord_out = middle[k + 1] - middle[k] if k + 1 < len(crossings) else chord_in
        if gap is not None and min(_angle(_facing(gap), chord_in), _angle(_facing(gap), chord_out)) > _AGAINST:
            message = (
                "The gate is to be driven away from where the car comes from and goes to; "
                "its left and right cone may be swapped, or the features are out of order."
            )
            found.append(Finding("warning", "gate-reversed", message, place_of(crossings[k])))
        elif before is not None and np.hypot(*chord_in) < _FAR_AHEAD:
            angle = _angle(_facing(before), chord_in)
            if angle > _BEHIND:
                message = (
                    f"It lies {say.length(np.hypot(*chord_in), 0)} away and {np.degrees(angle):.0f} degrees off the "
                    f"car's direction as the car leaves '{crossings[k - 1].feature}': behind it."
                )
                found.append(Finding("warning", "feature-behind", message, place_of(crossings[k])))
    return found


def _near_obstacles(course: Course, rules: Rules, say: Said) -> list[Finding]:
    wanted = rules.obstacle_distance
    shapes = [(o, obstacle_shape(o)) for o in course.site.obstacles]
    if wanted is None or not shapes:
        return []
    standing = [c for c in course.cones if c.is_standing]
    points = shapely.points([(c.x, c.y) for c in standing])
    found = []
    for obstacle, shape in shapes:
        away = shapely.distance(points, shape)
        nearest = int(np.argmin(away))
        if away[nearest] < wanted - TOLERANCE:
            n_near = int(np.sum(away < wanted - TOLERANCE))
            others = f" ({n_near} cones in all)" if n_near > 1 else ""
            message = (
                f"Cone '{standing[nearest].id}' is {say.length(away[nearest], 1)} from {obstacle.kind} '{obstacle.id}'"
                f"{others}; rule set '{rules.name}' asks for {say.length(wanted)}."
            )
            where = f"{obstacle.kind} '{obstacle.id}', cone '{standing[nearest].id}'"
            found.append(Finding("stop", "obstacle-near", message, where))
    return found


def _off_site(course: Course, say: Said) -> list[Finding]:
    if len(course.site.outline) < 3:
        return []
    lot = shapely.Polygon(course.site.outline)
    if not lot.is_valid:
        message = "The outline of the site crosses itself; distances to its edge are not checked."
        return [Finding("warning", "outline-crossed", message, "site outline")]
    out = [c for c in course.cones if not shapely.contains_xy(lot, c.x, c.y)]
    return [
        Finding(
            "stop",
            "cone-off-site",
            f"The cone stands {say.length(shapely.distance(shapely.Point(c.x, c.y), lot), 1)} outside the outline of "
            "the site.",
            f"cone '{c.id}'",
        )
        for c in out
    ]


def _middle(course: Course, feature: CourseFeature, index: int) -> Array:
    cones = [course.cone(p.cone) for p in feature.crossings[index]]
    return np.array([np.mean([c.x for c in cones]), np.mean([c.y for c in cones])])


def _facing(gap: tuple[Array, Array]) -> Array:
    """Direction in which a gate is driven, from its left and its right cone."""
    across = gap[0] - gap[1]
    return np.array([across[1], -across[0]])


def _angle(a: Array, b: Array) -> float:
    return float(abs(np.arctan2(a[0] * b[1] - a[1] * b[0], a @ b)))


def place_of(crossing: Crossing) -> str:
    """A crossing as findings name it."""
    cones = " and ".join(f"'{p.cone.id}'" for p in crossing.passes)
    return f"feature '{crossing.feature}', {'cones' if len(crossing.passes) > 1 else 'cone'} {cones}"
