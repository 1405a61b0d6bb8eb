"""A course as a TOML text that a person can read and edit; `toml_file` reads the same course back, exactly."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from conewise.course.feature_forms import feature_fields
from conewise.course.layout import CONE_BASE, Course, Site
from conewise.toml_writing import toml_entries, toml_key, toml_value

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from conewise.course.layout import Cone, Point

_HEAD = (
    '# Course. Plan in metres east and north; a length may carry another unit: "60 ft".\n'
    "# Every field: docs/formats-course.md\n"
)


def course_text(course: Course) -> str:
    """TOML text of a course; `read_toml` gives back an equal course (but for its `source`)."""
    blocks = [
        _HEAD + toml_entries({"name": course.name, "rules": course.rules, "staging": course.staging}),
        *_site_blocks(course.site),
        "[cones]  # [east, north]\n" + "\n".join(_cone(cone) for cone in course.cones),
        *(
            "[[feature]]\n" + toml_entries({"kind": f.kind.value, "id": f.id} | feature_fields(f))
            for f in course.features
        ),
    ]
    if course.stop is not None:
        stop = {"kind": course.stop.kind, "length": course.stop.length}
        blocks.append("[stop]\n" + toml_entries(stop | _outline(course.stop.outline)))
    return "\n\n".join(blocks) + "\n"


def _cone(cone: Cone) -> str:
    """One line of [cones]."""
    at = [cone.x, cone.y]
    more: dict[str, Any] = {}
    if cone.points_to is not None:
        more["points_to"] = cone.points_to
    if cone.base != CONE_BASE:
        more["base"] = cone.base
    if cone.position_sd:
        more["position_sd"] = cone.position_sd
    return f"{toml_key(cone.id)} = {toml_value({'at': at} | more if more else at)}"


def _site_blocks(site: Site) -> Iterable[str]:
    """[site] and its lists; nothing where all of it is as usual."""
    if site == Site():
        return
    fields: dict[str, Any] = {"friction": site.friction, "heading_to_north": angle_text(site.heading_to_north)}
    if site.slope.grade or site.slope.direction:
        fields["slope"] = {"grade": site.slope.grade, "direction": angle_text(site.slope.direction)}
    if site.anchor is not None:
        fields["anchor"] = {"latitude": site.anchor.latitude, "longitude": site.anchor.longitude}
    yield "[site]\n" + toml_entries(fields | _outline(site.outline))
    for obstacle in site.obstacles:
        place: dict[str, Any] = _outline(obstacle.outline)
        if obstacle.centre is not None:
            place["centre"] = list(obstacle.centre)
        if obstacle.radius:
            place["radius"] = obstacle.radius
        yield "[[site.obstacle]]\n" + toml_entries({"id": obstacle.id, "kind": obstacle.kind} | place)
    for patch in site.patches:
        yield "[[site.patch]]\n" + toml_entries({"friction": patch.friction} | _outline(patch.outline))


def _outline(points: Sequence[Point]) -> dict[str, Any]:
    """The field `outline`, where there is one."""
    return {"outline": [list(point) for point in points]} if points else {}


def angle_text(angle: float) -> str:
    """An angle in degrees where that says it exactly, else in radians."""
    degrees = f"{round(math.degrees(angle), 9) + 0.0:.12g}"
    if float(degrees) * (math.pi / 180) == angle:
        return f"{degrees} deg"
    return f"{angle!r} rad"
