"""The course as a person lays it out: cones, and the order and side in which a car passes them.

Plan coordinates are east-north metres. Every way in (surveyed, walked, converted) ends in a `Course`.
A `Course` says what is there; `reference` and `corridor` work out where the car can go.
"""

from __future__ import annotations

from collections import Counter
from enum import StrEnum
from functools import cached_property
from math import hypot
from statistics import median
from typing import TYPE_CHECKING, Annotated, ClassVar, Self

from pydantic import Field, model_validator

from conewise.errors import InputError
from conewise.records import Record

if TYPE_CHECKING:
    from collections.abc import Iterator

Point = tuple[float, float]  # east, north [m]
Name = Annotated[str, Field(pattern=r"^[^\s\p{Cc}](?:\P{Cc}*[^\s\p{Cc}])?$")]  # one line, no blank at either end

CONE_BASE = 0.28  # side of the square base [m]; common practice, no source
MOST_LENGTH = 5000.0  # of one part of a course, and from the middle of its cones to anything on it [m]
MOST_COORDINATE = 1e7  # national grids count their metres from far away [m]
MOST_FROM_ANCHOR = 50e3  # the plan is true to 1e-5 this far from where it touches the earth [m]


class LayoutError(InputError):
    """The records of a course contradict each other.

    `feature` and `cone` name the place; a reader of files adds the line to `where`.
    """

    code: ClassVar[str] = "course-layout"

    def __init__(self, message: str, *, feature: str = "", cone: str = "", hint: str = "") -> None:
        parts = [f"feature '{feature}'"] if feature else []
        parts += [f"cone '{cone}'"] if cone else []
        super().__init__(message, where=", ".join(parts), hint=hint)
        self.feature = feature
        self.cone = cone
        self.entry: tuple[str | int, ...] = ()  # section and key, where it is neither a feature nor a cone


class DuplicateConeError(LayoutError):
    """Two cones carry one id."""

    code = "cone-duplicate"

    def __init__(self, cone: str) -> None:
        super().__init__(
            f"Two cones are called '{cone}'.",
            cone=cone,
            hint="Give each cone its own id; a cone that is passed twice is listed once, named twice.",
        )


class DuplicateFeatureError(LayoutError):
    """Two features carry one id."""

    code = "feature-duplicate"

    def __init__(self, feature: str) -> None:
        super().__init__(
            f"Two features are called '{feature}'.",
            feature=feature,
            hint="Give each its own id, or none.",
        )


class UnknownConeError(LayoutError):
    """A feature or a pointer names a cone that is not there."""

    code = "cone-unknown"

    def __init__(self, name: str, *, feature: str = "", cone: str = "") -> None:
        super().__init__(
            f"There is no cone '{name}'.",
            feature=feature,
            cone=cone,
            hint="Check the spelling, or add the cone to the list of cones.",
        )


class PointerPassError(LayoutError):
    """A lying cone is used where a standing one is needed."""

    code = "pointer-misused"

    def __init__(self, pointer: str, *, feature: str = "", cone: str = "") -> None:
        super().__init__(
            f"'{pointer}' is a pointer (a lying cone); a standing cone is needed here.",
            feature=feature,
            cone=cone,
            hint="Name the standing cone; the pointer shows its side and is listed among the cones only.",
        )


class FeatureOrderError(LayoutError):
    """Start and finish are missing, doubled or out of place."""

    code = "course-order"

    def __init__(self, message: str, *, feature: str = "") -> None:
        super().__init__(
            message,
            feature=feature,
            hint="List the features in driving order: one start first, one finish last, at least these two.",
        )


class CourseExtentError(LayoutError):
    """Something lies farther away than a course can reach; most often a slip in one number."""

    code = "course-extent"

    def __init__(self, problem: str, entry: tuple[str | int, ...]) -> None:
        cone = str(entry[1]) if entry[0] == "cones" else ""
        hint = "Correct the number; coordinates are metres in one plan, east and north."
        super().__init__(problem, cone=cone, hint=hint)
        self.entry = entry
        self.where = self.where or ", ".join(str(part) for part in entry)


class PassSide(StrEnum):
    """The side *of the cone* on which the car goes."""

    LEFT = "left"
    RIGHT = "right"
    EITHER = "either"


class FeatureKind(StrEnum):
    """What a course worker calls a part of the course."""

    START = "start"
    GATE = "gate"
    OFFSET_GATE = "offset-gate"
    BOX = "box"
    SPLIT_GATE = "split-gate"
    SLALOM = "slalom"
    CONE = "cone"
    WALL = "wall"
    SWEEPER = "sweeper"
    HAIRPIN = "hairpin"
    FINISH = "finish"


class Cone(Record):
    """One cone. A pointer lies on its side with its tip towards the standing cone `points_to`."""

    id: Name
    x: float  # east [m]
    y: float  # north [m]
    base: Annotated[float, Field(gt=0.0, le=1.0)] = CONE_BASE  # side of the square base [m]
    position_sd: Annotated[float, Field(ge=0.0)] = 0.0  # standard uncertainty of x and of y; 0: surveyed [m]
    points_to: str | None = None  # id of the standing cone; None for a standing cone

    @property
    def is_standing(self) -> bool:
        """Whether the cone stands (a pointer lies)."""
        return self.points_to is None


class ConePass(Record):
    """One cone as one feature passes it; a cone may serve two passes."""

    cone: Name
    pass_side: PassSide


class CourseFeature(Record):
    """One part of the course in driving order.

    `crossings` are the places passed one after the other; a crossing names the cones passed there together:
    a gate is one crossing of two cones, a slalom of five is five crossings of one, a sweeper bounded by gates
    is several crossings of two.
    """

    id: Name
    kind: FeatureKind
    crossings: Annotated[tuple[Annotated[tuple[ConePass, ...], Field(min_length=1)], ...], Field(min_length=1)]

    @property
    def cone_ids(self) -> tuple[str, ...]:
        """Ids of the cones of this feature in driving order."""
        return tuple(cone_pass.cone for crossing in self.crossings for cone_pass in crossing)

    @property
    def is_open(self) -> bool:
        """Whether a cone of the feature may be passed on either side."""
        return any(p.pass_side is PassSide.EITHER for crossing in self.crossings for p in crossing)


class Obstacle(Record):
    """Something solid, or a place where people are."""

    id: Name
    kind: Name  # pole, kerb, drain, workers, people, ...
    outline: tuple[Point, ...] = ()  # polygon; empty where `centre` and `radius` are given
    centre: Point | None = None
    radius: Annotated[float, Field(ge=0.0, le=MOST_LENGTH)] = 0.0  # [m]

    @model_validator(mode="after")
    def _has_one_shape(self) -> Self:
        if bool(self.outline) == (self.centre is not None) or len(self.outline) in {1, 2}:
            message = "an obstacle is either an outline of three or more points or a centre with a radius"
            raise ValueError(message)
        return self


class Patch(Record):
    """An area with another friction: damp, paint, gravel."""

    outline: Annotated[tuple[Point, ...], Field(min_length=3)]
    friction: Annotated[float, Field(gt=0.0, le=1.5)]  # factor on the site's friction


class Slope(Record):
    """A plane: the ground rises by `grade` towards `direction`."""

    grade: Annotated[float, Field(ge=0.0, le=0.2)] = 0.0  # rise over run [-]
    direction: float = 0.0  # radians, counter-clockwise from east


class Anchor(Record):
    """Where the plan's origin lies on the WGS84 ellipsoid."""

    latitude: Annotated[float, Field(ge=-90.0, le=90.0)]  # [deg]
    longitude: Annotated[float, Field(ge=-180.0, le=180.0)]  # [deg]


class Site(Record):
    """The lot."""

    outline: tuple[Point, ...] = ()  # polygon of usable pavement; empty: unknown
    obstacles: tuple[Obstacle, ...] = ()
    friction: Annotated[float, Field(gt=0.0, le=1.5)] = 1.0  # factor on the tyre's friction
    patches: tuple[Patch, ...] = ()
    slope: Slope = Slope()
    heading_to_north: float = 0.0  # angle from true north to the plan's y axis, clockwise [rad]
    anchor: Anchor | None = None


class StopArea(Record):
    """Where the car must have stopped (box) or be at walking speed (lane) after the finish."""

    kind: Annotated[str, Field(pattern="^(box|lane)$")] = "box"
    length: Annotated[float, Field(gt=0.0, le=MOST_LENGTH)]  # from the finish line to the far end, along the track [m]
    outline: tuple[Point, ...] = ()  # polygon, where it was surveyed


class Course(Record):
    """A course: cones, features from start to finish, the site."""

    name: Name
    cones: tuple[Cone, ...]
    features: tuple[CourseFeature, ...]  # first is START, last is FINISH
    site: Site = Site()
    stop: StopArea | None = None
    staging: Annotated[float, Field(ge=0.0, le=10.0)] = 0.3  # front of the car to the start beam [m]
    rules: Name = "club"  # name of the rule set
    source: str = ""  # the file it came from, for messages

    @model_validator(mode="after")
    def _agrees_with_itself(self) -> Self:
        _check_cones(self.cones)
        _check_order(self.features)
        _check_passes(self.features, self.cones_by_id)
        _check_extent(self)
        return self

    @property
    def places(self) -> Iterator[tuple[str, tuple[str | int, ...], Point]]:
        """Every point of the plan: what it is in words, where a file has it, and its place."""
        for cone in self.cones:
            yield f"Cone '{cone.id}'", ("cones", cone.id), (cone.x, cone.y)
        for corner in self.site.outline:
            yield "A corner of the site's outline", ("site", "outline"), corner
        for number, obstacle in enumerate(self.site.obstacles, start=1):
            for corner in obstacle.outline or (obstacle.centre or (0.0, 0.0),):
                yield f"{obstacle.kind} '{obstacle.id}'", ("site", "obstacle", number), corner
        for number, patch in enumerate(self.site.patches, start=1):
            for corner in patch.outline:
                yield "A corner of a patch", ("site", "patch", number), corner
        for corner in self.stop.outline if self.stop else ():
            yield "A corner of the stop area", ("stop", "outline"), corner

    @property
    def n_standing(self) -> int:
        """Cones that stand."""
        return sum(cone.is_standing for cone in self.cones)

    @property
    def n_pointers(self) -> int:
        """Cones that lie and point."""
        return len(self.cones) - self.n_standing

    @cached_property
    def cones_by_id(self) -> dict[str, Cone]:
        """Every cone under its id."""
        return {cone.id: cone for cone in self.cones}

    def cone(self, cone_id: str) -> Cone:
        """The cone with this id; KeyError where there is none."""
        return self.cones_by_id[cone_id]


def _repeated(names: list[str]) -> str | None:
    """The first name that occurs more than once."""
    return next((name for name, count in Counter(names).items() if count > 1), None)


def _check_cones(cones: tuple[Cone, ...]) -> None:
    """Ids are unique and every pointer points to a standing cone."""
    by_id = {cone.id: cone for cone in cones}
    if (twice := _repeated([cone.id for cone in cones])) is not None:
        raise DuplicateConeError(twice)
    for cone in cones:
        if cone.points_to is None:
            continue
        if cone.points_to not in by_id:
            raise UnknownConeError(cone.points_to, cone=cone.id)
        if not by_id[cone.points_to].is_standing:
            raise PointerPassError(cone.points_to, cone=cone.id)


def _check_order(features: tuple[CourseFeature, ...]) -> None:
    """One start first, one finish last, unique ids."""
    kinds = [feature.kind for feature in features]
    for kind in (FeatureKind.START, FeatureKind.FINISH):
        if kinds.count(kind) == 0:
            raise FeatureOrderError(f"The course has no {kind}.")
        if kinds.count(kind) > 1:
            raise FeatureOrderError(f"The course has {kinds.count(kind)} features of the kind {kind}.")
    if kinds[0] is not FeatureKind.START:
        start = features[kinds.index(FeatureKind.START)]
        before = "the finish" if kinds[0] is FeatureKind.FINISH else f"'{features[0].id}'"
        raise FeatureOrderError(f"The start comes after {before}.", feature=start.id)
    if kinds[-1] is not FeatureKind.FINISH:
        finish = features[kinds.index(FeatureKind.FINISH)]
        raise FeatureOrderError(f"'{features[-1].id}' comes after the finish.", feature=finish.id)
    if (twice := _repeated([feature.id for feature in features])) is not None:
        raise DuplicateFeatureError(twice)


def _check_passes(features: tuple[CourseFeature, ...], cones: dict[str, Cone]) -> None:
    """Every pass names a standing cone that is there."""
    for feature in features:
        for name in feature.cone_ids:
            if name not in cones:
                raise UnknownConeError(name, feature=feature.id)
            if not cones[name].is_standing:
                raise PointerPassError(name, feature=feature.id)


def _check_extent(course: Course) -> None:
    """Everything lies near the middle of the cones, and an anchored plan near its anchor."""
    middle = median(cone.x for cone in course.cones), median(cone.y for cone in course.cones)
    for what, entry, (x, y) in course.places:
        away = hypot(x - middle[0], y - middle[1])
        if max(abs(x), abs(y)) > MOST_COORDINATE:
            problem = f"{what} is at {x:.6g}, {y:.6g}; coordinates reach to {MOST_COORDINATE:.0f} m."
        elif away > MOST_LENGTH:
            problem = f"{what} is {away:.6g} m from the middle of the cones; a course reaches {MOST_LENGTH:.0f} m."
        elif course.site.anchor is not None and hypot(x, y) > MOST_FROM_ANCHOR:
            problem = f"{what} is {hypot(x, y):.6g} m from the anchor; the plan is true to {MOST_FROM_ANCHOR:.0f} m."
        else:
            continue
        raise CourseExtentError(problem, entry)
