"""Reading an export: records, history and files, each refused with file and row before anything is taken in."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import tomllib
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from conewise.refusals import refusal
from conewise.store import schema
from conewise.store.content import Content, record_of
from conewise.store.errors import DamagedBookError, ExportedFileError, NewerBookError
from conewise.store.export import ABOUT, FILE_COLUMNS, FILES, FORMAT, HISTORY, HISTORY_COLUMNS
from conewise.store.kinds import BY_NAME, KINDS, Kind
from conewise.store.written import cell_value, nested

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from conewise.records import Record

Place = tuple[str, str]  # kind and id

csv.field_size_limit(2**31 - 1)  # a cell of the history holds a whole file of a course or a car


@dataclass(frozen=True, slots=True)
class PastVersion:
    """One row of the history."""

    version: int
    at: datetime
    by: str
    reason: str
    content: str | None


@dataclass(frozen=True, slots=True)
class ExportedFile:
    """One file, by its address."""

    name: str
    content: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Exported:
    """Everything that an export has.

    records: what is so now, by kind and id; a link to what comes later is allowed.
    history: versions of every record that ever was, oldest first, in the order of the file.
    """

    records: dict[Place, Record] = field(default_factory=dict)
    history: dict[Place, list[PastVersion]] = field(default_factory=dict)
    files: dict[str, ExportedFile] = field(default_factory=dict)


def read_export(folder: Path) -> Exported:
    """The content of an exported folder.

    Raises
    ------
    ExportedFileError
        If it is no export, or a file of it cannot be read; file and row are named.
    NewerBookError
        If a later version of the program wrote it.
    """
    _refuse_others(folder)
    exported = Exported(history=_history(folder), files=_files(folder))
    for kind in KINDS:
        for record, where in _records(kind, folder):
            place = (kind.name, str(getattr(record, "id", "")))
            if place in exported.records:
                raise ExportedFileError(f"There are two of {kind.name} '{place[1]}'.", where=where)
            exported.records[place] = record
    return exported


def _refuse_others(folder: Path) -> None:
    about = _toml(folder / ABOUT, hint_missing=f"There is no '{ABOUT}': this is no exported book.")
    number = about.get("schema")
    if isinstance(number, int) and number > schema.CURRENT:
        raise NewerBookError(found=number, known=schema.CURRENT, where=str(folder))
    if about.get("format") != FORMAT or not isinstance(number, int):
        problem = f"Its format is {about.get('format')!r}, schema {number!r}; '{FORMAT}' is read."
        raise ExportedFileError(problem, where=str(folder / ABOUT))


def _records(kind: Kind[Any], folder: Path) -> Iterator[tuple[Record, str]]:
    """Records of one kind with their places."""
    if "*" in kind.file:
        for path in sorted(folder.glob(kind.file)):
            yield _record(kind, {"id": path.stem, "text": _text(path, is_exact=True)}, str(path)), str(path)
        return
    path = folder / kind.file
    if not path.exists():
        return
    if path.suffix == ".toml":
        yield from read_entries(path, kind)
        return
    for where, row in _table(path):
        yield _record(kind, nested(row), where), where


def read_entries(path: Path, *kinds: Kind[Any]) -> list[tuple[Record, str]]:
    """Records of a TOML file with their places.

    Parameters
    ----------
    path : Path
    *kinds : Kind
        Kinds of records that may be in it, each under its own heading; any where none is named.

    Raises
    ------
    ExportedFileError
        If the file, or a record in it, cannot be read; an entry that nothing asks for is refused too.
    """
    known = {kind.name: kind for kind in kinds or KINDS}
    found = []
    for name, entries in _toml(path).items():
        if name not in known or not isinstance(entries, list) or not all(isinstance(entry, dict) for entry in entries):
            wanted = ", ".join(f"[[{kind}]]" for kind in known)
            raise ExportedFileError(f"There is '{name}' in it; only {wanted} may be there.", where=str(path))
        for number, entry in enumerate(entries, start=1):
            where = f"{path}, {name} {number}"
            found.append((_record(known[name], entry, where), where))
    return found


def _record(kind: Kind[Any], values: dict[str, Any], where: str) -> Record:
    try:
        record: Record = kind.record.model_validate(values)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        place = ".".join(map(str, first["loc"]))
        raise ExportedFileError(
            refusal(place or "the whole", first), where=f"{where}, {place}" if place else where
        ) from None
    return record


def _history(folder: Path) -> dict[Place, list[PastVersion]]:
    path = folder / HISTORY
    found: dict[Place, list[PastVersion]] = {}
    if not path.exists():
        return found
    for where, row in _table(path, raw="content", columns=HISTORY_COLUMNS):
        try:
            kind, name = BY_NAME[row["kind"]], str(row["record"])
            past = PastVersion(
                int(row["version"]),
                datetime.fromisoformat(row["at"]),
                row["by"] or "",
                row["reason"] or "",
                row["content"],
            )
            if past.content is not None:
                record_of(kind.record, Content(past.content), where=where)
        except (KeyError, TypeError, ValueError, DamagedBookError) as reason:
            raise ExportedFileError(f"This row cannot be read: {reason}.", where=where) from None
        versions = found.setdefault((kind.name, name), [])
        if past.at.tzinfo is None or past.version != len(versions) + 1:
            raise ExportedFileError("Versions count from 1, and their moments have a time zone.", where=where)
        versions.append(past)
    return found


def _files(folder: Path) -> dict[str, ExportedFile]:
    path = folder / FILES
    found: dict[str, ExportedFile] = {}
    if not path.exists():
        return found
    for where, row in _table(path, columns=FILE_COLUMNS):
        source = (folder / str(row["path"])).resolve()
        if not source.is_relative_to(folder.resolve()) or not source.is_file():
            raise ExportedFileError(f"There is no file '{row['path']}' in the export.", where=where)
        content = source.read_bytes()
        if hashlib.sha256(content).hexdigest() != row["address"]:
            raise ExportedFileError(f"'{row['path']}' is not what was exported.", where=where)
        found[str(row["address"])] = ExportedFile(row["name"] or "", content)
    return found


def _table(path: Path, *, raw: str = "", columns: tuple[str, ...] = ()) -> Iterator[tuple[str, dict[str, Any]]]:
    """Rows of a CSV file with their places; the column `raw` as it stands there."""
    reader = csv.reader(io.StringIO(_text(path, is_exact=True), newline=""), strict=True)
    try:
        names = next(reader, [])
        if missing := sorted(set(columns) - set(names)):
            raise ExportedFileError(f"The column '{missing[0]}' is missing.", where=f"{path}, line 1")
        for cells in reader:
            where = f"{path}, line {reader.line_num}"
            if not cells:
                continue
            if len(cells) != len(names):
                raise ExportedFileError(f"There are {len(cells)} cells; {len(names)} are wanted.", where=where)
            yield (
                where,
                {
                    name: (text or None) if name == raw else _cell(text, where)
                    for name, text in zip(names, cells, strict=True)
                },
            )
    except csv.Error as reason:
        raise ExportedFileError(f"This is not a table: {reason}.", where=f"{path}, line {reader.line_num}") from None


def _cell(text: str, where: str) -> Any:
    try:
        return cell_value(text)
    except json.JSONDecodeError:
        raise ExportedFileError(f"The cell {text[:40]} begins like JSON and is none.", where=where) from None


def _toml(path: Path, *, hint_missing: str = "") -> dict[str, Any]:
    if hint_missing and not path.exists():
        raise ExportedFileError(hint_missing, where=str(path.parent))
    try:
        return tomllib.loads(_text(path))
    except tomllib.TOMLDecodeError as reason:
        raise ExportedFileError(f"This is not TOML: {reason}.", where=str(path)) from None


def _text(path: Path, *, is_exact: bool = False) -> str:
    """Text of a file; line ends as they are where that matters."""
    try:
        content = path.read_bytes().removeprefix(b"\xef\xbb\xbf").decode()
    except UnicodeDecodeError:
        raise ExportedFileError("This is not text in UTF-8.", where=str(path)) from None
    except OSError as reason:
        raise ExportedFileError(f"It cannot be read: {reason.strerror}.", where=str(path)) from None
    return content if is_exact else content.replace("\r\n", "\n")
