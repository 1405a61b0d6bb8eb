"""What did the logger record, and can it be used: check, show, convert; and reading a log for every other question."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import platformdirs

from conewise.errors import InputError, on_command_line, telling
from conewise.findings import has_stop, in_system
from conewise.logs.assembly import proposed
from conewise.logs.export import write_log
from conewise.logs.log import KINDS, Arms, Log
from conewise.logs.mapping import (
    LONGEST_ARM,
    Question,
    UnclearColumnsError,
    mapping_option,
    meaning,
    read_arms,
    read_mapping,
    remember,
    remembered,
    said_as,
)
from conewise.logs.places import metres
from conewise.logs.readers import read_log, table_of
from conewise.quantities import in_unit, shown_unit
from conewise.workflows.named import log_from

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import datetime

    from conewise.findings import Finding
    from conewise.logs.log import Channel
    from conewise.quantities import Dimension, System
    from conewise.workflows.named import LogSource

__all__ = [
    "Arms",
    "ChannelRow",
    "ColumnRow",
    "Log",
    "LogOptions",
    "LogSummary",
    "Question",
    "answers_folder",
    "columns_of",
    "convert_log",
    "log_summary",
    "open_log",
    "understood",
]

_NUMBER = re.compile(r"[-+]?\d+(?:[.,]\d+)?")
_BETWEEN = re.compile(r"\s*(?:m\s*)?[,;\s]?\s*(?:m\s*)?")  # what may stand beside two numbers
_SHOWN: dict[str, Dimension] = {"m": "length", "m/s": "speed", "m/s2": "acceleration"}


@dataclass(frozen=True, slots=True, kw_only=True)
class LogOptions:
    """What a person says about a file.

    mapping: a mapping file
    columns: `COLUMN=QUANTITY[:UNIT]`, each before what the file says
    dbc: description of a CAN bus
    arms: where antenna and sensor sit, before what the mapping file says
    """

    mapping: Path | None = None
    columns: tuple[str, ...] = ()
    dbc: Path | None = None
    arms: Arms | None = None


class ArmError(InputError):
    """A place of antenna or sensor that is not two lengths which fit into a car."""

    code = "arm"
    default_hint = "Write metres forward, then metres to the left of the car's centre of gravity: 0.6, -0.3."

    def __init__(self, told: str, *, where: str) -> None:
        super().__init__(f"'{told[:40]}' is not two numbers of at most {LONGEST_ARM:g} m.", where=where)


def arm_said(told: str, *, where: str) -> tuple[float, float] | None:
    """Where antenna or sensor sits, as somebody types it: forward and to the left; None where nothing is said. [m]

    Raises
    ------
    ArmError

    Examples
    --------
    >>> arm_said("0,6, -0,3", where="antenna"), arm_said(" ", where="antenna")
    ((0.6, -0.3), None)
    """
    if not told.strip():
        return None
    plain = told.replace("\u2212", "-")
    numbers = [float(one.replace(",", ".")) for one in _NUMBER.findall(plain)]
    if len(numbers) != 2 or _BETWEEN.fullmatch(_NUMBER.sub("", plain)) is None or max(map(abs, numbers)) > LONGEST_ARM:
        raise ArmError(told.strip(), where=where)
    return numbers[0], numbers[1]


def arms_said(antenna: str, sensor: str) -> Arms | None:
    """The same of both; None where nothing is said of either. Raises as `arm_said`."""
    arms = Arms(antenna=arm_said(antenna, where="antenna"), sensor=arm_said(sensor, where="sensor"))
    return None if arms == Arms() else arms


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelRow:
    """One channel at a glance; numbers in the unit named."""

    kind: str
    unit: str
    n_samples: int
    rate: float  # usual samples a second [1/s]
    low: float
    high: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LogSummary:
    """A recording at a glance."""

    file: str
    start: datetime | None  # UTC
    duration: float  # [s]
    distance: float | None  # along the recorded places; None where there are none [m]
    channels: tuple[ChannelRow, ...]
    n_marks: int
    findings: tuple[Finding, ...]

    @property
    def is_usable(self) -> bool:
        """Whether no finding says stop."""
        return not has_stop(list(self.findings))

    def as_dict(self) -> dict[str, object]:
        """For JSON: units are said beside the numbers."""
        return {
            "file": self.file,
            "ok": self.is_usable,
            "start": self.start.isoformat() if self.start else None,
            "duration_s": self.duration,
            "distance_m": self.distance,
            "marks": self.n_marks,
            "channels": [
                {
                    "quantity": row.kind, "unit": row.unit, "samples": row.n_samples, "rate_hz": row.rate,
                    "low": row.low, "high": row.high, "source": row.source,
                }
                for row in self.channels
            ],
            "findings": [
                {"severity": f.severity, "code": f.code, "message": f.message, "where": f.where} for f in self.findings
            ],
        }  # fmt: skip


def answers_folder() -> Path:
    """Where answers about columns are kept, one mapping file for every header."""
    return Path(platformdirs.user_data_dir("conewise", appauthor=False)) / "log-columns"


def open_log(
    path: LogSource, options: LogOptions | None = None, *, ask: Callable[[Question], str] | None = None
) -> Log:
    """The recording in a file, with every column known.

    Parameters
    ----------
    path : Path or BookLog
        The file, which is only read, or a recording of the book, whose columns were understood when it was kept.
    options : LogOptions, optional
        What is said about it. What is said by option is remembered for files with the same header.
    ask : callable, optional
        Question -> `quantity[:unit]`, or "" for no answer; called for every column that is not sure, and the answers
        are remembered. Without it, or without an answer, such a column is an error.

    Raises
    ------
    ConewiseError
        If the file cannot be read, or a column is unclear and nobody is there to say.
    """
    if not isinstance(path, Path):
        return log_from(path)
    options = options or LogOptions()
    said = dict(map(mapping_option, options.columns))
    mapping = {**(read_mapping(options.mapping) if options.mapping else {}), **said}
    folder = answers_folder()
    try:
        log = read_log(path, mapping=mapping, dbc=options.dbc, memory=folder)
    except UnclearColumnsError as error:
        if ask is None:
            raise
        for question in error.questions:
            said[question.column] = ask(question)
            if not said[question.column]:
                raise
        log = read_log(path, mapping={**mapping, **said}, dbc=options.dbc, memory=folder)
    if said:
        _remember(path, said, options.dbc)
    arms = options.arms or (read_arms(options.mapping) if options.mapping else None)
    return log if arms is None else replace(log, arms=arms)


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnRow:
    """What one column of a file is taken for, before anyone says otherwise."""

    column: str
    meaning: str  # `quantity:unit`
    probability: float  # of quantity and unit together
    is_sure: bool


def columns_of(path: Path, *, dbc: Path | None = None) -> tuple[ColumnRow, ...]:
    """What the columns of a file are taken for; empty for a format that says itself what it holds.

    Raises
    ------
    ConewiseError
        If the file cannot be read.
    """
    table = table_of(path, dbc=dbc)
    proposals = proposed(table).values() if table is not None else ()
    return tuple(
        ColumnRow(
            column=proposal.column,
            meaning=said_as(proposal.quantity, proposal.unit),
            probability=proposal.probability * proposal.unit_probability,
            is_sure=proposal.is_sure,
        )
        for proposal in proposals
    )


def understood(text: str, question: Question) -> tuple[str, str]:
    """An answer to a question as `quantity[:unit]`, or "" and what is wrong with it.

    Parameters
    ----------
    text : str
        What was typed: the number of a guess, `quantity[:unit]`, `ignore`, or nothing for the first guess.
    question : Question
        What was asked.
    """
    if not text or text.isdecimal():
        number = int(text[:3] or "1")
        if 1 <= number <= len(question.guesses):
            return question.guesses[number - 1], ""
        return "", f"There are {len(question.guesses)} guesses."
    try:
        meaning(text, where=question.column)
    except InputError as error:
        return "", f"{error.message} {on_command_line(error.hint)}"
    return text, ""


def _remember(path: Path, said: dict[str, str], dbc: Path | None) -> None:
    """Keep what was said, where the format has columns to speak about and it was not known yet."""
    table = table_of(path, dbc=dbc)
    folder = answers_folder()
    if table is not None and not said.items() <= remembered(folder, table).items():
        remember(folder, table, said)


def log_summary(log: Log, *, system: System | None = None) -> LogSummary:
    """A recording at a glance.

    Parameters
    ----------
    log : Log
        What was recorded.
    system : str, optional
        Units of the channels and findings: "metric" or "us"; where it is left out channels have those of `KINDS`, as
        JSON has them, and findings metric ones.
    """
    return LogSummary(
        file=log.file,
        start=log.start,
        duration=log.duration,
        distance=_distance(log),
        channels=tuple(_row(channel, system) for channel in log.channels.values()),
        n_marks=len(log.marks),
        findings=in_system(log.findings, system or "metric"),
    )


def _row(channel: Channel, system: System | None) -> ChannelRow:
    unit, size = _shown(channel.kind, system)
    steps = np.diff(channel.time)
    usual = float(np.median(steps)) if steps.size else 0.0
    return ChannelRow(
        kind=channel.kind,
        unit=unit,
        n_samples=channel.value.size,
        rate=1.0 / usual if usual > 0.0 else 0.0,
        low=float(channel.value.min()) * size,
        high=float(channel.value.max()) * size,
        source=channel.source,
    )


def _shown(kind: str, system: System | None) -> tuple[str, float]:
    """Unit in which a kind is shown, and its size per unit of the kind."""
    own = KINDS[kind].unit
    if system is None:
        return own, 1.0
    if own in _SHOWN:
        unit = shown_unit(_SHOWN[own], system)
        return unit, in_unit(1.0, _SHOWN[own], unit)
    if own == "rad":
        return "deg", in_unit(1.0, "angle", "deg")
    if own == "rad/s":
        unit = "rpm" if kind == "engine_speed" else "deg/s"
        return unit, in_unit(1.0, "angular-rate", unit)
    return ("" if own == "1" else own), 1.0


def _distance(log: Log) -> float | None:
    """Length of the way from place to place. [m]"""
    for pair in (("longitude", "latitude"), ("x", "y")):
        if set(pair) <= set(log.channels):
            one, two = (log.channels[kind] for kind in pair)
            _, first, second = np.intersect1d(one.time, two.time, return_indices=True)
            east, north = one.value[first], two.value[second]
            if pair[0] == "longitude":
                east, north = metres(east, north)
            return float(np.sum(np.hypot(np.diff(east), np.diff(north))))
    return None


def convert_log(log: Log, source: Path, target: Path, *, force: bool = False) -> Sequence[str]:
    """Write a log as .csv or .gpx; the kinds of channels that the format cannot hold.

    Raises
    ------
    LogExistsError
        If the target is there and `force` is not said, or it is the recording itself.
    LogTargetError, NoTrackError
        If it cannot be written there, or not in that format. They tell what was found in the log.
    """
    with telling(log.findings):
        return write_log(log, target, source=source, force=force)
