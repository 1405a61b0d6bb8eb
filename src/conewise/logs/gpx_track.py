"""GPX tracks (1.1, and 1.0): places with times, and what else their points tell."""

from __future__ import annotations

from datetime import UTC
from typing import TYPE_CHECKING, Any

import numpy as np

from conewise.errors import InputError
from conewise.findings import Finding
from conewise.logs.assembly import channel
from conewise.logs.clock import in_order, moment, of_all
from conewise.logs.log import Log

if TYPE_CHECKING:
    from collections.abc import Iterator

# Elements that programs put below `extensions`, by their local name: kind and factor to its unit.
_EXTRA = {"speed": ("speed", 1.0), "course": ("course", np.pi / 180.0), "heading": ("course", np.pi / 180.0),
          "bearing": ("course", np.pi / 180.0), "hacc": ("horizontal_accuracy", 1.0),
          "accuracy": ("horizontal_accuracy", 1.0)}  # fmt: skip
_FIX = {"none": 0.0, "2d": 1.0, "3d": 1.0, "dgps": 2.0, "pps": 3.0}


class NotATrackError(InputError):
    """GPX that holds no recording: broken, without track points, or without times."""

    code = "gpx-track"
    default_hint = "Export the recording as a GPX track with a time at every point."

    def __init__(self, problem: str, *, where: str) -> None:
        super().__init__(problem, where=where)


def read_gpx_track(content: bytes, *, file: str) -> Log:
    """The log of all tracks of a GPX file, in the order of the file.

    Raises
    ------
    NotATrackError
        If it is no GPX, declares entities, or has fewer than two points with times.
    LogClockError
        If its times do not run forward.
    """
    points, findings = _points(content, file)
    timed = [(number, point) for number, point in points if point.time is not None]
    if len(timed) < 2:
        problem = "The track points have no times" if points else "There are no track points in this file"
        raise NotATrackError(f"{problem}; a recording has them.", where=file)
    if len(timed) < len(points):
        first = next(number for number, point in points if point.time is None)
        text = f"{of_all(len(points) - len(timed), len(points), 'point')} without a time, left out."
        findings.append(Finding("warning", "time-missing", text, f"point {first}"))
    moments = [point.time if point.time.tzinfo else point.time.replace(tzinfo=UTC) for _, point in timed]
    seconds = np.array([(one - moments[0]).total_seconds() for one in moments])
    ordered = in_order(seconds, lambda row: f"point {timed[row][0]}")
    zero = float(ordered.time[0])
    samples: dict[str, np.ndarray] = {}
    for row, (_, point) in enumerate(timed):
        for kind, value in _told(point):
            samples.setdefault(kind, np.full(len(timed), np.nan))[row] = value
    channels = {
        kind: channel(kind, ordered.time - zero, values[ordered.keep], source="trkpt")
        for kind, values in samples.items()
    }
    return Log(
        file=file,
        channels=channels,
        start=moment(moments[0].timestamp(), zero),
        findings=(*findings, *ordered.findings),
    )


def _points(content: bytes, file: str) -> tuple[list[tuple[int, Any]], list[Finding]]:
    """Track points with their number; of a file that was cut off, those before the cut."""
    import gpxpy
    from gpxpy.gpx import GPXException

    text = content.decode("utf-16" if content[:2] in {b"\xff\xfe", b"\xfe\xff"} else "utf-8-sig", errors="replace")
    if "<!DOCTYPE" in text or "<!ENTITY" in text:
        raise NotATrackError("The file declares entities, which GPX does not have.", where=file)
    findings = []
    try:
        gpx = gpxpy.parse(text)
    except (GPXException, ValueError, OverflowError, TypeError, AttributeError, LookupError) as error:
        mended = _mended(text)
        if mended is None:
            problem = " ".join(str(error).split())[:120]
            raise NotATrackError(f"This is not GPX that can be read: {problem}.", where=file) from None
        gpx = mended
        findings.append(Finding("warning", "truncated", "The file is cut off; what stands before is used.", file))
    points = [point for track in gpx.tracks for segment in track.segments for point in segment.points]
    return list(enumerate(points, start=1)), findings


def _mended(text: str) -> Any:
    """The track of a file that was cut off, closed behind its last whole point; None where that is no GPX either."""
    import gpxpy
    from gpxpy.gpx import GPXException

    end = text.rfind("</trkpt>")
    if end < 0 or "</gpx>" in text[end:]:
        return None
    try:
        return gpxpy.parse(text[: end + len("</trkpt>")] + "</trkseg></trk></gpx>")
    except (GPXException, ValueError, OverflowError, TypeError, AttributeError, LookupError):
        return None


def _told(point: Any) -> Iterator[tuple[str, float]]:
    """What a point tells, kind by kind."""
    plain = {
        "latitude": point.latitude, "longitude": point.longitude, "altitude": point.elevation, "speed": point.speed,
        "course": None if point.course is None else np.radians(point.course),
        "hdop": point.horizontal_dilution, "satellites": point.satellites,
        "fix_quality": _FIX.get(str(point.type_of_gpx_fix or "").lower()),
    }  # fmt: skip
    for element in point.extensions:
        for child in element.iter():
            name = str(child.tag).rpartition("}")[2].lower()
            kind, factor = _EXTRA.get(name, ("", 1.0))
            if kind and plain.get(kind) is None:
                plain[kind] = _float(child.text, factor)
    yield from ((kind, float(value)) for kind, value in plain.items() if value is not None and np.isfinite(value))


def _float(text: str | None, factor: float) -> float | None:
    try:
        return float(text or "") * factor
    except ValueError:
        return None
