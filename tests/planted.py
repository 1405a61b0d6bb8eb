"""Simulated drivers with one planted cause each, who also scatter, seen through noise.

A driver is a point mass of one friction with power on a line: the best line of a club course with what the cause does
to the line, and the speed that the friction circle allows on it with what the cause does to the speed. What is planted
is scaled until it costs a wanted time, so that every case is neither hidden nor glaring.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np
from scipy.ndimage import gaussian_filter1d
from scipy.signal import find_peaks

from conewise.course.reference import lay_out
from conewise.logs.align import station_grid
from conewise.logs.breakdown import Breakdown, FeatureGap, FrictionFound, Interval
from conewise.logs.focus import Cause
from conewise.logs.measures import Pedals, measures
from conewise.runs import Body, Trace, feature_results
from conewise.solver.point_mass_course import point_mass_solution
from conewise.solver.speed_profile import FrictionCircle, speed_profile
from conewise.workflows.debrief_bend import run_on_bend
from conewise.workflows.traces import predicted_trace
from tests.courses import club_course

FRICTION, GRAVITY, POWER, HALF_WIDTH = 1.0, 9.80665, 110.0, 0.9
BODY = Body(length=4.0, width=1.8, front_reach=2.0)
STEP = 0.5  # of the grid [m]
SEEDS = tuple(range(1, 13))  # of the courses
N_PATHS = 10  # lines drawn for the intervals
SCATTER = 0.15  # of an expert across the course, as `cars.driver` has it [m]
UNEVEN = 0.015  # of the share of the friction that is used


@dataclass(frozen=True)
class Noise:
    """Standard deviations of what a recording tells; position errors last 25 m, speed errors 8 m, accelerations 2 m."""

    position: float  # [m]
    speed: float  # [m/s]
    acceleration: float  # [m/s2]


NOISES = {
    "low": Noise(position=0.05, speed=0.05, acceleration=0.15),
    "middle": Noise(position=0.2, speed=0.15, acceleration=0.3),
    "high": Noise(position=0.6, speed=0.4, acceleration=0.6),
}


@dataclass(frozen=True)
class Lot:
    """A course with its best line. Arrays on `station`."""

    geometry: object
    station: np.ndarray
    offset: np.ndarray  # of the best line [m]
    best: Trace


@dataclass(frozen=True)
class Driving:
    """What a driver does otherwise than the best; arrays on the lot's stations.

    offset: line beside the reference path [m]
    grip: share of the friction that is used
    forced: acceleration where the driver asks for it instead of what the car could do; else not a number [m/s2]
    cap: greatest speed that the driver dares [m/s]
    overlap: where both pedals are down
    slip: share of the friction left by cornering that drags, where the tyres slide; else 0
    """

    offset: np.ndarray
    grip: np.ndarray
    forced: np.ndarray
    cap: np.ndarray
    overlap: np.ndarray
    slip: np.ndarray


@dataclass(frozen=True)
class PlantedRun:
    """A run with what was planted in it."""

    cause: Cause | None
    features: frozenset[str]  # any of which is right
    cost: float  # of what was planted, without scatter and noise [s]
    driven: Trace
    on_line: Trace
    best: Trace
    breakdown: Breakdown
    measures: object


@lru_cache(maxsize=64)
def lot(seed):
    """A club course of about 260 m, and the point mass's best line on it."""
    geometry = lay_out(club_course(seed, length=260.0, n_features=7))
    run = point_mass_solution(
        geometry, friction=FRICTION, mass=1000.0, power=POWER * 1000.0, half_width=HALF_WIDTH, margin=0.1
    )
    found = predicted_trace(run, geometry)
    station = station_grid(geometry.path.length)
    offset = gaussian_filter1d(np.interp(station, found.station, found.lateral_offset), 3.0, mode="nearest")
    return Lot(geometry=geometry, station=station, offset=offset, best=best_on(geometry, station, offset, "best"))


def laid(geometry, station, offset):
    """Places, distance, heading and curvature of a line."""
    points = geometry.path.at(station)
    x = points.x - offset * np.sin(points.heading)
    y = points.y + offset * np.cos(points.heading)
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
    heading = np.unwrap(np.arctan2(np.gradient(y, arc), np.gradient(x, arc)))
    return x, y, arc, heading, gaussian_filter1d(np.gradient(heading, arc), 2.0, mode="nearest")


def trace_of(geometry, station, offset, *, speed, elapsed, name):
    """A trace without noise, of a motion along a line."""
    x, y, arc, heading, bend = laid(geometry, station, offset)
    zero = np.zeros_like(station)
    return Trace(
        name=name, station=station, time=elapsed, lateral_offset=offset, x=x, y=y, speed=speed, heading=heading,
        longitudinal_acceleration=np.gradient(speed**2, arc) / 2.0, lateral_acceleration=bend * speed**2,
        station_deviation=zero, lateral_offset_deviation=zero, speed_deviation=zero,
    )  # fmt: skip


def best_on(geometry, station, offset, name):
    """The fastest run on a line."""
    _, _, arc, _, bend = laid(geometry, station, offset)
    circle = FrictionCircle(friction=FRICTION, specific_power=POWER)
    profile = speed_profile(arc, bend, circle, start_speed=launch())
    return trace_of(geometry, station, offset, speed=profile.speed, elapsed=profile.elapsed, name=name)


def launch():
    """Speed at the start beam. [m/s]"""
    return 5.0


def drive(place, told):
    """The run of a driver: as fast as the circle, and what is told, allow."""
    _, _, arc, _, bend = laid(place.geometry, place.station, told.offset)
    grip = FRICTION * GRAVITY * told.grip
    bend = np.abs(bend)
    most = np.minimum(grip / np.maximum(bend, 1e-6), np.minimum(told.cap, 60.0) ** 2)
    step = np.diff(arc)
    for i in range(len(step) - 1, -1, -1):
        room = np.sqrt(max(grip[i + 1] ** 2 - (bend[i + 1] * most[i + 1]) ** 2, 0.0))
        most[i] = min(most[i], most[i + 1] + 2.0 * room * step[i])
    square = np.empty_like(most)
    square[0] = min(launch() ** 2, most[0])
    for i in range(len(step)):
        pull = told.forced[i]
        room = np.sqrt(max(grip[i] ** 2 - (bend[i] * square[i]) ** 2, 0.0))
        if told.slip[i] > 0.0:
            pull = -np.clip(told.slip[i] * room, 0.8, 3.5)
        elif np.isnan(pull):
            pull = min(room, POWER / np.sqrt(square[i]))
        square[i + 1] = max(min(square[i] + 2.0 * pull * step[i], most[i + 1]), 4.0)
    speed = np.sqrt(square)
    elapsed = np.concatenate([[0.0], np.cumsum(2.0 * step / (speed[1:] + speed[:-1]))])
    return trace_of(place.geometry, place.station, told.offset, speed=speed, elapsed=elapsed, name="driven")


def at_the_limit(place):
    """A driver without a fault."""
    n = len(place.station)
    return Driving(
        offset=place.offset.copy(), grip=np.ones(n), forced=np.full(n, np.nan), cap=np.full(n, np.inf),
        overlap=np.zeros(n, dtype=bool), slip=np.zeros(n),
    )  # fmt: skip


# Corners and what is planted there. Every planter returns (driving, features in which it is right) or None.


def corners(place):
    """Index of every slow point, and of the fastest places before and behind it."""
    speed = place.best.speed
    lows, _ = find_peaks(-speed, prominence=1.5)
    edges = [0, *(int(a + np.argmax(speed[a:b])) for a, b in pairwise(lows)), len(speed) - 1]
    before = int(np.argmax(speed[: lows[0]])) if len(lows) else 0
    edges[0] = before
    return [(edges[k], int(low), edges[k + 1]) for k, low in enumerate(lows)]


def name_at(place, index):
    return place.geometry.span_at(float(place.station[index])).id


def window(station, begin, end, *, soft=2.0):
    """One between two stations, with soft ends."""
    return np.clip((station - begin) / soft + 0.5, 0, 1) * np.clip((end - station) / soft + 0.5, 0, 1)


def bump(station, middle, half):
    """A smooth hill of height one."""
    away = np.clip(np.abs(station - middle) / half, 0.0, 1.0)
    return 0.5 * (1.0 + np.cos(np.pi * away))


def braking_point(place, corner):
    """Where the best run begins to brake for a corner."""
    top, low, _ = corner
    braking = np.flatnonzero(place.best.longitudinal_acceleration[top:low] < -2.0)
    return top + int(braking[0]) if braking.size else None


def turn_side(place, low):
    """+1 for a turn to the left."""
    return float(np.sign(np.sum(place.best.lateral_acceleration[max(low - 6, 0) : low + 7])))


def slow_entry(place, corner, size):
    _, low, _ = corner
    told = at_the_limit(place)
    cap = np.full(len(told.cap), np.inf)
    around = np.abs(place.station - place.station[low]) < 3.0
    cap[around] = place.best.speed[low] * (1.0 - 0.25 * size)
    return replace(told, cap=cap)


def early_lift(place, corner, size, *, pull=-1.3):
    point = braking_point(place, corner)
    if point is None:
        return None
    told = at_the_limit(place)
    begin = place.station[point] - 60.0 * size
    lows = [low for _, low, _ in corners(place) if low < corner[1]]
    if begin < (place.station[lows[-1]] + 8.0 if lows else 15.0):
        return None
    told.forced[(place.station >= begin) & (np.arange(len(told.forced)) <= corner[1])] = pull
    reached = drive(place, told).speed[corner[1]]
    return told if reached > 0.98 * drive(place, at_the_limit(place)).speed[corner[1]] else None


def coasting(place, corner, size):
    return early_lift(place, corner, size, pull=-0.3)


def late_power(place, corner, size):
    told = at_the_limit(place)
    begin = place.station[corner[1]]
    told.forced[(place.station >= begin) & (place.station <= begin + 40.0 * size)] = 0.0
    return told


def over_slip(place, corner, size):
    """Too much steer in mid-corner: the tyres stay at their limit, and what cornering leaves of it drags."""
    turning = np.abs(place.best.lateral_acceleration) > 0.9 * FRICTION * GRAVITY
    kept = turning & (place.best.longitudinal_acceleration > -1.5)
    near = np.flatnonzero(kept[max(corner[1] - 16, 0) : corner[1] + 10])
    if near.size * STEP < 3.0:
        return None
    told = at_the_limit(place)
    begin = place.station[max(corner[1] - 16, 0) + near[0]]
    told.slip[(place.station >= begin) & (place.station <= begin + 30.0 * size)] = 0.6
    return told


def pedal_overlap(place, corner, size):
    """Throttle against the brake on the way out of a corner."""
    told = at_the_limit(place)
    begin = place.station[corner[1]] - 4.0
    both = (place.station >= begin) & (place.station <= begin + 30.0 * size)
    told.forced[both] = 0.4
    return replace(told, overlap=both)


def fast_entry(place, corner, size):
    """Too fast at turn-in: past the limit while braking, then wide and slow until the car has come back."""
    point = braking_point(place, corner)
    if point is None:
        return None
    told = at_the_limit(place)
    low = corner[1]
    side = turn_side(place, low)
    middle = place.station[low] + 5.0
    grip = told.grip + 0.35 * window(place.station, place.station[point] - 12.0, place.station[low] - 6.0)
    grip -= 0.3 * size * window(place.station, place.station[low] - 3.0, place.station[low] + 14.0)
    return replace(told, grip=grip, offset=told.offset - side * 1.6 * size * bump(place.station, middle, 16.0))


def early_apex(place, corner, size):
    low = corner[1]
    side, here = turn_side(place, low), place.station[low]
    shift = bump(place.station, here - 11.0, 14.0) - bump(place.station, here + 10.0, 14.0)
    return replace(at_the_limit(place), offset=place.offset + side * 1.8 * size * shift)


def wide_at_cone(place, cone, size):
    told = at_the_limit(place)
    return replace(told, offset=told.offset - cone.side * 2.0 * size * bump(place.station, cone.station, 13.0))


def slalom_late(place, span, size):
    """The same weave about the axis of the slalom later, and wider by what still clears the cones."""
    station, best = place.station, place.best
    first, last = (int(np.searchsorted(station, at)) for at in (span.start, span.end))
    axis = float(np.arctan2(best.y[last] - best.y[first], best.x[last] - best.x[first]))
    aside = (best.y - best.y[first]) * np.cos(axis) - (best.x - best.x[first]) * np.sin(axis)
    later = np.interp(station - 6.0 * size, station, aside)
    middle = float(np.mean(aside[first:last]))
    wanted = middle + (1.0 + 0.4 * size) * (later - middle)
    inside = window(station, span.start + 6.0, span.end - 6.0, soft=12.0)
    turned = np.cos(place.geometry.path.at(station).heading - axis)
    return replace(at_the_limit(place), offset=place.offset + inside * (wanted - aside) * turned)


def unused_grip(place, _where, size):
    told = at_the_limit(place)
    return replace(told, grip=told.grip * (1.0 - 0.25 * size))


AT_CORNERS = {
    Cause.SLOW_ENTRY: slow_entry,
    Cause.EARLY_LIFT: early_lift,
    Cause.COASTING: coasting,
    Cause.LATE_POWER: late_power,
    Cause.OVER_SLIP: over_slip,
    Cause.PEDAL_OVERLAP: pedal_overlap,
    Cause.FAST_ENTRY: fast_entry,
    Cause.EARLY_APEX: early_apex,
}
CAUSES = (*AT_CORNERS, Cause.WIDE_AT_CONE, Cause.SLALOM_LATE, Cause.UNUSED_GRIP)
# Stated before anything was measured: without pedals, rolling towards the braking point and lifting look alike.
EQUIVALENT = {cause: cause for cause in Cause} | {Cause.COASTING: Cause.EARLY_LIFT}


def places_for(place, cause):
    """Where a cause can be planted: what the planter takes, and the features that are right."""
    geometry = place.geometry
    if cause is Cause.UNUSED_GRIP:
        return [(None, frozenset(span.id for span in geometry.spans))]
    if cause is Cause.SLALOM_LATE:
        return [(span, frozenset({span.id})) for span in geometry.spans if span.kind == "slalom"]
    if cause is Cause.WIDE_AT_CONE:
        near = [
            cone
            for cone in geometry.passes
            if cone.is_standing and not cone.is_guard and 25.0 < cone.station < geometry.path.length - 20.0
            and abs(np.interp(cone.station, place.station, place.offset) - cone.offset)
            < 0.25 + cone.radius + HALF_WIDTH
        ]  # fmt: skip
        return [(cone, frozenset({cone.feature})) for cone in near]
    found = []
    for corner in corners(place):
        if 25.0 < place.station[corner[1]] < geometry.path.length - 25.0:
            span = geometry.span_at(float(place.station[corner[1]]))
            if cause is Cause.EARLY_APEX and span.kind == "slalom":
                continue  # a weave that comes early is another thing
            found.append((corner, frozenset({span.id})))
    return found


def planter(cause):
    return {
        Cause.WIDE_AT_CONE: wide_at_cone,
        Cause.SLALOM_LATE: slalom_late,
        Cause.UNUSED_GRIP: unused_grip,
    }.get(cause) or AT_CORNERS[cause]


def sized(place, cause, where, wanted):
    """What is planted, scaled until it costs the wanted time; None where it cannot. [s]"""
    if cause is Cause.UNUSED_GRIP:
        return planter(cause)(place, where, 0.4)
    base = drive(place, at_the_limit(place)).run_time
    plant = planter(cause)
    low, high = 0.0, 1.0
    for _ in range(10):  # a size that is too large for the place is halved like one that costs too much
        middle = 0.5 * (low + high)
        told = plant(place, where, middle)
        if told is None or drive(place, told).run_time - base > wanted:
            high = middle
        else:
            low = middle
    told = plant(place, where, low)
    return told if told is not None and drive(place, told).run_time - base > 0.9 * wanted else None


def smooth_noise(rng, n, length, deviation):
    """Errors that last a length. [m]"""
    if deviation == 0.0:
        return np.zeros(n)
    margin = int(8 * length / STEP)
    raw = gaussian_filter1d(rng.normal(size=n + 2 * margin), length / STEP)[margin : margin + n]
    return deviation * raw * np.sqrt(2.0 * np.sqrt(np.pi) * length / STEP)


def scattered(place, told, rng):
    """The same driver with a line and a use of the friction that vary."""
    n = len(place.station)
    ease = np.clip(place.station / 15.0, 0.0, 1.0)
    return replace(
        told,
        offset=told.offset + ease * smooth_noise(rng, n, 8.0, SCATTER),
        grip=told.grip * np.clip(0.97 + smooth_noise(rng, n, 12.0, UNEVEN), 0.85, 1.0),
    )


def seen(place, run, told, *, noise, rng):
    """The run as a recording tells it."""
    n = len(run.station)

    def errors(length, deviation):
        return smooth_noise(rng, n, length, deviation)

    across, ahead = errors(25.0, noise.position), errors(25.0, noise.position)
    ahead -= np.linspace(ahead[0], ahead[-1], n)  # the beams are timed by themselves
    x, y, _, _, _ = laid(place.geometry, run.station, run.lateral_offset + across)
    ones = np.ones(n)
    return replace(
        run,
        time=run.time + ahead / run.speed,
        lateral_offset=run.lateral_offset + across,
        x=x,
        y=y,
        speed=run.speed + errors(8.0, noise.speed),
        longitudinal_acceleration=run.longitudinal_acceleration + errors(2.0, noise.acceleration),
        lateral_acceleration=run.lateral_acceleration + errors(2.0, noise.acceleration),
        station_deviation=noise.position * ones,
        lateral_offset_deviation=noise.position * ones,
        speed_deviation=noise.speed * ones,
    )


def pedals_of(run, told):
    """What the pedals show of a run."""
    pull = run.longitudinal_acceleration
    throttle = np.where(told.overlap, 0.5, np.clip(pull / 5.0, 0.0, 1.0))
    brake = np.where(told.overlap, 0.3, np.clip((-pull - 1.5) / 8.0, 0.0, 1.0))
    return Pedals(throttle=throttle, brake=brake)


def breakdown_of(place, driven, *, noise, rng):
    """The gap by feature, with quasi-steady runs on the recorded line and on lines drawn about it."""
    geometry, station = place.geometry, place.station

    def times(trace):
        return [
            f.time
            for f in feature_results(
                geometry, station=trace.front_station, elapsed=trace.time, speed=trace.speed
            )
        ]  # fmt: skip

    on_line = best_on(geometry, station, driven.lateral_offset, "best on this line")
    drawn = np.array(
        [
            times(
                best_on(
                    geometry, station, driven.lateral_offset + smooth_noise(rng, len(station), 25.0, noise.position), ""
                )
            )
            for _ in range(N_PATHS)
        ]
    )  # fmt: skip
    half = 1.645 * drawn.std(axis=0, ddof=1)
    at_ends = np.array([noise.position / np.interp(s.end, station, driven.speed) for s in geometry.spans])
    also = np.hypot(half, 1.645 * np.sqrt(2.0) * at_ends)
    gaps = tuple(
        FeatureGap(
            id=span.id, kind=span.kind.value, start=span.start, end=span.end, measured=a, best_on_line=b, best=c,
            line_interval=Interval(low=b - c - h, high=b - c + h),
            speed_interval=Interval(low=a - b - w, high=a - b + w),
        )
        for span, a, b, c, h, w in zip(
            geometry.spans, times(driven), times(on_line), times(place.best), half, also, strict=True
        )
    )  # fmt: skip
    total = 1.645 * float(drawn.sum(axis=1).std(ddof=1))
    line, speed = (sum(getattr(gap, part) for gap in gaps) for part in ("line", "speed"))
    breakdown = Breakdown(
        features=gaps,
        friction=FrictionFound(value=1.0, low=0.98, high=1.02, origin="saturated"),
        n_paths=N_PATHS,
        line_interval=Interval(low=line - total, high=line + total),
        speed_interval=Interval(low=speed - total, high=speed + total),
    )
    return on_line, breakdown


def planted_run(cause, *, seed, noise, courses=SEEDS, tries=60):
    """One seeded case: a course, a place, a cost of 0.25 to 0.6 s, scatter and noise. `cause` None: a clean driver."""
    rng = np.random.default_rng([seed, list(Cause).index(cause) if cause else 99])
    for _ in range(tries):
        place = lot(int(rng.choice(courses)))
        told, features = at_the_limit(place), frozenset()
        if cause is not None:
            options = places_for(place, cause)
            if not options:
                continue
            where, features = options[int(rng.integers(len(options)))]
            told = sized(place, cause, where, float(rng.uniform(0.25, 0.6)))
            if told is None:
                continue
        cost = drive(place, told).run_time - drive(place, at_the_limit(place)).run_time
        told = scattered(place, told, rng)
        run = drive(place, told)
        driven = seen(place, run, told, noise=noise, rng=rng)
        on_line, breakdown = breakdown_of(place, driven, noise=noise, rng=rng)
        pedals = pedals_of(run, told) if cause is Cause.PEDAL_OVERLAP or rng.random() < 0.5 else None
        return PlantedRun(
            cause=cause, features=features, cost=cost, driven=driven, on_line=on_line, best=place.best,
            breakdown=breakdown, measures=measures(driven, place.geometry, BODY, friction=FRICTION, pedals=pedals),
        )  # fmt: skip
    raise LookupError(f"no place for {cause} with seed {seed}")


def untold(breakdown):
    """The same gap from a recording that cannot tell line from speed."""
    none = Interval(low=np.nan, high=np.nan)
    gaps = [replace(g, best_on_line=np.nan, line_interval=none, speed_interval=none) for g in breakdown.features]
    return replace(breakdown, features=tuple(gaps), line_interval=none, speed_interval=none)


def held_by_bend(run):
    """What `focuses` takes of a recording that cannot tell line from speed, with the fastest run on its bend."""
    rough = FrictionCircle(friction=0.92 * FRICTION, specific_power=0.9 * POWER)  # as a real car is guessed
    held = run_on_bend(run.driven, run.best, limits=rough, doubt=0.005)
    return {
        "breakdown": untold(run.breakdown), "driven": run.driven, "on_line": held, "best": run.best,
        "measures": run.measures,
    }  # fmt: skip
