"""Behind the finish: how far a car rolls on, and whether the stop area is long enough for it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from conewise.course.corridor import friction_at
from conewise.course.quick_speed import estimated_speed, speed_at_finish
from conewise.findings import Finding, Sentence, Value
from conewise.quantities import GRAVITY

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.course.geometry import CourseGeometry
    from conewise.course.layout import StopArea
    from conewise.course.quick_speed import Pace
    from conewise.findings import Severity

STEP = 0.5  # [m]
STOP_SHARE = 0.5  # share of the deceleration that may be counted on; a rule set can only ask for less
STREET = 1.0  # most friction along that counts for stopping, a street tyre's; common practice, no source
WET = 0.6  # friction on a wet lot over dry, low end of common practice (no source)
WET_RESERVE = 1.1  # see `arrival_of`
WALKING = 1.5  # speed at the end of a slow-down lane [m/s]
REACH = 300.0  # behind the finish; farther on the ground is taken as it is there [m]


def stopping_distance(
    geometry: CourseGeometry,
    speed: float,
    *,
    share: float,
    friction: float = 1.0,
    most_friction: float = np.inf,
    most: float = np.inf,
    least: float = 0.0,
) -> float:
    """Way from the finish line until the car stands, straight on along the path. [m]

    Parameters
    ----------
    geometry : CourseGeometry
        Its site gives friction, patches and slope along the way.
    speed : float
        Over the finish line. [m/s]
    share : float
        Of the available deceleration that is used. [-]
    friction : float, default 1.0
        Of the tyres on plain ground, before the site's own factors. [-]
    most_friction : float, optional
        With them, what counts at the most. [-]
    most : float, optional
        Deceleration that the brakes give at the most. [m/s2]
    least : float, default 0.0
        Speed at which the car need not stop. [m/s]

    Returns
    -------
    float
        Infinity where the ground falls more steeply than the tyres hold.

    Notes
    -----
    v2 = v0^2 - 2 share sum(a ds), with a the smaller of friction times gravity and the brakes, less the part of
    gravity that pulls down the slope.
    """
    if speed <= least:
        return 0.0
    along = np.arange(STEP / 2.0, REACH, STEP)
    way = geometry.path.at(geometry.path.length + along)
    grip = GRAVITY * np.minimum(friction * friction_at(way.x, way.y, geometry.course.site), most_friction)
    downhill = geometry.ground_x * np.cos(way.heading) + geometry.ground_y * np.sin(way.heading)
    available = np.minimum(grip, most) - downhill
    lost = np.concatenate([[0.0], np.cumsum(2.0 * share * available * STEP)])
    wanted = speed**2 - least**2
    reached = np.flatnonzero(lost >= wanted)
    if len(reached):
        after = int(reached[0])
        return STEP * float(after - (lost[after] - wanted) / (lost[after] - lost[after - 1]))
    if available[-1] <= 0.0:
        return float(np.inf)
    return float(REACH + (wanted - lost[-1]) / (2.0 * share * available[-1]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """How a car comes over the finish line, and how it can slow down there.

    speed, speed_wet: over the finish line, as the course is and in the wet [m/s]
    friction, friction_wet: of its tyres along, before the site's own factors; no more than `STREET` counts [-]
    brakes: deceleration that they give at the most [m/s2]
    """

    speed: float
    speed_wet: float
    friction: float = STREET
    friction_wet: float = WET * STREET
    brakes: float = np.inf


def quick_arrival(geometry: CourseGeometry) -> Arrival:
    """That of a quick car, where none is named."""
    dry, wet = (speed_at_finish(geometry, estimated_speed(geometry, surface=surface)) for surface in (1.0, WET))
    return Arrival(speed=dry, speed_wet=min(dry, wet))


def arrival_of(geometry: CourseGeometry, speed: float, *, dry: Pace, wet: Pace, **tyres: float) -> Arrival:
    """That of a car which is known, with the wet speed from the dry one.

    Parameters
    ----------
    geometry : CourseGeometry
    speed : float
        Over the finish line, as the course is. [m/s]
    dry, wet : Pace
        Of this car, as the course is and in the wet.
    **tyres
        The other fields of an `Arrival`.

    Notes
    -----
    In the wet a car loses between a fiftieth of its speed (long pull up to the finish) and a quarter (a bend before
    it). The loss is the estimate's for this car, less `WET_RESERVE`: by that much the estimate missed solved wet runs.
    """
    asked = [speed_at_finish(geometry, estimated_speed(geometry, pace=pace)) for pace in (dry, wet)]
    return Arrival(speed=speed, speed_wet=speed * min(1.0, WET_RESERVE * asked[1] / asked[0]), **tyres)


def stop_findings(
    geometry: CourseGeometry,
    arrivals: Sequence[Arrival],
    *,
    words: str,
    share: float = STOP_SHARE,
    are_cars: bool = True,
) -> list[Finding]:
    """Whether every car stops in the stop area, as the course is and in the wet: the one rule of all answers.

    Parameters
    ----------
    geometry : CourseGeometry
    arrivals : sequence of Arrival
        One for each car; the one that needs the longest way is told.
    words : str
        What the speed is: "predicted", or whose estimate.
    share : float, default 0.5
        Of the deceleration, that may be counted on.
    are_cars : bool, default True
        False for an estimate where no car is named: that alone says stop of nothing.

    Notes
    -----
    Speed: that of the fastest run of each car, driven as well as it can be. Deceleration: the tyres', of which no more
    than 1 g counts, so that a grippy tyre makes the car faster here and no better at stopping; with the ground's
    friction and slope, and never more than the brakes give. Reserve: half of it is left, for a driver who is slow to
    brake, turns meanwhile, or finds warm brakes. Too short as the course is says stop; in the wet alone, look.
    """
    stop = geometry.course.stop
    least = WALKING if stop is not None and stop.kind == "lane" else 0.0
    dry, wet = (
        max((_way(geometry, one, share, least=least, is_wet=is_wet) for one in arrivals), key=lambda way: way[0])
        for is_wet in (False, True)
    )
    if stop is None:
        return [Finding("warning", "stop-missing", _sentence(None, dry, f"at {{}} ({words})", share), "finish")]
    if dry[0] > stop.length:
        severity: Severity = "stop" if are_cars else "warning"
        return [Finding(severity, "stop-short", _sentence(stop, dry, f"at {{}} ({words})", share), "finish")]
    if wet[0] > stop.length:
        at = f"at up to {{}} in the wet ({words})"
        return [Finding("warning", "stop-short-wet", _sentence(stop, wet, at, share), "finish")]
    return []


def _way(geometry: CourseGeometry, one: Arrival, share: float, *, least: float, is_wet: bool) -> tuple[float, float]:
    """Way to stop, and the speed over the finish. [m], [m/s]"""
    speed, friction = (one.speed_wet, one.friction_wet) if is_wet else (one.speed, one.friction)
    way = stopping_distance(
        geometry, speed, share=share, friction=friction, most_friction=STREET, most=one.brakes, least=least
    )
    return way, speed


def _sentence(stop: StopArea | None, way: tuple[float, float], at: str, share: float) -> Sentence:
    there = "There is no stop area behind the finish" if stop is None else "The stop {} ends {} behind the finish"
    area = () if stop is None else (stop.kind, Value(float(np.floor(stop.length)), "length"))
    if not np.isfinite(way[0]):
        return Sentence(f"{there}; {at} the car cannot stop down this slope.", *area, Value(way[1], "speed"))
    takes = f"it takes {{}} to stop with {share:.0%} of the deceleration there is"
    needed = Value(float(np.ceil(way[0])), "length")
    return Sentence(f"{there}; {at} {takes}.", *area, Value(way[1], "speed"), needed)
