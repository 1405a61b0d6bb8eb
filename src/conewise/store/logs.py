"""Recordings in the book: the file as it came, and its channels as a Parquet table."""

from __future__ import annotations

import io
import json
from dataclasses import asdict
from datetime import datetime
from typing import TYPE_CHECKING, Any

import numpy as np

from conewise.findings import Finding
from conewise.logs.log import Arms, Channel, Log
from conewise.records import Id, Record
from conewise.store.errors import ExportedFileError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from conewise.store.book import Book

FORMAT = "conewise log 1"


class StoredLog(Record):
    """A recording.

    name: of the file as it came.
    original: address of that file, unchanged.
    channels: address of the channels, a Parquet table.
    start: date and time (UTC) of its time zero, where the file tells it.
    duration: first sample to last. [s]
    event, person, car: whose it is; empty where nobody said.
    """

    id: Id
    name: str
    original: str = ""
    channels: str = ""
    start: datetime | None = None
    duration: float = 0.0
    event: str = ""
    person: str = ""
    car: str = ""
    note: str = ""


def parquet_of(log: Log) -> bytes:
    """A log as one Parquet table: channel, time, value; what belongs to the whole stands in its metadata.

    One row a sample, channels one after the other. The same log gives the same bytes.
    """
    import polars as pl

    empty = pl.DataFrame(schema={"channel": pl.String, "time_s": pl.Float64, "value": pl.Float64})
    parts = [
        pl.DataFrame({"channel": one.kind, "time_s": one.time, "value": one.value}, schema=empty.schema)
        for one in log.channels.values()
        if one.time.size
    ]
    frame = pl.concat([empty, *parts], rechunk=True)
    about: dict[str, Any] = {
        "format": FORMAT,
        "file": log.file,
        "start": log.start.isoformat() if log.start else None,
        "channels": [{"kind": channel.kind, "source": channel.source} for channel in log.channels.values()],
        "findings": [[f.severity, f.code, f.message, f.where] for f in log.findings],
        "marks": [list(mark) for mark in log.marks],
    }
    if log.arms != Arms():
        about["arms"] = asdict(log.arms)
    file = io.BytesIO()
    frame.write_parquet(file, compression="zstd", metadata={"conewise": json.dumps(about, ensure_ascii=False)})
    return file.getvalue()


def log_of(content: bytes, *, where: str) -> Log:
    """The log of a Parquet table that `parquet_of` made.

    Raises
    ------
    ExportedFileError
        If it is another table, or none.
    """
    import polars as pl

    try:
        about = json.loads(pl.read_parquet_metadata(io.BytesIO(content))["conewise"])
        frame = pl.read_parquet(io.BytesIO(content))
        return _assembled(about, frame.partition_by("channel", as_dict=True, include_key=False))
    except (pl.exceptions.PolarsError, KeyError, ValueError, TypeError) as reason:
        raise ExportedFileError(f"This is no recording that the book wrote ({reason}).", where=where) from None


def _assembled(about: Mapping[str, Any], samples: Mapping[Any, Any]) -> Log:
    def column(kind: str, name: str) -> Any:
        part = samples.get((kind,))
        return np.zeros(0) if part is None else np.ascontiguousarray(part[name].to_numpy())

    return Log(
        file=about["file"],
        channels={
            row["kind"]: Channel(
                row["kind"], column(row["kind"], "time_s"), column(row["kind"], "value"), row["source"]
            )
            for row in about["channels"]
        },
        start=None if about["start"] is None else datetime.fromisoformat(about["start"]),
        findings=tuple(Finding(*row) for row in about["findings"]),
        marks=tuple((start, end) for start, end in about["marks"]),
        arms=Arms(**{name: tuple(arm) for name, arm in about.get("arms", {}).items() if arm is not None}),
    )


def keep_log(book: Book, record: StoredLog, *, log: Log, original: bytes, by: str = "", reason: str = "") -> str:
    """Keep a recording: its file unchanged, its channels as Parquet, and what is known of it.

    "added", or where the book has one under its id: "changed", which is a new version of it, or "same".

    Parameters
    ----------
    book : Book
    record : StoredLog
        Addresses, start and duration are filled in from the other two.
    log : Log
        What the file recorded.
    original : bytes
        The file as it came.
    by, reason : str, optional
        For the history.

    Raises
    ------
    BrokenLinkError
        If it names an event, a person or a car that is not in the book.
    """
    parquet = parquet_of(log)
    channels = book.files.keep(parquet)
    address = book.files.keep(original)
    with book.writing(by=by) as writer:
        writer.note_file(address, record.name, len(original))
        writer.note_file(channels, f"{record.id}.parquet", len(parquet))
        whole = record.changed(original=address, channels=channels, start=log.start, duration=log.duration)
        return writer.keep(whole, reason=reason)


def kept_log(book: Book, record_id: str) -> Log:
    """The channels of a recording that is kept.

    Raises
    ------
    NoSuchRecordError
        If there is no such recording.
    FileNotKeptError, DamagedBookError
        If its file is missing or changed.
    """
    record = book.one(StoredLog, record_id).record
    return log_of(book.files.content(record.channels), where=f"log {record_id}")
