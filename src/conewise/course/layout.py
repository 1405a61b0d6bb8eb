"""The course as a person lays it out: cones, and the order and side in which a car passes them.

Plan coordinates are east-north metres. Every way in (surveyed, walked, converted) ends in a `Course`.
A `Course` says what is there; `reference` and `corridor` work out where the car can go.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Any, Self

from pydantic import BaseModel, ConfigDict, Field

Point = tuple[float, float]  # east, north [m]

CONE_BASE = 0.28  # side of the square base [m]; common practice, no source


class Record(BaseModel):
    """A frozen record; a change makes a new one and is checked again."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    def changed(self, **edits: Any) -> Self:
        """A copy with other values, validated like the first."""
        return type(self).model_validate(self.model_dump() | edits)


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

    id: str
    x: float  # east [m]
    y: float  # north [m]
    base: Annotated[float, Field(gt=0.0, le=1.0)] = CONE_BASE  # side of the square base [m]
    points_to: str | None = None  # id of the standing cone; None for a standing cone

    @property
    def is_standing(self) -> bool:
        """Whether the cone stands (a pointer lies)."""
        return self.points_to is None


class ConePass(Record):
    """One cone as one feature passes it; a cone may serve two passes."""

    cone: str
    pass_side: PassSide


class CourseFeature(Record):
    """One part of the course in driving order.

    `crossings` are the places passed one after the other; a crossing names the cones passed there together:
    a gate is one crossing of two cones, a slalom of five is five crossings of one, a sweeper bounded by gates is
    several crossings of two.
    """

    id: str
    kind: FeatureKind
    crossings: Annotated[tuple[tuple[ConePass, ...], ...], Field(min_length=1)]

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

    id: str
    kind: str  # pole, kerb, drain, workers, people, ...
    outline: tuple[Point, ...] = ()  # polygon; empty where `centre` and `radius` are given
    centre: Point | None = None
    radius: Annotated[float, Field(ge=0.0)] = 0.0  # [m]


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
    length: Annotated[float, Field(gt=0.0)]  # from the finish line to the far end, along the track [m]
    outline: tuple[Point, ...] = ()  # polygon, where it was surveyed


class Course(Record):
    """A course: cones, features from start to finish, the site."""

    name: str
    cones: tuple[Cone, ...]
    features: tuple[CourseFeature, ...]  # first is START, last is FINISH
    site: Site = Site()
    stop: StopArea | None = None
    staging: Annotated[float, Field(ge=0.0, le=10.0)] = 0.3  # front of the car to the start beam [m]
    rules: str = "club"  # name of the rule set
    source: str = ""  # the file it came from, for messages

    def cone(self, cone_id: str) -> Cone:
        """The cone with this id; KeyError where there is none."""
        return next(c for c in self.cones if c.id == cone_id)
