"""Logs out: a table of every channel (CSV), and the places as a GPX 1.1 track."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from conewise.errors import ConflictError, InputError
from conewise.logs.log import KINDS

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from conewise.logs.columns import Array
    from conewise.logs.log import Channel, Log

_IN_GPX = {"latitude", "longitude", "altitude", "hdop", "satellites"}


class LogTargetError(InputError):
    """A file that a log cannot be written to."""

    code = "log-target"
    default_hint = "Name a file that ends in .csv or .gpx, in a folder that exists and that you may write to."

    def __init__(self, problem: str, path: Path) -> None:
        super().__init__(problem, where=str(path))


class LogExistsError(ConflictError):
    """The file to be written is already there."""

    code = "log-exists"

    def __init__(self, path: Path, *, is_source: bool = False) -> None:
        hint = "Choose another name: a recording is never written over itself." if is_source else ""
        super().__init__(f"'{path.name}' is already there and stays as it is.", where=str(path), hint=hint)


class NoTrackError(InputError):
    """A log without what a GPX track needs."""

    code = "no-track"
    default_hint = "Write it as .csv, which needs neither."

    def __init__(self, missing: str, file: str) -> None:
        super().__init__(f"This recording has no {missing}; a GPX track needs it.", where=file)


def write_log(log: Log, path: Path, *, source: Path, force: bool = False) -> list[str]:
    """Write a log in the format that the file's ending names.

    Parameters
    ----------
    log : Log
        What to write.
    path : Path
        The file, `.csv` or `.gpx`.
    source : Path
        The recording itself, which is never written to.
    force : bool, default False
        Whether another file that is there may be replaced.

    Returns
    -------
    list of str
        Kinds of channels that the format cannot hold.

    Raises
    ------
    LogExistsError
        If the file is there and `force` is not said, or it is the recording itself.
    LogTargetError
        If logs are not written in that format, or the system refuses.
    NoTrackError
        If GPX is asked for and the log has no places in degrees, or no date.
    """
    formats: dict[str, Callable[[Log], str]] = {".csv": csv_text, ".gpx": gpx_text}
    suffix = path.suffix.lower()
    if suffix not in formats:
        raise LogTargetError(f"A log is not written to a '{suffix or 'nameless'}' file.", path)
    if path.exists() and source.exists() and path.samefile(source):
        raise LogExistsError(path, is_source=True)
    text = formats[suffix](log)
    try:
        with path.open("w" if force else "x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        raise LogExistsError(path) from None
    except OSError as error:
        raise LogTargetError(f"The file cannot be written: {error.strerror or 'the system refuses'}.", path) from None
    return [] if suffix == ".csv" else sorted(set(log.channels) - _IN_GPX)


def csv_text(log: Log) -> str:
    """A table with one row for every time at which anything was recorded; fields without a sample are empty.

    The first line says when time zero was; `read_log` reads the table back without a question.
    """
    import polars as pl

    time = np.unique(np.concatenate([channel.time for channel in log.channels.values()] or [np.zeros(0)]))
    columns = {"time [s]": time}
    for kind, channel in log.channels.items():
        values = np.full(time.size, np.nan)
        values[np.searchsorted(time, channel.time)] = channel.value
        columns[f"{kind} [{KINDS[kind].unit}]"] = values
    frame = pl.DataFrame(columns).fill_nan(None)
    start = f"start {log.start.isoformat(timespec='microseconds')}" if log.start else "start not known"
    return f"# {start}\n{frame.write_csv()}"


def gpx_text(log: Log) -> str:
    """The places as one track of GPX 1.1, with height, satellites and dilution where they were recorded.

    Raises
    ------
    NoTrackError
        If there are no places in degrees, or no date and time.
    """
    from gpxpy.gpx import GPX, GPXTrack, GPXTrackPoint, GPXTrackSegment

    if not {"latitude", "longitude"} <= set(log.channels):
        raise NoTrackError("latitude and longitude", log.file)
    if log.start is None:
        raise NoTrackError("date and time", log.file)
    time, first, second = np.intersect1d(
        log.channels["latitude"].time, log.channels["longitude"].time, return_indices=True
    )
    latitude = log.channels["latitude"].value[first]
    longitude = (log.channels["longitude"].value[second] + 180.0) % 360.0 - 180.0
    more = {kind: _beside(log.channels.get(kind), time) for kind in ("altitude", "hdop", "satellites")}
    segment = GPXTrackSegment()
    for row, seconds in enumerate(time):
        point = GPXTrackPoint(
            latitude=round(float(latitude[row]), 9),
            longitude=round(float(longitude[row]), 9),
            elevation=_or_none(round(float(more["altitude"][row]), 3)),
            time=log.start + timedelta(seconds=float(seconds)),
            horizontal_dilution=_or_none(more["hdop"][row]),
        )
        n_used = _or_none(more["satellites"][row])
        point.satellites = None if n_used is None else round(n_used)
        segment.points.append(point)
    gpx = GPX()
    gpx.creator = "conewise"
    gpx.tracks.append(GPXTrack())
    gpx.tracks[0].segments.append(segment)
    return str(gpx.to_xml(version="1.1"))


def _beside(channel: Channel | None, time: Array) -> Array:
    """The latest value of a channel at each time, NaN before its first."""
    if channel is None or channel.time.size == 0:
        return np.full(time.size, np.nan)
    row = np.searchsorted(channel.time, time, side="right") - 1
    return np.where(row >= 0, channel.value[np.maximum(row, 0)], np.nan)


def _or_none(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
