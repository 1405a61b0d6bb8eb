"""Courses as GeoJSON (RFC 7946): everything that a course has, positions to a tenth of a millimetre.

Cones, features, obstacles, patches, outline and stop area are GeoJSON features, told apart by the property `role`;
what belongs to the whole course stands in the member `course` of the collection (a foreign member, section 6.1).
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NoReturn

from pydantic import ValidationError

from conewise.course.earth import LocalPlane, NotAnchoredError
from conewise.course.layout import (
    Anchor,
    Cone,
    Course,
    CourseFeature,
    LayoutError,
    Obstacle,
    Patch,
    Site,
    Slope,
    StopArea,
)
from conewise.errors import ByFace, InputError
from conewise.refusals import refusal

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from conewise.course.layout import Point
    from conewise.records import Record

_DECIMALS = 9  # 1e-9 degrees of latitude are 0.11 mm


class GeoJsonError(InputError):
    """GeoJSON that is not a course: not JSON, no feature collection, a member missing or not understood."""

    code = "geojson"
    default_hint = ByFace(
        "Under Help, 'Course files' has an example; a course of the book is given out as such a file.",
        typed="docs/formats-course.md has an example; `conewise course convert` writes such a file from any other.",
    )

    def __init__(self, problem: str, *, where: str, hint: str = "") -> None:
        super().__init__(problem, where=where, hint=hint)


def geojson_text(course: Course) -> str:
    """GeoJSON text of an anchored course.

    Raises
    ------
    NotAnchoredError
        If the site has no anchor.
    """
    if course.site.anchor is None:
        raise NotAnchoredError(course.name)
    plane = LocalPlane(course.site.anchor, course.site.heading_to_north)
    items = [*_cone_items(course, plane), *_feature_items(course, plane), *_site_items(course, plane)]
    head = {"type": "FeatureCollection", "course": _course_member(course)}
    lines = ",\n".join(json.dumps(item, ensure_ascii=False) for item in items)
    return f'{json.dumps(head, ensure_ascii=False)[:-1]}, "features": [\n{lines}\n]}}\n'


def _course_member(course: Course) -> dict[str, Any]:
    """What belongs to the whole course."""
    whole = course.model_dump(mode="json", include={"name", "rules", "staging"})
    site = course.site.model_dump(mode="json", include={"friction", "heading_to_north", "anchor", "slope"})
    member = whole | site
    if course.stop is not None:
        member["stop"] = course.stop.model_dump(mode="json", exclude={"outline"})
    return member


def _item(role: str, geometry: dict[str, Any] | None, properties: dict[str, Any]) -> dict[str, Any]:
    return {"type": "Feature", "geometry": geometry, "properties": {"role": role} | properties}


def _cone_items(course: Course, plane: LocalPlane) -> Iterable[dict[str, Any]]:
    for cone in course.cones:
        more = cone.model_dump(mode="json", exclude={"x", "y"}, exclude_defaults=True)
        yield _item("cone", {"type": "Point", "coordinates": _position(plane, (cone.x, cone.y))}, more)


def _feature_items(course: Course, plane: LocalPlane) -> Iterable[dict[str, Any]]:
    """Features in driving order; the geometry is for viewers, the crossings say it."""
    for order, feature in enumerate(course.features, start=1):
        cones = [course.cone(name) for name in feature.cone_ids]
        geometry = {"type": "MultiPoint", "coordinates": [_position(plane, (c.x, c.y)) for c in cones]}
        yield _item("feature", geometry, {"order": order} | feature.model_dump(mode="json"))


def _site_items(course: Course, plane: LocalPlane) -> Iterable[dict[str, Any]]:
    if course.site.outline:
        yield _item("outline", _polygon(plane, course.site.outline), {})
    for obstacle in course.site.obstacles:
        more = obstacle.model_dump(mode="json", include={"id", "kind", "radius"})
        if obstacle.centre is None:
            yield _item("obstacle", _polygon(plane, obstacle.outline), more)
        else:
            yield _item("obstacle", {"type": "Point", "coordinates": _position(plane, obstacle.centre)}, more)
    for patch in course.site.patches:
        yield _item("patch", _polygon(plane, patch.outline), {"friction": patch.friction})
    if course.stop is not None and course.stop.outline:
        yield _item("stop", _polygon(plane, course.stop.outline), {})


def _position(plane: LocalPlane, point: Point) -> list[float]:
    longitude, latitude = plane.to_earth(point)
    return [round(longitude, _DECIMALS), round(latitude, _DECIMALS)]


def _polygon(plane: LocalPlane, outline: Sequence[Point]) -> dict[str, Any]:
    """A closed ring, counter-clockwise as section 3.1.6 wants it."""
    ring = [_position(plane, point) for point in (outline if _area(outline) >= 0.0 else outline[::-1])]
    return {"type": "Polygon", "coordinates": [[*ring, ring[0]]]}


def _area(outline: Sequence[Point]) -> float:
    """Signed area, counter-clockwise positive. [m2]"""
    pairs = zip(outline, (*outline[1:], outline[0]), strict=True)
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs) / 2


@dataclass(frozen=True)
class _Reader:
    """The file's name and plane, for every geometry and every message."""

    file: str
    plane: LocalPlane

    def fail(self, problem: str, place: str, hint: str = "") -> NoReturn:
        raise GeoJsonError(problem, where=f"{self.file}, {place}", hint=hint)

    def point(self, value: Any, place: str) -> Point:
        """A position as a point of the plan."""
        good = isinstance(value, list) and len(value) in {2, 3} and all(_is_number(number) for number in value)
        if not good or not (-180.0 <= value[0] <= 180.0 and -90.0 <= value[1] <= 90.0):
            self.fail(f"{value!r} is not a position.", place, "Write [longitude, latitude] in degrees.")
        return self.plane.to_plan(value[0], value[1])

    def geometry(self, item: dict[str, Any], kind: str, place: str) -> Any:
        """Coordinates of a geometry of one kind."""
        geometry = item.get("geometry")
        if not isinstance(geometry, dict) or geometry.get("type") != kind:
            self.fail(f"The geometry is not a {kind}.", place)
        return geometry.get("coordinates")

    def outline(self, item: dict[str, Any], place: str) -> tuple[Point, ...]:
        """The outer ring of a polygon, not closed."""
        rings = self.geometry(item, "Polygon", place)
        if not isinstance(rings, list) or not rings or not isinstance(rings[0], list) or len(rings[0]) < 4:
            self.fail("The polygon has no ring of four positions or more.", place)
        return tuple(self.point(position, place) for position in rings[0][:-1])

    def record(self, kind: type[Record], values: dict[str, Any], place: str) -> Any:
        """A record from properties; what cannot be is told with its place."""
        try:
            return kind.model_validate(values)
        except ValidationError as error:
            first = error.errors()[0]
            field = ".".join(str(part) for part in first["loc"])
            self.fail(refusal(field, first), place)


def read_geojson(text: str, *, file: str) -> Course:
    """Course of a GeoJSON text.

    Parameters
    ----------
    text : str
        A feature collection with the member `course`, as `geojson_text` writes it.
    file : str
        Its name, for messages.

    Raises
    ------
    GeoJsonError
        If the text is not JSON or not a course; the feature is named.
    LayoutError
        If cones and features contradict each other.
    """
    collection = _collection(text, file=file)
    member = collection.get("course")
    if not isinstance(member, dict):
        raise GeoJsonError(
            "The feature collection has no member 'course'.",
            where=file,
            hint='Add "course": { "name": ..., "anchor": { "latitude": ..., "longitude": ... } } beside "features".',
        )
    member = dict(member)
    anchor = _Reader(file, LocalPlane(Anchor(latitude=0.0, longitude=0.0))).record(
        Anchor, member.pop("anchor", None) or {}, "course.anchor"
    )
    heading = member.pop("heading_to_north", 0.0)
    if not _is_number(heading):
        raise GeoJsonError(f"'heading_to_north' is {heading!r}; radians are wanted.", where=f"{file}, course")
    reader = _Reader(file, LocalPlane(anchor, heading))
    return _course(reader, member, _by_role(collection["features"], reader))


def _collection(text: str, *, file: str) -> dict[str, Any]:
    """The feature collection of a text."""
    try:
        collection = json.loads(text)
    except json.JSONDecodeError as error:
        raise GeoJsonError(f"This is not JSON: {error.msg}.", where=f"{file}, line {error.lineno}") from None
    except RecursionError:
        raise GeoJsonError("This JSON is nested too deeply for a course.", where=file) from None
    if not isinstance(collection, dict) or collection.get("type") != "FeatureCollection":
        raise GeoJsonError("This is not a GeoJSON feature collection.", where=file)
    if not isinstance(collection.get("features"), list):
        raise GeoJsonError("The feature collection has no list 'features'.", where=file)
    return collection


Items = dict[str, list[tuple[str, dict[str, Any], dict[str, Any]]]]  # role -> place, item, properties but the role


def _by_role(features: list[Any], reader: _Reader) -> Items:
    """The items of each role; what has no role of ours (a building drawn beside) is no part of the course."""
    items: Items = {role: [] for role in ("cone", "feature", "outline", "obstacle", "patch", "stop")}
    for number, item in enumerate(features, start=1):
        place = f"features, item {number}"
        if not isinstance(item, dict) or item.get("type") != "Feature":
            reader.fail("This is not a GeoJSON feature.", place)
        properties = item.get("properties")
        role = properties.get("role") if isinstance(properties, dict) else None
        if role in items:
            assert isinstance(properties, dict)
            items[role].append((place, item, {k: v for k, v in properties.items() if k != "role"}))
    return items


def _course(reader: _Reader, member: dict[str, Any], items: Items) -> Course:
    """The course from the member `course` and the items."""
    slope = reader.record(Slope, member.pop("slope", None) or {}, "course.slope")
    stop = member.pop("stop", None)
    if stop is not None:
        if not isinstance(stop, dict):
            reader.fail("'stop' is not an object.", "course.stop")
        outlines = [reader.outline(item, place) for place, item, _ in items["stop"]]
        stop = reader.record(StopArea, stop | {"outline": outlines[0] if outlines else ()}, "course.stop")
    site = {
        "outline": next((reader.outline(item, place) for place, item, _ in items["outline"]), ()),
        "obstacles": tuple(_obstacle(reader, *found) for found in items["obstacle"]),
        "patches": tuple(
            reader.record(Patch, more | {"outline": reader.outline(item, place)}, place)
            for place, item, more in items["patch"]
        ),
        "slope": slope,
        "anchor": reader.plane.anchor,
        "heading_to_north": reader.plane.heading_to_north,
    }
    if "friction" in member:
        site["friction"] = member.pop("friction")
    values = member | {
        "cones": tuple(_cone(reader, *found) for found in items["cone"]),
        "features": _features(reader, items),
        "site": reader.record(Site, site, "course"),
        "stop": stop,
        "source": reader.file,
    }
    try:
        course: Course = reader.record(Course, values, "course")
    except LayoutError as error:
        error.where = f"{reader.file}, {error.where}" if error.where else reader.file
        raise
    return course


def _cone(reader: _Reader, place: str, item: dict[str, Any], more: dict[str, Any]) -> Cone:
    x, y = reader.point(reader.geometry(item, "Point", place), place)
    cone: Cone = reader.record(Cone, more | {"x": x, "y": y}, place)
    return cone


def _obstacle(reader: _Reader, place: str, item: dict[str, Any], more: dict[str, Any]) -> Obstacle:
    geometry = item.get("geometry")
    if isinstance(geometry, dict) and geometry.get("type") == "Point":
        shape: dict[str, Any] = {"centre": reader.point(geometry.get("coordinates"), place)}
    else:
        shape = {"outline": reader.outline(item, place)}
    obstacle: Obstacle = reader.record(Obstacle, more | shape, place)
    return obstacle


def _features(reader: _Reader, items: Items) -> tuple[CourseFeature, ...]:
    """Features by their property `order`."""
    numbered = []
    for place, _, more in items["feature"]:
        order = more.pop("order", None)
        if not _is_number(order):
            reader.fail("The feature has no number 'order'.", place, "Number the features 1, 2, 3 in driving order.")
        numbered.append((order, reader.record(CourseFeature, more, place)))
    return tuple(feature for _, feature in sorted(numbered, key=lambda pair: pair[0]))


def _is_number(value: Any) -> bool:
    return type(value) in {int, float} and abs(value) < 1e9  # neither NaN nor infinity
