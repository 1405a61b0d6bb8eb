"""A course as a TOML text that a person can read and edit; `toml_file` reads the same course back, exactly."""

from __future__ import annotations

import json
import math
import re
from typing import TYPE_CHECKING, Any

from conewise.course.feature_forms import feature_fields
from conewise.course.layout import CONE_BASE, Course, Site

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from conewise.course.layout import Cone, Point

_BARE_KEY = re.compile(r"^[A-Za-z0-9_-]+$")
_HEAD = (
    '# Course. Plan in metres east and north; a length may carry another unit: "60 ft".\n'
    "# Every field: docs/formats-course.md\n"
)


def course_text(course: Course) -> str:
    """TOML text of a course; `read_toml` gives back an equal course (but for its `source`)."""
    blocks = [
        _HEAD + _entries({"name": course.name, "rules": course.rules, "staging": course.staging}),
        *_site_blocks(course.site),
        "[cones]  # [east, north]\n" + "\n".join(_cone(cone) for cone in course.cones),
        *("[[feature]]\n" + _entries({"kind": f.kind.value, "id": f.id} | feature_fields(f)) for f in course.features),
    ]
    if course.stop is not None:
        stop = {"kind": course.stop.kind, "length": course.stop.length}
        blocks.append("[stop]\n" + _entries(stop | _outline(course.stop.outline)))
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
    return f"{_key(cone.id)} = {_value({'at': at} | more if more else at)}"


def _site_blocks(site: Site) -> Iterable[str]:
    """[site] and its lists; nothing where all of it is as usual."""
    if site == Site():
        return
    fields: dict[str, Any] = {"friction": site.friction, "heading_to_north": angle_text(site.heading_to_north)}
    if site.slope.grade or site.slope.direction:
        fields["slope"] = {"grade": site.slope.grade, "direction": angle_text(site.slope.direction)}
    if site.anchor is not None:
        fields["anchor"] = {"latitude": site.anchor.latitude, "longitude": site.anchor.longitude}
    yield "[site]\n" + _entries(fields | _outline(site.outline))
    for obstacle in site.obstacles:
        place: dict[str, Any] = _outline(obstacle.outline)
        if obstacle.centre is not None:
            place["centre"] = list(obstacle.centre)
        if obstacle.radius:
            place["radius"] = obstacle.radius
        yield "[[site.obstacle]]\n" + _entries({"id": obstacle.id, "kind": obstacle.kind} | place)
    for patch in site.patches:
        yield "[[site.patch]]\n" + _entries({"friction": patch.friction} | _outline(patch.outline))


def _outline(points: Sequence[Point]) -> dict[str, Any]:
    """The field `outline`, where there is one."""
    return {"outline": [list(point) for point in points]} if points else {}


def angle_text(angle: float) -> str:
    """An angle in degrees where that says it exactly, else in radians."""
    degrees = f"{round(math.degrees(angle), 9) + 0.0:.12g}"
    if float(degrees) * (math.pi / 180) == angle:
        return f"{degrees} deg"
    return f"{angle!r} rad"


def _entries(fields: dict[str, Any]) -> str:
    """One `key = value` a line."""
    return "\n".join(f"{_key(key)} = {_value(value)}" for key, value in fields.items())


def _key(key: str) -> str:
    return key if _BARE_KEY.match(key) else text_value(key)


def _value(value: Any) -> str:
    """A value as TOML writes it; floats keep every digit."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    if isinstance(value, str):
        return text_value(value)
    return repr(value)


def text_value(text: str) -> str:
    """A TOML basic string; its escapes are those of JSON, and DEL."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
