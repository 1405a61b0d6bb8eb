"""Delimited text: any delimiter and decimal sign, lines above the table, header or none, units in it or below it."""

from __future__ import annotations

import re
import warnings
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import numpy as np

from conewise.errors import ByFace, InputError
from conewise.findings import Finding
from conewise.logs.columns import Column, Table
from conewise.logs.dialect import SAMPLE, dialect_of, is_number
from conewise.logs.written_values import written_values

if TYPE_CHECKING:
    from conewise.logs.dialect import Dialect

_MOMENT = re.compile(r"(\d{4})-(\d{2})-(\d{2})[T ](\d{2}):(\d{2}):(\d{2})(\.\d+)?\s*(Z|\+00:00|UTC)?")
_SIDES = ({"N", "S"}, {"E", "W"})


class NotATableError(InputError):
    """Text in which no table of numbers can be found."""

    code = "no-table"
    default_hint = ByFace(
        "A log is a table with one row a sample: columns of numbers, a header above them. Under Help, 'Recorded logs' "
        "shows examples.",
        typed="A log is a table with one row a sample: columns of numbers, a header above them. "
        "See docs/formats-logs.md.",
    )

    def __init__(self, file: str) -> None:
        super().__init__("No table of numbers is found in this text.", where=file)


def read_text_table(content: bytes, *, file: str) -> Table:
    """Every column of a delimited text.

    Parameters
    ----------
    content : bytes
        The whole file: UTF-8, UTF-16 with its mark, or else Windows-1252.
    file : str
        Its name, for messages.

    Raises
    ------
    NotATableError
        If no table of numbers is in it.
    """
    content = _in_utf8(content)
    lines = _first_lines(content)
    dialect = dialect_of(lines)
    if dialect is None:
        raise NotATableError(file)
    body = content[_offset_of_line(content, dialect.first) :]
    body, findings = _whole_rows(body, dialect)
    columns, found = _columns(body, dialect, file)
    findings += found
    if any(column.form == "datetime" and not zoned for column, zoned in columns):
        findings.append(Finding("note", "no-time-zone", "Date and time have no zone and are taken as UTC.", file))
    return Table(
        file=file,
        columns=tuple(column for column, _ in columns),
        first_line=dialect.first + 1,
        start=_started("\n".join(lines[: dialect.first])),
        findings=tuple(findings),
    )


def _in_utf8(content: bytes) -> bytes:
    """The same text in UTF-8 with plain line ends, without a byte-order mark."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        content = content.decode("utf-16", errors="replace").encode()
    content = content.removeprefix(b"\xef\xbb\xbf")
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        content = content.decode("cp1252", errors="replace").encode()
    if b"\r" in content:
        content = content.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    return content


def _first_lines(content: bytes) -> list[str]:
    head = content[: 200 * SAMPLE * 20]
    lines = head.decode("utf-8", errors="replace").split("\n")
    return [line[:100_000] for line in lines[:SAMPLE]]


def _offset_of_line(content: bytes, line: int) -> int:
    """Where a line starts."""
    offset = 0
    for _ in range(line):
        offset = content.index(b"\n", offset) + 1
    return offset


def _whole_rows(body: bytes, dialect: Dialect) -> tuple[bytes, list[Finding]]:
    """The rows without a last one that was cut off, and what is wrong with their number of fields."""
    if dialect.delimiter == " ":
        return b"\n".join(b" ".join(line.split()) for line in body.split(b"\n")), []
    findings = []
    sign = dialect.delimiter.encode()
    cut = body.rfind(b"\n") + 1
    last = body[cut:]
    n_signs = len(dialect.names) - 1
    if last.strip() and last.count(sign) < n_signs and cut:
        findings.append(
            Finding("warning", "truncated", "The last row is cut off and left out.", _line(body, dialect, cut))
        )
        body = body[:cut]
    if b'"' not in body:
        findings += _ragged(body, dialect, n_signs)
    return body, findings


def _line(body: bytes, dialect: Dialect, offset: int) -> str:
    rows = body.count(b"\n", 0, offset)
    return f"line {dialect.first + 1 + rows}"


def _ragged(body: bytes, dialect: Dialect, n_signs: int) -> list[Finding]:
    """Rows with another number of fields than the header."""
    signs = np.frombuffer(body, dtype=np.uint8)
    ends = np.append(np.flatnonzero(signs == ord("\n")), len(body))
    count = np.diff(np.searchsorted(np.flatnonzero(signs == ord(dialect.delimiter)), ends), prepend=0)
    length = np.diff(ends, prepend=-1) - 1
    odd = np.flatnonzero(
        (length > 0) & (np.abs(count - n_signs) > (1 if count.size and (count == n_signs + 1).mean() > 0.5 else 0))
    )
    if odd.size == 0:
        return []
    message = (
        f"Rows with another number of fields than the {n_signs + 1} of the table: {odd.size}; "
        "missing fields are empty, those beyond are left out."
    )
    return [Finding("warning", "ragged-rows", message, f"line {dialect.first + 1 + int(odd[0])}")]


def _columns(body: bytes, dialect: Dialect, file: str) -> tuple[list[tuple[Column, bool]], list[Finding]]:
    """Columns with whether their times have a zone; plain numbers are read as such, the rest as text."""
    import polars as pl

    head = body[:200_000].decode("utf-8", "replace").split("\n")[:200]
    sample = [line.split(dialect.delimiter) for line in head]
    keys = [f"c{number}" for number in range(len(dialect.names))]
    schema: dict[str, Any] = {
        key: pl.Float64 if _are_plain(sample, index, dialect) else pl.String for index, key in enumerate(keys)
    }
    frame, is_quoted_wrong = _frame(body, schema, dialect, file)
    out: list[tuple[Column, bool]] = []
    for key, name, unit in zip(keys, dialect.names, dialect.units, strict=True):
        series = frame.drop_in_place(key)
        if series.dtype == pl.String:
            written = written_values(series)
            if written.form == "text" and out:
                out[-1] = (_signed(out[-1][0], series), out[-1][1])
            column = Column(name=name, unit=unit or written.unit, values=written.values, form=written.form)
            out.append((column, written.has_zone))
        else:
            values = np.array(series.to_numpy(), dtype=np.float64)
            values[~np.isfinite(values)] = np.nan
            out.append((Column(name=name, unit=unit, values=values), True))
    findings = []
    if is_quoted_wrong:
        text = "Quotation marks do not match in some rows; what can be told apart is used."
        findings.append(Finding("warning", "quotes", text, f"line {dialect.first + 1} and after"))
    return out, findings


def _frame(body: bytes, schema: dict[str, Any], dialect: Dialect, file: str) -> tuple[Any, bool]:
    """The rows as a frame, and whether their quotation marks do not match; then they are taken as plain signs."""
    import polars as pl

    for quote in ('"', None) if b'"' in body else (None,):
        with warnings.catch_warnings(record=True) as caught:
            warnings.simplefilter("always")
            try:
                frame = pl.read_csv(
                    body, has_header=False, schema=schema, separator=dialect.delimiter, quote_char=quote,
                    decimal_comma=dialect.decimal == ",", truncate_ragged_lines=True, ignore_errors=True,
                    low_memory=True, missing_columns="insert", extra_columns="ignore",
                )  # fmt: skip
            except pl.exceptions.ComputeError:
                frame = None
        if frame is not None:
            return frame, bool(caught) or (quote is None and b'"' in body)
    raise NotATableError(file)


def _are_plain(sample: list[list[str]], index: int, dialect: Dialect) -> bool:
    """Whether a column holds numbers without blanks or marks, as far as the sample goes."""
    full = [row[index].rstrip("\r") for row in sample if index < len(row) and row[index]]
    return bool(full) and sum(is_number(cell, dialect.decimal) for cell in full) > 0.9 * len(full)


def _signed(column: Column, letters: Any) -> Column:
    """Degrees with the sign that the letters of the column beside them give: south and west are negative."""
    sides = letters.str.strip_chars().str.to_uppercase().fill_null("").to_numpy()
    if column.form != "number" or not any(set(sides) <= {*pair, ""} for pair in _SIDES) or not any(sides):
        return column
    return replace(column, values=np.where(np.isin(sides, ("S", "W")), -column.values, column.values))


def _started(preamble: str) -> datetime | None:
    """The first date and time in the lines above the table."""
    found = _MOMENT.search(preamble)
    if found is None:
        return None
    try:
        moment = datetime.fromisoformat(f"{found[1]}-{found[2]}-{found[3]}T{found[4]}:{found[5]}:{found[6]}")
    except ValueError:
        return None
    return moment.replace(microsecond=round(1e6 * float(found[7] or 0.0)) % 1_000_000, tzinfo=UTC)
