"""Places of a recording: how fast they move, and which of them cannot be true. Pure functions over arrays."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from conewise.findings import Finding, Sentence, Value
from conewise.logs.clock import of_all

if TYPE_CHECKING:
    from conewise.logs.columns import Array

_A, _E2 = 6378137.0, 0.00669437999014  # WGS84 [m], [-]
_NEAR = 1.0  # places of one recording lie within so many degrees [deg]
_MOST_OFF = 5  # samples that may lie off the way and come back
_PACES, _REACH, _NOISE = (
    3.0,
    15.0,
    8.0,
)  # what a step may be: so many usual paces, so fast besides [m/s], so far besides [m]
_FREEZE = 0.5  # [s]
_STEPS_APART, _APART = 3.0, 1.0  # longer steps are holes: times the middle step, and [s]
_AGAINST = -0.7  # correlation of way and course from which an axis is mirrored
_FAST_SHARE, _UNLIKE = 0.3, 0.15  # of the fastest piece; median departure of the logarithm of a ratio
_MOVING = 3.0  # speed from which distance over time tells a speed [m/s]


def metres(longitude: Array, latitude: Array) -> tuple[Array, Array]:
    """East and north of the first place, by the radii of curvature of WGS84 there: good to 1e-4 on a lot. [m]"""
    known = np.isfinite(longitude) & np.isfinite(latitude)
    if not known.any():
        return longitude * np.nan, latitude * np.nan
    first = int(np.argmax(known))
    phi = np.radians(latitude[first])
    root = 1.0 - _E2 * np.sin(phi) ** 2
    north = np.radians(latitude - latitude[first]) * _A * (1.0 - _E2) / root**1.5
    turn = (longitude - longitude[first] + 180.0) % 360.0 - 180.0
    return np.radians(turn) * _A / np.sqrt(root) * np.cos(phi), north


def speed_scale(time: Array, east: Array, north: Array, *, speed: Array) -> float | None:
    """Speed as recorded over distance by time; None where the car hardly moved.

    Parameters
    ----------
    time, east, north, speed : Array, shape (n_samples,)
        On the same rows. [s], [m], [m], in the unit that is asked for

    Notes
    -----
    Means over pieces of two seconds, of those in which the places move at 3 m/s or more; the median of their ratios,
    so that single wrong places do no harm. None as well where the places move in few of the pieces that are told to
    be fast, or the ratios have little to do with each other.
    """
    known = np.isfinite(time) & np.isfinite(east) & np.isfinite(north) & np.isfinite(speed)
    if known.sum() < 10:
        return None
    time, east, north, speed = time[known], east[known], north[known], speed[known]
    piece = max(2.0, 3.0 * float(np.median(np.diff(time))))
    ends = np.flatnonzero(np.diff(np.floor((time - time[0]) / piece), prepend=-1.0) > 0.0)
    if ends.size < 6:
        return None
    span = np.diff(time[ends])
    way = np.hypot(np.diff(east[ends]), np.diff(north[ends]))
    total = np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * np.diff(time))])
    told = np.diff(total[ends])
    good = (span > 0.5 * piece) & (span < 3.0 * piece) & (way > _MOVING * span)
    pace = told / np.maximum(span, 1e-9)
    fast = pace > _FAST_SHARE * float(pace.max(initial=0.0))
    ratio = told[good & (told > 0.0)] / way[good & (told > 0.0)]
    if ratio.size < 5 or (good & fast).sum() < 0.5 * fast.sum():
        return None
    scale = float(np.median(ratio))
    return scale if float(np.median(np.abs(np.log(ratio / scale)))) < _UNLIKE else None


@dataclass(frozen=True, slots=True)
class Places:
    """Places over time, as recorded and in metres, arrays of shape (n_samples,).

    first, second: longitude and latitude [deg], or x and y [m]
    """

    time: Array
    first: Array
    second: Array
    is_geographic: bool

    @property
    def plane(self) -> tuple[Array, Array]:
        """East and north. [m]"""
        return metres(self.first, self.second) if self.is_geographic else (self.first, self.second)

    def only(self, keep: np.ndarray) -> Places:
        """Some of the samples."""
        return replace(self, time=self.time[keep], first=self.first[keep], second=self.second[keep])


def without_zero_fixes(places: Places) -> tuple[Places, list[Finding]]:
    """Without places at 0 deg north, 0 deg east, which receivers report before they know better."""
    zero = (np.abs(places.first) < 1e-7) & (np.abs(places.second) < 1e-7)
    if not places.is_geographic or not zero.any() or zero.all():
        return places, []
    text = f"{of_all(int(zero.sum()), zero.size, 'place')} at latitude 0, longitude 0, left out."
    return places.only(~zero), [Finding("warning", "zero-fix", text, at(places.time[np.argmax(zero)]))]


def with_one_sign(places: Places) -> tuple[Places, list[Finding]]:
    """With samples of the other hemisphere turned back, where they mirror the rest."""
    findings = []
    for name in ("first", "second"):
        values = getattr(places, name)
        if not places.is_geographic or values.size < 3:
            continue
        middle = float(np.median(values))
        other = (np.sign(values) == -np.sign(middle)) & (np.abs(np.abs(values) - abs(middle)) < _NEAR)
        if abs(middle) > 2.0 * _NEAR and other.any():
            word = "longitude" if name == "first" else "latitude"
            text = f"The {word} has the other sign {int(other.sum())} times; those places are mirrored back."
            findings.append(Finding("warning", "hemisphere", text, at(places.time[np.argmax(other)])))
            places = replace(places, **{name: np.where(other, -values, values)})
    return places, findings


def without_jumps(places: Places) -> tuple[Places, list[Finding]]:
    """Without single places that lie far off the way; a way that goes on elsewhere is only said."""
    if places.time.size < 5:
        return places, []
    findings = []
    keep = np.ones(places.time.size, dtype=bool)
    east, north = places.plane
    far = _too_far(places.time, east, north)
    for index in map(int, np.flatnonzero(far)):
        back = next((n for n in range(index + 2, min(index + 2 + _MOST_OFF, places.time.size))
                     if not _is_too_far(places.time, east, north, (index, n))), None)  # fmt: skip
        if keep[index] and back is not None:
            keep[index + 1 : back] = False
    if not keep.all():
        text = f"{of_all(int((~keep).sum()), keep.size, 'place')} far off the way for a moment, left out."
        findings.append(Finding("warning", "position-jump", text, at(places.time[np.argmin(keep)])))
        places = places.only(keep)
        east, north = places.plane
        far = _too_far(places.time, east, north)
    if far.any():
        index = int(np.argmax(far))
        size = float(np.hypot(east[index + 1] - east[index], north[index + 1] - north[index]))
        n = int(far.sum())
        words = f"The way breaks {n} time{'s' * (n != 1)} and goes on elsewhere; first by {{}}."
        text = Sentence(words, Value(size, "length", is_distance=True))
        findings.append(Finding("warning", "position-break", text, at(places.time[index + 1])))
    return places, findings


def _pace(time: Array, east: Array, north: Array) -> Array:
    """Usual speed about every step, from the places alone. [m/s]"""
    speed = np.hypot(np.diff(east), np.diff(north)) / np.maximum(np.diff(time), 1e-3)
    around = np.lib.stride_tricks.sliding_window_view(np.pad(speed, 5, mode="edge"), 11)
    return np.asarray(np.median(around, axis=1))


def _too_far(time: Array, east: Array, north: Array) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Steps much longer than the usual pace about them allows."""
    step = np.hypot(np.diff(east), np.diff(north))
    reach = (_PACES * _pace(time, east, north) + _REACH) * np.diff(time)
    return np.asarray(step > reach + _NOISE)


def _is_too_far(time: Array, east: Array, north: Array, pair: tuple[int, int]) -> bool:
    one, two = pair
    around = slice(max(0, one - 6), two + 6)
    pace = float(np.median(_pace(time[around], east[around], north[around])))
    step = float(np.hypot(east[two] - east[one], north[two] - north[one]))
    return step > (_PACES * pace + _REACH) * float(time[two] - time[one]) + _NOISE


def without_frozen(places: Places) -> tuple[Places, list[Finding]]:
    """Without places that stand still while the car moved on: the way jumps ahead at their end."""
    east, north = places.plane
    same = (np.diff(east) == 0.0) & (np.diff(north) == 0.0)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], same, [False]]).astype(int)))
    keep = np.ones(places.time.size, dtype=bool)
    spans = []
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        if end + 1 >= places.time.size:
            continue
        length = places.time[end] - places.time[start]
        step = places.time[end + 1] - places.time[end]
        way = np.hypot(east[end + 1] - east[end], north[end + 1] - north[end])
        if length >= _FREEZE and way > _MOVING * (length + step) and way > 2.0 * _REACH * min(step, 0.1):
            keep[start + 1 : end + 1] = False
            spans.append((places.time[start], length))
    if not spans:
        return places, []
    text = (
        f"The place stands still while the car moves on, {len(spans)} time{'s' * (len(spans) != 1)}, "
        f"{spans[0][1]:.1f} s the first time: {of_all(int((~keep).sum()), keep.size, 'place')}, left out."
    )
    return places.only(keep), [Finding("warning", "position-frozen", text, at(spans[0][0]))]


def mirrored(places: Places, course: tuple[Array, Array], speed: tuple[Array, Array]) -> list[str]:
    """Axes along which the places move against the recorded course: "longitude", "latitude" or none.

    Parameters
    ----------
    course, speed : pair of Array
        Time [s] and value [rad], [m/s].
    """
    east, north = places.plane
    if places.time.size < 10 or course[0].size < 10:
        return []
    middle = 0.5 * (places.time[1:] + places.time[:-1])
    turn = np.unwrap(course[1])
    heading = np.interp(middle, course[0], turn)
    pace = np.interp(middle, *speed) if speed[0].size else np.ones(middle.size)
    step = np.diff(places.time)
    near = step <= max(_STEPS_APART * float(np.median(step)), _APART)  # across a hole the course says little
    out = []
    for name, way, told in (("longitude", east, np.sin(heading)), ("latitude", north, np.cos(heading))):
        moved, wanted = np.diff(way)[near], (pace * told * step)[near]
        size = float(np.sqrt(np.sum(moved**2) * np.sum(wanted**2)))
        if size > 0.0 and np.sum(np.abs(wanted)) > 30.0 and float(np.sum(moved * wanted)) < _AGAINST * size:
            out.append(name)
    return out


def at(time: float) -> str:
    """A moment of a log as a place of a finding."""
    return f"at {time:.2f} s"
