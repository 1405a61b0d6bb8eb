"""The course of a day without a map: the path that is driven again and again from standstill."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.course.path import path_along
from conewise.course.relaxation import Ends
from conewise.logs.follow import DrivenLine
from conewise.logs.measures import BRAKING

if TYPE_CHECKING:
    from conewise.course.geometry import ReferencePath
    from conewise.logs.track import Track

Array = NDArray[np.float64]

STANDSTILL = 0.5  # slower than this the car stands [m/s]
STEP = 2.0  # of the distance driven [m]
LAUNCH_SPEED = 6.0  # a car that launches is this fast after 15 m [m/s]; common practice, no source
LAUNCH_LENGTH = 15.0  # [m]
_LEAST_LENGTH = 60.0  # of a run [m]; common practice, no source
_SAME_PLACE = 6.0  # two passes nearer than this follow the same path [m]
_SAME_SHARE = 0.8  # of two paths that are the same
_GOT_THROUGH = 0.85  # of the longest drive; shorter ones were broken off
_RUN_OUT = 30.0  # [m]


def repeated_path(track: Track, *, ahead: float) -> ReferencePath | None:
    """The path that most launches follow, from the place of launch to where the first of them slows to its stop.

    Parameters
    ----------
    track : Track
    ahead : float
        How far the start line lies ahead of the centre of the car that stood farthest ahead. [m]

    Returns
    -------
    ReferencePath or None
        None where nothing that looks like a run was driven.

    Notes
    -----
    One pass is enough where no other repeats it.
    """
    drives = launched_drives(track)
    if not drives:
        return None
    lines = [even_line(track, drive) for drive in drives]
    alike = [[_is_same(a, b) for b in lines] for a in lines]
    model = max(range(len(lines)), key=lambda k: (sum(alike[k]), len(lines[k])))
    group = [k for k in range(len(lines)) if alike[model][k]]
    ends = [_slows_at(track, drives[k], lines[k], lines[model]) for k in group]
    end = min(at for at in ends if at >= _GOT_THROUGH * max(ends))
    return _path(lines[model], begin=_begin([lines[k] for k in group], lines[model]) + ahead, end=end)


def launched_drives(track: Track) -> list[slice]:
    """Samples from every standstill to the next that begin with a launch and are as long as a run."""
    moving = np.concatenate([[False], track.speed >= STANDSTILL, [False]])
    change = np.flatnonzero(np.diff(moving.astype(np.int8)))
    drives = [slice(max(int(a) - 1, 0), int(b)) for a, b in zip(change[::2], change[1::2], strict=True) if b - a > 2]
    return [drive for drive in drives if _is_run(track, drive)]


def _is_run(track: Track, drive: slice) -> bool:
    """Whether a drive begins with a launch and is as long as a run."""
    driven = DrivenLine.of(track, drive).distance
    return bool(driven[-1] >= _LEAST_LENGTH) and is_launch(track, drive)


def is_launch(track: Track, drive: slice) -> bool:
    """Whether a drive from standstill begins as a run does: 6 m/s after 15 m."""
    driven = DrivenLine.of(track, drive).distance
    return bool(np.interp(LAUNCH_LENGTH, driven, track.speed[drive]) >= LAUNCH_SPEED)


def even_line(track: Track, drive: slice) -> Array:
    """Places every two metres driven, shape (n, 2). [m]"""
    driven = DrivenLine.of(track, drive).distance + 1e-9 * np.arange(drive.stop - drive.start)
    at = np.arange(0.0, driven[-1], STEP)
    return np.column_stack([np.interp(at, driven, track.x[drive]), np.interp(at, driven, track.y[drive])])


def _abreast(line: Array, model: Array) -> tuple[Array, NDArray[np.int64]]:
    """Distance of every point of a line to a model followed from its beginning, and the index there."""
    at, away, index = 0, np.empty(len(line)), np.empty(len(line), dtype=np.int64)
    for k, place in enumerate(line):
        ahead = slice(at, at + 6)
        distance = np.hypot(*(model[ahead] - place).T)
        at += int(np.argmin(distance))
        away[k], index[k] = float(distance.min()), at
    return away, index


def _is_same(line: Array, model: Array) -> bool:
    """Whether two drives follow the same path for most of the shorter one."""
    count = min(len(line), len(model))
    away, _ = _abreast(line[:count], model)
    return bool(np.mean(away < _SAME_PLACE) >= _SAME_SHARE)


def _slows_at(track: Track, drive: slice, line: Array, model: Array) -> int:
    """Index of the model at which a drive last begins to brake to its stop."""
    braking = track.longitudinal_acceleration[drive] < -BRAKING
    driven = DrivenLine.of(track, drive).distance
    last = np.flatnonzero(braking)
    if not last.size:
        return len(model) - 1
    gaps = np.flatnonzero(np.diff(driven[last]) > STEP)
    onset = driven[last[gaps[-1] + 1 if gaps.size else 0]]
    _, index = _abreast(line, model)
    return int(index[min(int(onset / STEP), len(index) - 1)])


def _begin(lines: list[Array], model: Array) -> float:
    """How far the farthest of the starting places lies along the model. [m]"""
    ahead = model[min(3, len(model) - 1)] - model[0]
    ahead = ahead / np.hypot(*ahead)
    return float(max((line[0] - model[0]) @ ahead for line in lines))


def _path(model: Array, *, begin: float, end: int) -> ReferencePath:
    first = int(np.floor(begin / STEP))
    share = begin / STEP - first
    line = model[first : max(end, first + 8) + 1].copy()
    line[0] += share * (line[1] - line[0])
    out, last = line[2] - line[0], line[-1] - line[-3]
    ends = Ends(
        start=line[0],
        start_direction=out / np.hypot(*out),
        finish=line[-1],
        finish_direction=last / np.hypot(*last),
    )
    return path_along(line, ends, run_out=_RUN_OUT)
