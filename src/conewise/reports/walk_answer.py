"""What a driver takes on a course walk: features in driving order, with places to look for and what they are worth."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from conewise.reports.answer import FeaturePrice, LineAnswer
    from conewise.runs import FeatureResult
    from conewise.solver.result import ConeResult


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A place on the line, as one finds it on foot: so far before or after a cone."""

    station: float  # of the car's reference point [m]
    x: float  # east [m]
    y: float  # north [m]
    cone: str  # id of the cone to which it is told; "" where none is near
    ahead: float  # how far the cone lies ahead along the way; negative: behind [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class WalkStop:
    """One feature, as a driver stops at it on the walk."""

    number: int  # in driving order, from 1, as on the map
    feature: FeatureResult
    gear: int | None  # at the slowest place
    key_cone: ConeResult | None  # the cone here that costs most to stay away from
    entry: Place | None  # where the feature begins, told from its first cone or gate
    look: ConeResult | None  # the cone to look for while leaving the one before
    braking: Place | None  # where braking for this feature begins
    power: Place | None  # where the throttle stays on after it
    price: FeaturePrice | None  # what coming slow or wide into it costs


@dataclass(frozen=True, slots=True, kw_only=True)
class WalkSheet:
    """A solved run as a driver learns it on foot."""

    answer: LineAnswer
    stops: tuple[WalkStop, ...]
    cone_words: dict[str, str]  # how to find each cone on the lot, by id
