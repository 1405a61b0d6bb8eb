"""NMEA 0183: the sentences that tell place, speed, course and their quality, gathered into epochs."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from functools import reduce
from typing import TYPE_CHECKING, Any

import numpy as np

from conewise.errors import InputError
from conewise.findings import Finding
from conewise.logs.assembly import channel
from conewise.logs.clock import in_order, moment
from conewise.logs.log import Log

if TYPE_CHECKING:
    from collections.abc import Iterator

_SENTENCE = re.compile(rb"\$(?:[A-Z]{2}(RMC|GGA|GNS|GLL|VTG|GSA|GST|ZDA)),[^\r\n$]*")
_ANY = re.compile(rb"\$[A-Z]{2}(?:RMC|GGA|GNS|GLL|VTG|GSA|GSV|GST|ZDA),")
_KNOT = 1852.0 / 3600.0
_DEG = np.pi / 180.0
_DAY = 86400.0
_TALKER = {"GN": 2, "GP": 1}  # all systems together before one of them
_SPEAKER = {"GGA": 3, "RMC": 2, "GNS": 1, "VTG": 1}  # which sentence counts where two of a talker tell the same


class NoEpochError(InputError):
    """NMEA sentences of which none tells a place or a speed at a time."""

    code = "nmea"
    default_hint = "Let the receiver send RMC and GGA, with a fix, and save what it sends unchanged."

    def __init__(self, problem: str, *, where: str) -> None:
        super().__init__(problem, where=where)


def is_nmea(head: bytes) -> bool:
    """Whether the start of a file holds sentences of NMEA 0183."""
    return _ANY.search(head) is not None


@dataclass(slots=True)
class _Epoch:
    """Everything told for one time.

    midnight, clock: before it, from 1970 once a date was told, and since then [s]
    told: kind -> rank, values of its kinds, source
    said: sentence -> talker
    """

    line: int
    midnight: float
    clock: float
    told: dict[str, tuple[tuple[int, int], tuple[float, ...], str]] = field(default_factory=dict)
    said: dict[str, str] = field(default_factory=dict)


@dataclass(slots=True)
class _Gathering:
    """What has been read so far."""

    epochs: list[_Epoch] = field(default_factory=list)
    day: float = 0.0  # midnight before the current epoch, from 1970 once a date was told [s]
    is_dated: bool = False
    zda: tuple[float, float] | None = None  # midnight told by ZDA, and the day counted at that sentence
    broken: list[int] = field(default_factory=list)
    doubled: list[int] = field(default_factory=list)
    no_fix: list[int] = field(default_factory=list)
    unchecked: bool = False


# kind that is told -> kinds of the log
_KINDS = {
    "place": ("latitude", "longitude"), "altitude": ("altitude",), "speed": ("speed",), "course": ("course",),
    "hdop": ("hdop",), "satellites": ("satellites",), "fix_quality": ("fix_quality",),
    "horizontal_accuracy": ("horizontal_accuracy",),
}  # fmt: skip


def read_nmea(content: bytes, *, file: str) -> Log:
    """The log of a recording of NMEA 0183 sentences.

    Parameters
    ----------
    content : bytes
        The whole file; lines that are no sentences are passed over.
    file : str
        Its name, for messages.

    Raises
    ------
    NoEpochError
        If no sentence tells anything at a time.

    Notes
    -----
    A sentence whose checksum is wrong is left out; where no sentence of the file has one they are taken as they are.
    Sentences without a time belong to the last one that had it. Of two talkers that tell the same for one time, the
    combined one counts (GN), then GPS (GP), then the first.
    """
    gathered = _gathered(content)
    _date_by_zda(gathered)
    epochs = [epoch for epoch in gathered.epochs if epoch.told]
    if len(epochs) < 2:
        problem = "No sentence tells a place or a speed at a time"
        raise NoEpochError(f"{problem}{': there is no fix' if gathered.no_fix else ''}.", where=file)
    first = epochs[0]
    seconds = np.array([epoch.midnight - first.midnight + (epoch.clock - first.clock) for epoch in epochs])
    ordered = in_order(seconds, lambda row: f"line {epochs[row].line}")
    kept = [epochs[row] for row in ordered.keep]
    zero = float(ordered.time[0])
    channels = {}
    for told, kinds in _KINDS.items():
        rows = [row for row, epoch in enumerate(kept) if told in epoch.told]
        if not rows:
            continue
        sources = sorted({kept[row].told[told][2] for row in rows})
        values = np.array([kept[row].told[told][1] for row in rows])
        for index, kind in enumerate(kinds):
            channels[kind] = channel(kind, ordered.time[rows] - zero, values[:, index], source=", ".join(sources))
    start = moment(first.midnight + first.clock, zero) if gathered.is_dated else None
    findings = (*_findings(gathered), *ordered.findings)
    return Log(file=file, channels=channels, start=start, findings=findings)


def _gathered(content: bytes) -> _Gathering:
    """All epochs of a file."""
    from pynmeagps import NMEAReader
    from pynmeagps.exceptions import NMEAMessageError, NMEAParseError, NMEAStreamError, NMEATypeError

    gathered = _Gathering(unchecked=_unchecked(content))
    for number, line in enumerate(content.split(b"\n"), start=1):
        found = _SENTENCE.search(line)
        if found is None:
            if line.strip()[:1] in {b"$", b"!"} and b"*" not in line and not gathered.unchecked:
                gathered.broken.append(number)
            continue
        text = found[0].strip().decode("ascii", errors="replace")
        if gathered.unchecked:
            text = f"{text}*{reduce(lambda a, b: a ^ b, text[1:].encode()):02X}"
        try:
            message = NMEAReader.parse(text)
        except (NMEAMessageError, NMEAParseError, NMEAStreamError, NMEATypeError, ValueError, IndexError, KeyError):
            message = None
        if message is None:
            gathered.broken.append(number)
        else:
            _take(gathered, message, number)
    return gathered


def _unchecked(content: bytes) -> bool:
    """Whether no sentence of a file carries a checksum."""
    return not any(b"*" in found[0] for found in _SENTENCE.finditer(content))


def _take(gathered: _Gathering, message: Any, line: int) -> None:
    """Put one sentence into its epoch."""
    talker, sentence = str(message.talker), str(message.msgID)[-3:]
    clock = getattr(message, "time", None)
    if isinstance(clock, time):
        _turn_to(gathered, message, line, clock)
    if sentence == "ZDA":
        _keep_zda(gathered, message)
        return
    if _is_void(message, sentence):
        gathered.no_fix.append(line)
    if not gathered.epochs or (sentence in {"RMC", "GGA", "GNS", "GLL", "GST"} and not isinstance(clock, time)):
        return
    epoch = gathered.epochs[-1]
    if sentence != "GSA" and epoch.said.setdefault(sentence, talker) != talker:
        gathered.doubled.append(line)
    rank = (_TALKER.get(talker, 0), _SPEAKER.get(sentence, 0))
    for kind, values in _told(message, sentence):
        if kind not in epoch.told or rank > epoch.told[kind][0]:
            epoch.told[kind] = (rank, values, sentence)


def _turn_to(gathered: _Gathering, message: Any, line: int, clock: time) -> None:
    """The epoch of a time of day: the last one, or a new one; past midnight it is another day."""
    seconds = clock.hour * 3600.0 + clock.minute * 60.0 + clock.second + clock.microsecond * 1e-6
    told = getattr(message, "date", None)
    if isinstance(told, date) and getattr(message, "status", "A") == "A" and told.year >= 1990:
        midnight = datetime(told.year, told.month, told.day, tzinfo=UTC).timestamp()
        if not gathered.is_dated:
            for epoch in gathered.epochs:
                epoch.midnight += midnight - gathered.day
        elif gathered.epochs and gathered.epochs[-1].clock == seconds:
            gathered.epochs[-1].midnight = midnight
        gathered.day, gathered.is_dated = midnight, True
    elif gathered.epochs and seconds < gathered.epochs[-1].clock - 0.5 * _DAY:
        gathered.day += _DAY
    last = gathered.epochs[-1] if gathered.epochs else None
    if last is None or (last.midnight, last.clock) != (gathered.day, seconds):
        gathered.epochs.append(_Epoch(line, gathered.day, seconds))


def _keep_zda(gathered: _Gathering, message: Any) -> None:
    """The date of ZDA, for recordings without RMC."""
    try:
        told = datetime(int(message.year), int(message.month), int(message.day), tzinfo=UTC)
    except (TypeError, ValueError):
        return
    if gathered.zda is None and told.year >= 1990:
        gathered.zda = (told.timestamp(), gathered.day)


def _date_by_zda(gathered: _Gathering) -> None:
    """Date the epochs by ZDA where no RMC did."""
    if not gathered.is_dated and gathered.zda is not None:
        for epoch in gathered.epochs:
            epoch.midnight += gathered.zda[0] - gathered.zda[1]
        gathered.is_dated = True


def _is_void(message: Any, sentence: str) -> bool:
    """Whether a sentence says that there is no fix."""
    if sentence in {"RMC", "GLL"}:
        return getattr(message, "status", "") == "V"
    return sentence == "GGA" and getattr(message, "quality", 0) == 0


def _told(message: Any, sentence: str) -> Iterator[tuple[str, tuple[float, ...]]]:
    """What one sentence tells; empty fields and places without a fix tell nothing."""
    if sentence == "GGA" and isinstance(message.quality, int):
        yield "fix_quality", (float(message.quality),)
    if _is_void(message, sentence):
        return
    place = (_number(message, "lat"), _number(message, "lon"))
    if sentence in {"GGA", "RMC", "GNS", "GLL"} and None not in place:
        yield "place", (float(place[0] or 0.0), float(place[1] or 0.0))
    fields = {
        "RMC": (("speed", "spd", _KNOT), ("course", "cog", _DEG)),
        "VTG": (("speed", "sogn", _KNOT), ("course", "cogt", _DEG)),
        "GGA": (("altitude", "alt", 1.0), ("hdop", "HDOP", 1.0), ("satellites", "numSV", 1.0)),
        "GNS": (("altitude", "alt", 1.0), ("hdop", "HDOP", 1.0), ("satellites", "numSV", 1.0)),
        "GSA": (("hdop", "HDOP", 1.0),),
    }
    for kind, name, size in fields.get(sentence, ()):
        value = _number(message, name)
        if value is not None:
            yield kind, (value * size,)
    if sentence == "GST":
        north, east = _number(message, "stdLat"), _number(message, "stdLong")
        if north is not None and east is not None:
            yield "horizontal_accuracy", (float(np.sqrt(0.5 * (north**2 + east**2))),)


def _number(message: Any, name: str) -> float | None:
    """A field that is a finite number."""
    value = getattr(message, name, None)
    if isinstance(value, bool) or not isinstance(value, int | float) or not np.isfinite(value):
        return None
    return float(value)


def _findings(gathered: _Gathering) -> Iterator[Finding]:
    """What was wrong with the sentences."""
    if gathered.broken:
        text = f"Sentences that are broken or fail their checksum: {len(gathered.broken)}; left out."
        yield Finding("warning", "sentence-broken", text, f"line {gathered.broken[0]}")
    if gathered.unchecked:
        yield Finding("note", "no-checksum", "No sentence has a checksum; they are taken as they are.", "line 1")
    if gathered.doubled:
        text = f"Sentences in which a second talker tells the same epoch: {len(gathered.doubled)}; one of them is used."
        yield Finding("note", "epoch-doubled", text, f"line {gathered.doubled[0]}")
    if gathered.no_fix:
        text = f"Sentences that say that there is no fix: {len(gathered.no_fix)}."
        yield Finding("note", "no-fix", text, f"line {gathered.no_fix[0]}")
    if not gathered.is_dated:
        yield Finding("note", "no-date", "No sentence tells the date.", "")
