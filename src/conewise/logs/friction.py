"""How much friction there was: from tyres that slid, from a circle or stop at the limit, from what is known of the lot.

Every value is a factor on what the car file gives. A calm run tells a lower bound only.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d, uniform_filter1d
from scipy.special import stdtrit

from conewise.errors import InfeasibleError
from conewise.logs.breakdown import FrictionFound
from conewise.quantities import OF_MEDIAN

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from conewise.logs.log import Log
    from conewise.logs.track import Track
    from conewise.runs import Trace

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

SUSTAINED = 0.5  # accelerations are means over this [s]
TOP = 0.98  # share of a run's sustained accelerations that lie below what it demonstrates
DOUBT = 0.02  # of sustained accelerations, relative [-]; common practice, no source
NEIGHBOURS = 5.0  # within which the best run's greatest acceleration stands for the limit [m]
SLID = 1.3  # slip angle over that of the peak from which a tyre slides beyond doubt [-]; common practice, no source
SLIPPED = 0.15  # wheel speed off the car's by this share: locked or spinning [-]; common practice, no source
FEWEST = 0.3  # a slide lasts at least this in all [s]
ANCHORED = 3.0  # the mean of the sideslip over this is taken for nought [s]
LEAST_SPEED = 5.0  # below it slip is not known [m/s]
STEER_DOUBT = 0.1  # of the angle of the front wheels by the handwheel, relative [-]; common practice, no source
STRAIGHT, LEAST_STRAIGHT = 0.05, 1.0  # a car that turns less [rad/s] for this long [s] tells the handwheel's zero
GENTLE, BENT = 4.0, 0.2  # bends of less lateral acceleration [m/s2] and more yaw rate [rad/s] tell what it means
AGREES = 1.5  # front wheels by the handwheel over those of a car without slip, at most [-]; common practice, no source
AT_LIMIT = 0.85  # share of the greatest sustained acceleration of a circle that counts as its limit
LEAST_LIMIT = 3.0  # a recording at the limit shows at least this [m/s2]
LIMIT_SPREAD = 0.05  # how well a circle or stop tells it, half a 90% interval [-]; common practice, no source
SLIDE_SCATTER = 0.08  # from one slide to the next, one deviation [-]; an estimate, no source
KNOWN_SCATTER = 4  # degrees of freedom that this estimate counts for beside the slides; an estimate, no source


class NoLimitShownError(InfeasibleError):
    """A recording that was named as one at the limit and shows none."""

    code = "no-limit-shown"
    default_hint = "Record a circle of steady radius, as fast as it goes, or a stop in earnest."

    def __init__(self, file: str, greatest: float) -> None:
        super().__init__(
            f"The greatest acceleration held for half a second is {greatest:.1f} m/s2: nothing was at its limit.",
            where=file,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class TyreSlip:
    """What of a car says when its tyres slide.

    cg_to_rear, cg_to_front: centre of gravity to the axles [m]
    peak, front_peak: slip angle of the greatest force, rear and front [rad]
    steering_ratio: angle of the handwheel over that of the front wheels [-]
    """

    cg_to_rear: float
    cg_to_front: float
    peak: float
    front_peak: float
    steering_ratio: float


def sustained(time: Array, longitudinal: Array, lateral: Array) -> Array:
    """Length of the acceleration, a mean over `SUSTAINED`, at even times of 0.02 s. [m/s2]"""
    even = np.arange(time[0], time[-1], 0.02)
    size = max(round(SUSTAINED / 0.02), 1)
    along, across = (uniform_filter1d(np.interp(even, time, v), size) for v in (longitudinal, lateral))
    return np.hypot(along, across)


def demonstrated(driven: Trace, limit: Trace) -> float:
    """Least factor on the friction of a run at its limit that another run on the same line has shown. [-]

    Parameters
    ----------
    driven : Trace
    limit : Trace
        The fastest on the line of the driven run, with the friction of the car file.
    """
    top = [
        np.quantile(sustained(t.time, t.longitudinal_acceleration, t.lateral_acceleration), TOP)
        for t in (driven, limit)
    ]
    return float((1.0 - DOUBT) * top[0] / top[1])


def sliding(track: Track, log: Log, slip: TyreSlip) -> Mask:
    """Where tyres slid beyond doubt, shape (n_samples,) of the track.

    Notes
    -----
    Three witnesses. The slip angle of the rear axle, from the difference between the turn of the course and that of the
    body (a gyroscope or a yaw rate of the car is needed), is beyond that of the peak. So is that of the front axle, for
    which the angle of the handwheel is needed as well. Or wheels turn much slower or faster than the car goes.
    """
    fast = track.speed > LEAST_SPEED
    found = np.zeros(track.time.size, dtype=np.bool_)
    if track.has_rate:
        step = float(np.median(np.diff(track.time)))
        drift = np.cumsum(np.gradient(track.heading, track.time) - track.yaw_rate) * step
        sideslip = drift - uniform_filter1d(drift, max(round(ANCHORED / step), 1))
        turn = track.yaw_rate / np.maximum(track.speed, LEAST_SPEED)
        doubt = 2.0 * track.heading_deviation
        found |= fast & (np.abs(sideslip - slip.cg_to_rear * turn) > SLID * slip.peak + doubt)
        steered = _front_wheels(track, log, slip, fast)
        angle = sideslip + slip.cg_to_front * turn - steered
        found |= fast & (np.abs(angle) > SLID * slip.front_peak + doubt + STEER_DOUBT * np.abs(steered))
    wheel = log.channels.get("wheel_speed")
    if wheel is not None and wheel.time.size > 1 and "wheel_speed" not in track.doubted:
        turning = np.interp(track.time, wheel.time, wheel.value)
        inside = (track.time >= wheel.time[0]) & (track.time <= wheel.time[-1])
        found |= fast & inside & (np.abs(turning - track.speed) > SLIPPED * track.speed + 2.0 * track.speed_deviation)
    return found


def _front_wheels(track: Track, log: Log, slip: TyreSlip, fast: Mask) -> Array:
    """Angle of the front wheels to the left; not a number where the handwheel does not tell it. [rad]

    Nor where it does not go with the turn of gentle bends: a sign, a unit or a steering ratio is wrong then.
    """
    unknown = np.full(track.time.size, np.nan)
    wheel = log.channels.get("handwheel_angle")
    if wheel is None or wheel.time.size < 2:
        return unknown
    angle = np.interp(track.time, wheel.time, wheel.value, left=np.nan, right=np.nan) / slip.steering_ratio
    told, least = fast & np.isfinite(angle), LEAST_STRAIGHT / float(np.median(np.diff(track.time)))
    straight = told & (np.abs(track.yaw_rate) < STRAIGHT)
    gentle = told & (np.abs(track.yaw_rate) > BENT) & (np.abs(track.yaw_rate) * track.speed < GENTLE)
    if min(np.count_nonzero(straight), np.count_nonzero(gentle)) < least:
        return unknown
    angle = angle - np.median(angle[straight])
    rolling = (slip.cg_to_rear + slip.cg_to_front) * track.yaw_rate[gentle] / track.speed[gentle]
    share = float(np.median(angle[gentle] / rolling))  # negative where the handwheel is told the other way round
    return np.asarray(angle) if 1.0 / AGREES < share < AGREES else unknown


def from_slides(slides: Sequence[tuple[Track, float, Trace, Mask]], limit: Trace) -> FrictionFound | None:
    """Friction from moments in which tyres slid on the course; None where these are too few.

    Parameters
    ----------
    slides : sequence of (Track, start, Trace, Mask)
        Recording, time of the start beam in it, run along the course, and where its tyres slid.
    limit : Trace
        Fastest run of the same car with the friction of the car file: what it reaches at the same place is the limit.

    Notes
    -----
    The middle of all moments; low and high are its 90% limits, at least as far apart as those of a recording at the
    limit. They come from the scatter of the single slides, joined with what is usual (`SLIDE_SCATTER`), which is all
    that is known with one slide; few slides make a Student's law, not a normal one.
    """
    step = float(np.median(np.diff(limit.station)))
    reach = np.hypot(limit.longitudinal_acceleration, limit.lateral_acceleration)
    reach = maximum_filter1d(reach, 2 * round(NEIGHBOURS / step) + 1)
    shares: list[Array] = []
    lasting = 0.0
    for track, start, trace, mask in slides:
        inside = mask & (track.time > start) & (track.time < start + trace.run_time)
        station = np.interp(track.time[inside] - start, trace.time, trace.station)
        total = np.hypot(track.longitudinal_acceleration, track.lateral_acceleration)[inside]
        apart = np.flatnonzero(np.diff(np.flatnonzero(inside)) > 1) + 1
        shares += np.split(total / np.interp(station, limit.station, reach), apart)
        lasting += float(inside.sum() * np.median(np.diff(track.time)))
    if lasting < FEWEST:
        return None
    value = float(np.median(np.concatenate(shares)))
    half = max(LIMIT_SPREAD * value, _half_interval([share for share in shares if share.size], value))
    return FrictionFound(value=value, low=value - half, high=value + half, origin="saturated")


def _half_interval(slides: Sequence[Array], value: float) -> float:
    """Half the 90% interval of the middle of all moments of slides, each so many shares of the limit."""
    each, sizes = np.array([float(np.median(share)) for share in slides]), np.array([share.size for share in slides])
    n_free = KNOWN_SCATTER + each.size - 1
    squares = KNOWN_SCATTER * (SLIDE_SCATTER * value) ** 2 + float(np.sum((each - each.mean()) ** 2))
    as_many = float(np.sum(sizes) ** 2 / np.sum(sizes**2))  # slides of one length that tell as much
    of_middle = min(OF_MEDIAN / np.sqrt(as_many), 1.0) if each.size > 2 else 1.0  # the longer of two is the middle
    return float(stdtrit(n_free, 0.95) * np.sqrt(squares / n_free) * of_middle)


def at_limit(
    track: Track, *, file: str, lateral: Callable[[Array], Array], brake: Callable[[Array], Array]
) -> FrictionFound:
    """Friction from a recording of a circle, or of stops, that was driven at the limit.

    Parameters
    ----------
    track : Track
    file : str
        For the message.
    lateral, brake : callable
        Speeds -> greatest lateral acceleration at constant speed, greatest deceleration, with the car file's friction.
        [m/s], [m/s2]

    Raises
    ------
    NoLimitShownError
        Where nothing was held near any limit.
    """
    size = max(round(SUSTAINED / float(np.median(np.diff(track.time)))), 1)
    along, across = (
        uniform_filter1d(v, size) for v in (track.longitudinal_acceleration, np.abs(track.lateral_acceleration))
    )
    held = np.where(across > np.abs(along), across, np.maximum(-along, 0.0))
    held = np.where(track.speed > LEAST_SPEED, held, 0.0)
    greatest = float(np.quantile(held, 0.995))
    if greatest < LEAST_LIMIT:
        raise NoLimitShownError(file, greatest)
    near = held > AT_LIMIT * greatest
    speed = track.speed[near]
    turning = across[near] > np.abs(along[near])
    share = held[near] / np.where(turning, lateral(speed), brake(speed))
    value = float(np.median(share))
    return FrictionFound(
        value=value, low=value * (1.0 - LIMIT_SPREAD), high=value * (1.0 + LIMIT_SPREAD), origin="skidpad"
    )


def raised(friction: FrictionFound, least: float) -> FrictionFound:
    """The friction that is at least what a run has shown; the same where it is."""
    if least <= friction.value:
        low = friction.low if not friction.is_lower_bound else least
        return FrictionFound(value=friction.value, low=low, high=friction.high, origin=friction.origin)
    high = least + friction.high - friction.value  # a run shows the least that it needed, no more
    return FrictionFound(value=least, low=least, high=high, origin=friction.origin)
