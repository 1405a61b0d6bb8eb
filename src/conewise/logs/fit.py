"""FIT: the record messages of an activity, and the pieces that its lap button marked."""

from __future__ import annotations

import io
import warnings
from typing import TYPE_CHECKING, Any

import numpy as np

from conewise.errors import InputError
from conewise.findings import Finding
from conewise.logs.assembly import channel
from conewise.logs.clock import in_order, moment
from conewise.logs.log import Log

if TYPE_CHECKING:
    from datetime import datetime

_SEMICIRCLE = 180.0 / 2**31  # degrees of one; the unit of places in FIT
# Fields of a record: kind and size of their unit, the better field of a kind first.
_FIELDS = {
    "position_lat": ("latitude", _SEMICIRCLE), "position_long": ("longitude", _SEMICIRCLE),
    "enhanced_altitude": ("altitude", 1.0), "altitude": ("altitude", 1.0),
    "enhanced_speed": ("speed", 1.0), "speed": ("speed", 1.0),
    "heading": ("course", np.pi / 180.0), "gps_accuracy": ("horizontal_accuracy", 1.0),
}  # fmt: skip


class NotAnActivityError(InputError):
    """FIT without records: broken, or of another kind than a recorded activity."""

    code = "fit"
    default_hint = "Copy the activity file itself from the device; courses and settings hold no recording."

    def __init__(self, problem: str, *, where: str) -> None:
        super().__init__(problem, where=where)


def read_fit(content: bytes, *, file: str) -> Log:
    """The log of the records of a FIT file; of a damaged file, those before the damage.

    Raises
    ------
    NotAnActivityError
        If it has fewer than two records with times.
    LogClockError
        If their times do not run forward.
    """
    records, pieces, findings = _messages(content, file)
    timed = [record for record in records if record.get("timestamp") is not None]
    if len(timed) < 2:
        raise NotAnActivityError("There are no records with times in this file.", where=file)
    first: datetime = timed[0]["timestamp"]
    seconds = np.array([_since(record, first) for record in timed])
    ordered = in_order(seconds, lambda row: f"record {row + 1}")
    zero = float(ordered.time[0])
    channels = {}
    for name, (kind, size) in _FIELDS.items():
        values = np.array([_number(record.get(name)) for record in timed])[ordered.keep] * size
        if kind not in channels and np.isfinite(values).any():
            channels[kind] = channel(kind, ordered.time - zero, values, source=name)
    return Log(
        file=file,
        channels=channels,
        start=moment(first.timestamp(), zero),
        findings=(*findings, *ordered.findings),
        marks=_marks(pieces, first, zero),
    )


def _messages(content: bytes, file: str) -> tuple[list[dict[str, Any]], list[dict[str, Any]], list[Finding]]:
    """Fields of the record and lap messages in the order of the file."""
    import fitdecode

    records: list[dict[str, Any]] = []
    pieces: list[dict[str, Any]] = []
    problem = ""
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        try:
            with fitdecode.FitReader(
                io.BytesIO(content), check_crc=fitdecode.CrcCheck.WARN, error_handling=fitdecode.ErrorHandling.WARN
            ) as reader:
                for frame in reader:
                    if frame.frame_type == fitdecode.FIT_FRAME_DATA and frame.name in {"record", "lap"}:
                        fields = {field.name: field.value for field in reversed(frame.fields)}
                        (records if frame.name == "record" else pieces).append(fields)
        except Exception as error:  # whatever a damaged file does to the decoder
            if not records:
                raise NotAnActivityError(f"This FIT file cannot be read: {_plain(error)}.", where=file) from error
            problem = _plain(error)
    findings = []
    if problem:
        text = f"The file breaks off ({problem}); {len(records)} records stand before that place."
        findings.append(Finding("warning", "truncated", text, f"record {len(records)}"))
    elif caught:
        text = f"The file is damaged ({_plain(caught[0].message)}); what could be decoded is used."
        findings.append(Finding("warning", "fit-damaged", text, file))
    return records, pieces, findings


def _plain(error: object) -> str:
    return " ".join(str(error).split())[:120].rstrip(".") or type(error).__name__


def _since(record: dict[str, Any], first: datetime) -> float:
    """Seconds since the first record; NaN where the time is none that can be compared."""
    from datetime import datetime

    stamp, part = record["timestamp"], _number(record.get("fractional_timestamp"))
    if not isinstance(stamp, datetime) or (stamp.tzinfo is None) != (first.tzinfo is None):
        return float("nan")
    return (stamp - first).total_seconds() + (part if np.isfinite(part) else 0.0)


def _number(value: Any) -> float:
    """A field as a number; NaN where it is none."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return float("nan")
    return float(value)


def _marks(pieces: list[dict[str, Any]], first: datetime, zero: float) -> tuple[tuple[float, float], ...]:
    """Start and end of every lap that tells both."""
    out = []
    for piece in pieces:
        start = _since({"timestamp": piece.get("start_time")}, first) - zero
        length = _number(piece.get("total_elapsed_time"))
        if np.isfinite(start) and np.isfinite(length) and length >= 0.0:
            out.append((start, start + length))
    return tuple(out)
