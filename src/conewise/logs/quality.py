"""What is wrong with a recording, with its place, and what can still be used of it. Pure functions over a log."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from conewise.findings import Finding, Sentence, Value
from conewise.logs.clock import of_all
from conewise.logs.log import KINDS, Channel
from conewise.logs.places import (
    Places,
    at,
    mirrored,
    speed_scale,
    with_one_sign,
    without_frozen,
    without_jumps,
    without_zero_fixes,
)

if TYPE_CHECKING:
    from conewise.logs.columns import Array
    from conewise.logs.log import Log
    from conewise.quantities import Dimension

_SAME = 3  # extreme values that come so often, exactly the same, are no measurements
_FAR_OFF = 5.0  # ... where they lie so many spans of the others away from them
_NO_SENTINELS = {"throttle", "brake", "gear", "fix_quality", "satellites", "speed", "wheel_speed", "latitude",
                 "longitude", "x", "y", "course"}  # fmt: skip
_DIMENSIONS: dict[str, Dimension] = {"m": "length", "m/s": "speed", "m/s2": "acceleration"}  # told in units asked for
# Speed taken for another unit: how many times too large it comes out.
_MIX_UPS = {"km/h for m/s": 3.6, "mph for m/s": 3600.0 / 1609.344, "knots for m/s": 3600.0 / 1852.0,
            "m/s for km/h": 1.0 / 3.6, "m/s for mph": 1609.344 / 3600.0, "m/s for knots": 1852.0 / 3600.0,
            "km/h for mph": 1.609344, "mph for km/h": 1.0 / 1.609344, "km/h for knots": 1.852,
            "knots for km/h": 1.0 / 1.852}  # fmt: skip
_SCALE_OK, _SCALE_FITS = 0.18, 0.06  # of the logarithm: speeds that agree with the places; a mix-up that explains them


def review(log: Log) -> Log:
    """The log with what is usable of it.

    Parameters
    ----------
    log : Log
        As a reader gives it: times in order, values as recorded.

    Returns
    -------
    Log
        Without empty channels, values that cannot be and places that are wrong; mirrored places and speeds in another
        unit are put right. Every change is a finding.
    """
    channels: dict[str, Channel] = {}
    findings = list(log.findings)
    for kind, channel in log.channels.items():
        kept, found = _plausible(channel)
        findings += found
        if kept.value.size:
            channels[kind] = kept
    channels, found = _with_true_places(channels)
    findings += found
    channels, found = _with_true_speed(channels)
    findings += found
    if not any(kind in channels for kind in ("latitude", "x", "speed", "wheel_speed")):
        text = "There is neither a place nor a speed in this recording."
        findings.append(Finding("stop", "nothing-usable", text, log.file))
    return replace(log, channels=channels, findings=tuple(findings))


def _plausible(channel: Channel) -> tuple[Channel, list[Finding]]:
    """A channel without values that cannot be."""
    if channel.value.size == 0:
        text = f"Nothing was recorded in '{channel.source}'."
        return channel, [Finding("warning", "channel-empty", text, channel.kind)]
    kind = KINDS[channel.kind]
    outside = (channel.value < kind.low - 1e-9) | (channel.value > kind.high + 1e-9)
    stand_in = _stand_ins(channel.value, outside, channel.kind)
    findings = []
    for which, code, words in ((stand_in, "sentinel", 'that stand for "none"'),
                               (outside & ~stand_in, "out-of-range", "that cannot be")):  # fmt: skip
        if which.any():
            first = int(np.argmax(which))
            text = Sentence(
                f"{of_all(int(which.sum()), which.size, 'value')} {words}, left out (the first is {{}}).",
                _said(float(channel.value[first]), kind.unit),
            )
            findings.append(Finding("warning", code, text, f"{channel.kind}, {at(channel.time[first])}"))
    if not findings:
        return channel, []
    return _only(channel, ~(outside | stand_in)), findings


def _said(value: float, unit: str) -> Value | str:
    dimension = _DIMENSIONS.get(unit)
    return f"{value:.6g} {unit}" if dimension is None else Value(value, dimension, 1)


def _only(channel: Channel, keep: np.ndarray) -> Channel:
    return replace(channel, time=channel.time[keep], value=channel.value[keep])


def _stand_ins(value: Array, outside: np.ndarray, kind: str) -> np.ndarray:
    """Extreme values that are exactly the same again and again, beyond what can be or far from all others."""
    found = np.zeros(value.size, dtype=bool)
    for extreme in (float(value.min()), float(value.max())):
        same = value == extreme
        others = value[~same]
        if same.sum() < _SAME or others.size < 10:
            continue
        span, distance = float(np.ptp(others)), float(np.min(np.abs(others - extreme)))
        is_far = kind not in _NO_SENTINELS and span > 0.0 and distance > _FAR_OFF * span
        if bool(outside[same].all()) or is_far:
            found |= same
    return found


def _places(channels: dict[str, Channel]) -> tuple[Places, tuple[str, str]] | None:
    """The places of a log, on the times that both axes have."""
    for pair in (("longitude", "latitude"), ("x", "y")):
        if not set(pair) <= set(channels):
            continue
        one, two = (channels[kind] for kind in pair)
        time, first, second = np.intersect1d(one.time, two.time, return_indices=True)
        if time.size:
            places = Places(time, one.value[first], two.value[second], pair[0] == "longitude")
            return places, pair
    return None


def _with_true_places(channels: dict[str, Channel]) -> tuple[dict[str, Channel], list[Finding]]:
    """Channels with places put right."""
    found = _places(channels)
    if found is None:
        return channels, []
    places, pair = found
    before = places.time.size
    findings: list[Finding] = []
    for step in (without_zero_fixes, with_one_sign, without_frozen, without_jumps):
        places, new = step(places)
        findings += new
    if not findings and all(channels[kind].time.size == before for kind in pair):
        return _mirrored_back(channels, places)
    put = dict(channels)
    for kind, value in zip(pair, (places.first, places.second), strict=True):
        put[kind] = replace(channels[kind], time=places.time, value=value)
    put, new = _mirrored_back(put, places)
    return put, findings + new


def _mirrored_back(channels: dict[str, Channel], places: Places) -> tuple[dict[str, Channel], list[Finding]]:
    """Places of the other hemisphere throughout, where the recorded course tells that they run the wrong way."""
    course, speed = channels.get("course"), channels.get("speed")
    if course is None or not places.is_geographic:
        return channels, []
    pace = (speed.time, speed.value) if speed is not None else (np.zeros(0), np.zeros(0))
    findings, out = [], dict(channels)
    for axis in mirrored(places, (course.time, course.value), pace):
        text = f"The places run against the recorded course: the {axis} has the wrong sign throughout and is turned."
        findings.append(Finding("warning", "hemisphere", text, axis))
        out[axis] = replace(out[axis], value=-out[axis].value)
    return out, findings


def _with_true_speed(channels: dict[str, Channel]) -> tuple[dict[str, Channel], list[Finding]]:
    """Channels with the speed in its own unit, held against the way by time."""
    found, speed = _places(channels), channels.get("speed")
    if found is None or speed is None:
        return channels, []
    places, _ = found
    inside = (places.time >= speed.time[0]) & (places.time <= speed.time[-1])
    places = places.only(inside)
    if places.time.size < 10:
        return channels, []
    scale = speed_scale(places.time, *places.plane, speed=np.interp(places.time, speed.time, speed.value))
    if scale is None or abs(np.log(scale)) < _SCALE_OK:
        return channels, []
    name, factor = min(_MIX_UPS.items(), key=lambda entry: abs(np.log(scale / entry[1])))
    if abs(np.log(scale / factor)) > _SCALE_FITS:
        text = f"The recorded speed is {scale:.2f} times what the places say; it is used as it is."
        return channels, [Finding("warning", "speed-scale", text, speed.source)]
    text = f"The recorded speed is {scale:.2f} times what the places say: {name}. It is put right."
    out = {**channels, "speed": replace(speed, value=speed.value / factor)}
    return out, [Finding("warning", "speed-unit", text, speed.source)]
