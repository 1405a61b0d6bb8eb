"""What a run did where: speeds, braking and throttle, coasting, friction use, slalom rhythm, distance to cones.

Every threshold is common practice without a source and stands in docs/models/runs.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.course.layout import FeatureKind
from conewise.quantities import GRAVITY
from conewise.runs import body_clearances, feature_results

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry, PassedCone
    from conewise.logs.log import Log
    from conewise.logs.run_finder import FoundRun
    from conewise.runs import Body, FeatureResult, Trace

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

BRAKING = 1.5  # a car that slows more than this brakes; drag and a closed throttle slow less [m/s2]
DRIVING = 0.5  # a car that gains more than this is on the throttle [m/s2]
COASTING_USE = 0.5  # a car on neither pedal that uses less than this share of its grip coasts [-]
PEDAL = 0.05  # a pedal beyond this is used [-]
LEAST_DROP = 1.0  # of the speed at a corner [m/s]
STEADY = 2.0  # a pedal change lasts at least this long [m]
SIDESLIP_DEVIATION = 0.1  # of the corner of the body, from the unknown sideslip [m]
OWN_GRIP = 0.98  # share of a run's accelerations that lie within what is taken for its grip
SECTORS = 24  # of the g-g picture


@dataclass(frozen=True, slots=True, kw_only=True)
class Pedals:
    """Recorded pedals at the stations of a trace, shape (n_stations,), 0 to 1."""

    throttle: Array
    brake: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class SlowPoint:
    """A place where the run was slowest, and what the driver did about it; stations of the reference point.

    braking: where the braking before it began; None where the car was not braked [m]
    braked_until: where it ended [m]
    throttle: where the car was on the throttle for good after it; None where it was not before the finish [m]
    """

    feature: str
    station: float
    speed: float
    speed_deviation: float
    braking: float | None
    braked_until: float | None
    throttle: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureDriving:
    """One feature as it was driven.

    result: times and speeds, as every predicted run has them
    time_deviation: from the start and the position at both ends, see `Trace.clock_covariance` [s]
    coasting, braking: time spent so [s]
    friction_use: mean over time of the share of the grip that was used [-]
    """

    result: FeatureResult
    time_deviation: float
    coasting: float
    braking: float
    friction_use: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ConeDistance:
    """How far the body was from the base of one cone; negative: over it. [m]"""

    id: str
    feature: str
    station: float
    is_left: bool
    is_standing: bool
    distance: float
    deviation: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SlalomBeat:
    """The turn round one slalom cone.

    lead: the greatest lateral acceleration came this far before the cone; negative: after it [m], [s]
    amplitude: greatest lateral acceleration towards the cone [m/s2]
    """

    cone: str
    feature: str
    lead: float
    lead_time: float
    amplitude: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AccelerationPicture:
    """Accelerations along and across, and how far they reach in every direction.

    direction: shape (SECTORS,), middle of each sector, from straight ahead to the left [rad]
    reach: shape (SECTORS,), 95 of 100 accelerations in the sector are smaller; 0 where there are none [m/s2]
    """

    longitudinal: Array
    lateral: Array
    direction: Array
    reach: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """What one run did. Arrays have shape (n_stations,), as the trace.

    grip: acceleration that stands for full use [m/s2]
    is_own_grip: whether it is that of this run alone: a lower bound of what tyres and ground allow
    pedals: where they were recorded
    """

    name: str
    features: tuple[FeatureDriving, ...]
    slow_points: tuple[SlowPoint, ...]
    cones: tuple[ConeDistance, ...]
    slalom: tuple[SlalomBeat, ...]
    accelerations: AccelerationPicture
    friction_use: Array
    is_braking: Mask
    is_coasting: Mask
    grip: float
    is_own_grip: bool
    pedals: Pedals | None = None

    @property
    def coasting(self) -> float:
        """Time on neither pedal with grip to spare. [s]"""
        return sum(feature.coasting for feature in self.features)


def recorded_pedals(log: Log, run: FoundRun, trace: Trace) -> Pedals | None:
    """Throttle and brake of a recording at the stations of a trace; None where it does not have both."""
    channels = [log.channels.get(kind) for kind in ("throttle", "brake")]
    if any(channel is None or not channel.time.size for channel in channels):
        return None
    then = run.start.time + trace.time
    throttle, brake = (np.interp(then, c.time, c.value) for c in channels if c is not None)
    return Pedals(throttle=throttle, brake=brake)


def measures(
    trace: Trace, geometry: CourseGeometry, body: Body, *, friction: float | None = None, pedals: Pedals | None = None
) -> Measures:
    """What a run did.

    Parameters
    ----------
    trace : Trace
        Driven or predicted.
    geometry : CourseGeometry
        The one along which the trace lies.
    body : Body
        Outline of the car.
    friction : float, optional
        Share of gravity that stands for full use; without it the run's own 98th percentile. [-]
    pedals : Pedals, optional
        Where they were recorded; without them the acceleration tells.
    """
    total = np.hypot(trace.longitudinal_acceleration, trace.lateral_acceleration)
    grip = friction * GRAVITY if friction is not None else float(np.quantile(total, OWN_GRIP))
    use = total / grip
    is_braking, is_driving = _pedal_use(trace, pedals)
    is_coasting = ~is_braking & ~is_driving & (use < COASTING_USE)
    return Measures(
        name=trace.name,
        features=_features(trace, geometry, use=use, is_braking=is_braking, is_coasting=is_coasting),
        slow_points=_slow_points(trace, geometry, is_braking=is_braking, is_driving=is_driving),
        cones=cone_distances(trace, geometry, body),
        slalom=slalom_rhythm(trace, geometry),
        accelerations=acceleration_picture(trace),
        friction_use=use,
        is_braking=is_braking,
        is_coasting=is_coasting,
        grip=grip,
        is_own_grip=friction is None,
        pedals=pedals,
    )


def slow_points(trace: Trace, geometry: CourseGeometry, *, pedals: Pedals | None = None) -> tuple[SlowPoint, ...]:
    """The places where a run was slowest, in driving order; parameters as `measures` takes them."""
    is_braking, is_driving = _pedal_use(trace, pedals)
    return _slow_points(trace, geometry, is_braking=is_braking, is_driving=is_driving)


def _pedal_use(trace: Trace, pedals: Pedals | None) -> tuple[Mask, Mask]:
    """Where the car was braked, and where it was driven."""
    if pedals is not None:
        return pedals.brake > PEDAL, pedals.throttle > PEDAL
    return trace.longitudinal_acceleration < -BRAKING, trace.longitudinal_acceleration > DRIVING


def _features(
    trace: Trace, geometry: CourseGeometry, *, use: Array, is_braking: Mask, is_coasting: Mask
) -> tuple[FeatureDriving, ...]:
    results = feature_results(geometry, station=trace.front_station, elapsed=trace.time, speed=trace.speed)
    return tuple(
        FeatureDriving(
            result=result,
            time_deviation=trace.deviation_between(result.start, result.end),
            coasting=_spent(trace, is_coasting.astype(float), result),
            braking=_spent(trace, is_braking.astype(float), result),
            friction_use=_spent(trace, use, result) / max(result.time, 1e-9),
        )
        for result in results
    )


def _spent(trace: Trace, weight: Array, feature: FeatureResult) -> float:
    """Integral of a weight over the time in a feature. [s]"""
    sums = np.concatenate([[0.0], np.cumsum(np.diff(trace.time) * 0.5 * (weight[1:] + weight[:-1]))])
    low, high = np.interp([feature.start, feature.end], trace.front_station, sums)
    return float(high - low)


def low_points(speed: Array) -> list[int]:
    """Where a speed [m/s] is lowest between two rises of `LEAST_DROP` or more."""
    from scipy.signal import find_peaks

    return [int(low) for low in find_peaks(-speed, prominence=LEAST_DROP)[0]]


def _slow_points(
    trace: Trace, geometry: CourseGeometry, *, is_braking: Mask, is_driving: Mask
) -> tuple[SlowPoint, ...]:
    step = float(np.median(np.diff(trace.station)))
    braked = _held(is_braking, int(np.ceil(STEADY / step)))
    driven = _held(is_driving, int(np.ceil(STEADY / step)))
    answers, before = [], 0
    for low, after in pairwise([*low_points(trace.speed), len(trace.station) - 1]):
        fastest = before + int(np.argmax(trace.speed[before : low + 1]))
        braking = np.flatnonzero(braked[fastest : low + 1]) + fastest
        throttle = np.flatnonzero(driven[low : after + 1]) + low
        answers.append(
            SlowPoint(
                feature=geometry.span_at(float(trace.front_station[low])).id,
                station=float(trace.station[low]),
                speed=float(trace.speed[low]),
                speed_deviation=float(trace.speed_deviation[low]),
                braking=float(trace.station[braking[0]]) if braking.size else None,
                braked_until=float(trace.station[braking[-1]]) if braking.size else None,
                throttle=float(trace.station[throttle[0]]) if throttle.size else None,
            )
        )
        before = low
    return tuple(answers)


def _held(mask: Mask, least: int) -> Mask:
    """The mask without stretches that are shorter than the least number of stations."""
    change = np.flatnonzero(np.diff(np.concatenate([[False], mask, [False]]).astype(np.int8)))
    kept = np.zeros(mask.size, dtype=np.bool_)
    for begin, end in zip(change[::2], change[1::2], strict=True):
        if end - begin >= least:
            kept[begin:end] = True
    return kept


def cone_distances(trace: Trace, geometry: CourseGeometry, body: Body) -> tuple[ConeDistance, ...]:
    """How near the body came to every cone, with its uncertainty.

    Parameters
    ----------
    trace : Trace
    geometry : CourseGeometry
    body : Body

    Notes
    -----
    A recording tells the direction of travel, not that of the body: the sideslip, about 3 degrees over half a body,
    adds 0.1 m of uncertainty (common practice, no source). Cones within reach of the beams only count between them.
    """
    pose = np.column_stack([trace.x, trace.y, trace.heading])
    clearances = body_clearances(geometry, body, station=trace.station, pose=pose)
    answers = []
    for cone, clearance in zip(geometry.passes, clearances, strict=True):
        sideways = float(np.interp(cone.station, trace.station, trace.lateral_offset_deviation))
        parts = [sideways, geometry.course.cone(cone.id).position_sd, SIDESLIP_DEVIATION]
        answers.append(
            ConeDistance(
                id=cone.id,
                feature=cone.feature,
                station=cone.station,
                is_left=cone.side > 0,
                is_standing=cone.is_standing,
                distance=float(clearance),
                deviation=float(np.linalg.norm(parts)),
            )
        )
    return tuple(answers)


def slalom_rhythm(trace: Trace, geometry: CourseGeometry) -> tuple[SlalomBeat, ...]:
    """How far before each slalom cone the car turned hardest round it, and how hard.

    Notes
    -----
    Looked for from half way to the cone before to half way to the cone after. A driver in rhythm has the same lead at
    every cone; a lead that falls from cone to cone is a driver who gets late.
    """
    slaloms = {f.id for f in geometry.course.features if f.kind is FeatureKind.SLALOM}
    answers = []
    for feature in (f.id for f in geometry.course.features if f.id in slaloms):
        row = geometry.own_cones(feature)
        stations = np.array([cone.station for cone in row])
        if stations.size < 2:
            continue
        half = np.diff(stations) / 2.0
        low = stations - np.concatenate([half[:1], half])
        high = stations + np.concatenate([half, half[-1:]])
        answers += [_beat(trace, cone, low=float(a), high=float(b)) for cone, a, b in zip(row, low, high, strict=True)]
    return tuple(answers)


def _beat(trace: Trace, cone: PassedCone, *, low: float, high: float) -> SlalomBeat:
    inside = np.flatnonzero((trace.station >= low) & (trace.station <= high))
    towards = cone.side * trace.lateral_acceleration[inside]
    top = int(np.argmax(towards))
    station = float(trace.station[inside[top]])
    if 0 < top < len(towards) - 1:
        before, at, after = towards[top - 1 : top + 2]
        bend = before - 2.0 * at + after
        shift = 0.5 * (before - after) / bend if bend < 0.0 else 0.0
        station += float(shift * (trace.station[inside[top]] - trace.station[inside[top] - 1]))
    then, abreast = np.interp([station, cone.station], trace.station, trace.time)
    return SlalomBeat(
        cone=cone.id,
        feature=cone.feature,
        lead=cone.station - station,
        lead_time=float(abreast - then),
        amplitude=float(towards[top]),
    )


def acceleration_picture(trace: Trace) -> AccelerationPicture:
    """The g-g picture of a run: its accelerations, weighed by time, and their reach in every direction."""
    step = np.gradient(trace.time)
    along, across = trace.longitudinal_acceleration, trace.lateral_acceleration
    total = np.hypot(along, across)
    width = 2.0 * np.pi / SECTORS
    sector = np.round(np.arctan2(across, along) / width).astype(int) % SECTORS
    reach = np.zeros(SECTORS)
    for k in range(SECTORS):
        mine = sector == k
        if mine.any():
            order = np.argsort(total[mine])
            share = np.cumsum(step[mine][order])
            reach[k] = total[mine][order][np.searchsorted(share, 0.95 * share[-1])]
    return AccelerationPicture(
        longitudinal=along, lateral=across, direction=width * np.arange(SECTORS, dtype=float), reach=reach
    )
