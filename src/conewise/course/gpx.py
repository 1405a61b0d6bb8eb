"""Courses from GPX 1.1 waypoints: each waypoint is a cone, its words say which feature it belongs to.

The words stand in the waypoint's comment, description or name: a kind of feature, a number, and the driver's side
on which the cone is ("gate 3 left", "slalom 1 right"). Waypoints stand in driving order.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from conewise.course import feature_forms as forms
from conewise.course.earth import LocalPlane
from conewise.course.layout import (
    Anchor,
    Cone,
    ConePass,
    Course,
    CourseFeature,
    FeatureKind,
    LayoutError,
    PassSide,
    Site,
)
from conewise.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterable

    from gpxpy.gpx import GPXWaypoint

    from conewise.course.layout import Point

_KINDS = sorted((kind.replace("-", "[ -]") for kind in FeatureKind), key=len, reverse=True)
_WORDS = re.compile(
    rf"^({'|'.join(_KINDS)})\b\s*(.*?)\s*\b(?:(?:on|to) )?(?:your )?(left|right|either)(?: side)?$", re.IGNORECASE
)
_POINTER = re.compile(r"^pointer (?:of|to) (.+)$", re.IGNORECASE)
_ONE_BY_ONE = (FeatureKind.SLALOM, FeatureKind.SPLIT_GATE, FeatureKind.CONE, FeatureKind.WALL)
_PASS = {"left": PassSide.RIGHT, "right": PassSide.LEFT, "either": PassSide.EITHER}
_HOW = (
    'Write the feature, its number and your side of the cone into the comment of each waypoint: "start left", '
    '"slalom 1 right", "gate 3 left", "cone 2 either", "pointer of NAME"; delete waypoints that are no cones.'
)
_EARTH = "Latitude is -90 to 90, longitude -180 to 180 degrees; look for a slip in one number."


class GpxError(InputError):
    """GPX that is not a course: not GPX, no waypoints, waypoints without names or words."""

    code = "gpx"
    default_hint = _HOW

    def __init__(self, problem: str, *, where: str, hint: str = "") -> None:
        super().__init__(problem, where=where, hint=hint)


@dataclass(frozen=True, slots=True)
class _Marked:
    """A waypoint with its words read."""

    cone: str
    feature: str  # "" for a pointer
    kind: FeatureKind | None
    side: str
    points_to: str | None


def read_gpx(text: str, *, file: str) -> Course:
    """Course of the waypoints of a GPX text; the first waypoint becomes the plan's origin.

    Parameters
    ----------
    text : str
        GPX 1.1 (1.0 is read as well).
    file : str
        Its name, for messages.

    Raises
    ------
    GpxError
        If the text is not GPX, or waypoints lack a name or the words that say what they are.
    LayoutError
        If cones and features contradict each other.
    """
    waypoints = _waypoints(text, file=file)
    marked = [_marked(waypoint) for waypoint in waypoints]
    unclear = [waypoint.name for waypoint, words in zip(waypoints, marked, strict=True) if words is None]
    if unclear:
        shown = ", ".join(f"'{name}'" for name in unclear[:6]) + (", ..." if len(unclear) > 6 else "")
        raise GpxError(f"Not every waypoint says which cone it is: {shown}.", where=file)
    known = [words for words in marked if words is not None]
    anchor = Anchor(latitude=waypoints[0].latitude, longitude=waypoints[0].longitude)
    plane = LocalPlane(anchor)
    places = [plane.to_plan(waypoint.longitude, waypoint.latitude) for waypoint in waypoints]
    cones = [
        _cone(words, place, where=_place(text, number, words.cone, file=file))
        for number, (words, place) in enumerate(zip(known, places, strict=True))
    ]
    stem = file.replace("\\", "/").rsplit("/", 1)[-1].rsplit(".", 1)[0]
    try:
        return Course(
            name=stem or "course",
            cones=tuple(cones),
            features=tuple(_features(known, file=file)),
            site=Site(anchor=anchor),
            source=file,
        )
    except LayoutError as error:
        numbers = [number for number, cone in enumerate(cones) if cone.id == error.cone]
        error.where = _place(text, numbers[-1], error.cone, file=file) if numbers else f"{file}, {error.where}"
        raise


def _place(text: str, number: int, name: str, *, file: str) -> str:
    """File, line and waypoint; `number` counts the waypoints of the file from 0."""
    begins = [match.start() for match in re.finditer(r"<wpt\b", text)]
    line = f", line {text.count(chr(10), 0, begins[number]) + 1}" if number < len(begins) else ""
    called = f"'{name}'" if name else f"{number + 1}"
    return f"{file}{line}, waypoint {called}"


def _cone(words: _Marked, place: Point, *, where: str) -> Cone:
    """The cone of a waypoint."""
    if not all(map(math.isfinite, place)):
        raise GpxError("It is too far from the first waypoint to be on one plan.", where=where, hint=_EARTH)
    return Cone(id=words.cone, x=place[0], y=place[1], points_to=words.points_to)


def _waypoints(text: str, *, file: str) -> list[GPXWaypoint]:
    """Named waypoints with plausible positions, in the order of the file."""
    import gpxpy
    from gpxpy.gpx import GPXException

    try:
        waypoints = gpxpy.parse(text).waypoints
    except (GPXException, ValueError) as error:
        problem = " ".join(str(error).split())[:120]
        raise GpxError(f"This is not GPX: {problem}.", where=file, hint="Export the waypoints as GPX 1.1.") from None
    if not waypoints:
        raise GpxError(
            "The file has no waypoints.",
            where=file,
            hint="Save one waypoint at every cone; a track alone has no cones.",
        )
    for number, waypoint in enumerate(waypoints):
        waypoint.name = " ".join((waypoint.name or "").split())
        if not waypoint.name:
            raise GpxError(
                "A waypoint has no name.",
                where=_place(text, number, "", file=file),
                hint="Name it; the name is the cone's id.",
            )
        if not (abs(waypoint.latitude) <= 90.0 and abs(waypoint.longitude) <= 180.0):
            raise GpxError(
                f"Latitude {waypoint.latitude:g}, longitude {waypoint.longitude:g}: no place on the earth.",
                where=_place(text, number, waypoint.name, file=file),
                hint=_EARTH,
            )
    return list(waypoints)


def _marked(waypoint: GPXWaypoint) -> _Marked | None:
    """The words of a waypoint; None where none of its texts says what it is."""
    name = waypoint.name or ""
    for text in (waypoint.comment, waypoint.description, name):
        plain = " ".join((text or "").split())
        if pointer := _POINTER.match(plain):
            return _Marked(name, "", None, "", pointer[1])
        if words := _WORDS.match(plain):
            kind = FeatureKind(words[1].lower().replace(" ", "-"))
            feature = " ".join(f"{words[1].lower().replace('-', ' ')} {words[2]}".split())
            return _Marked(name, feature, kind, words[3].lower(), None)
    return None


def _features(marked: list[_Marked], *, file: str) -> Iterable[CourseFeature]:
    """Features from the waypoints that belong together."""
    in_course = [words for words in marked if words.feature]
    for name, group in groupby(in_course, key=lambda words: words.feature):
        members = list(group)
        kind = members[0].kind
        assert kind is not None
        one_by_one = tuple((ConePass(cone=words.cone, pass_side=_PASS[words.side]),) for words in members)
        crossings = one_by_one if kind in _ONE_BY_ONE else _in_gates(members) or one_by_one
        if kind in forms.GATE_KINDS and (len(crossings), len(crossings[0])) != (1, 2):
            raise GpxError(
                f"'{name}' takes one left and one right waypoint, one after the other; it has {len(members)}.",
                where=f"{file}, feature '{name}'",
            )
        yield CourseFeature(id=name, kind=kind, crossings=crossings)


def _in_gates(members: list[_Marked]) -> forms.Crossings | None:
    """Pairs of a left and a right cone, in either order; None where the waypoints are not in pairs."""
    pairs = list(zip(members[::2], members[1::2], strict=False))
    if 2 * len(pairs) != len(members) or any({a.side, b.side} != {"left", "right"} for a, b in pairs):
        return None
    return forms.gates([(a.cone, b.cone) if a.side == "left" else (b.cone, a.cone) for a, b in pairs])
