"""A book as files that any program reads: TOML, CSV, GeoJSON, Parquet. `take_in` makes the same book of them again."""

from __future__ import annotations

import csv
import io
import re
import shutil
from dataclasses import dataclass, replace
from importlib.metadata import version
from typing import TYPE_CHECKING, Any

from sqlalchemy import select

from conewise.store import schema
from conewise.store.content import split_values
from conewise.store.errors import NoTargetFolderError, TargetThereError
from conewise.store.files import target_unwritten, write_safely
from conewise.store.kinds import KINDS, Kind
from conewise.store.logs import StoredLog
from conewise.store.tables import KeptFile, Revision
from conewise.store.texts import CourseText
from conewise.store.written import cell, flat, spared, toml_entry, toml_pairs

if TYPE_CHECKING:
    from pathlib import Path

    from conewise.store.book import Book
    from conewise.store.repository import Kept, Reader

FORMAT = "conewise export 1"
ABOUT = "book.toml"
HISTORY = "history.csv"
FILES = "files.csv"
HISTORY_COLUMNS = ("kind", "record", "version", "at", "by", "reason", "content")
FILE_COLUMNS = ("address", "name", "n_bytes", "added_at", "path")

_README = (
    "Everything in the book, in open formats. `conewise book import` of this folder makes the same book again.\n"
    "docs/formats-book.md of conewise explains every file. history.csv has every version of every record.\n"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportSummary:
    """What was exported.

    counts: number of records by kind.
    has_private: whether private details are in it.
    """

    folder: Path
    counts: dict[str, int]
    n_files: int
    has_private: bool


def export(book: Book, folder: Path, *, with_private: bool = False) -> ExportSummary:
    """Write everything that a book has as files of open formats.

    Parameters
    ----------
    book : Book
    folder : Path
        Must not be there yet; it appears whole or not at all.
    with_private : bool, default False
        Whether medical and contact details go too.

    Raises
    ------
    TargetThereError
        If the folder is there.
    NoTargetFolderError
        If the folder it is to stand in is not.
    DiskFullError, UnwritableTargetError
        If it cannot be written.
    """
    if folder.exists():
        raise TargetThereError(folder, hint="Name a folder that is not there yet.")
    if not folder.parent.is_dir():
        raise NoTargetFolderError(folder)
    stage = folder.with_name(f".{folder.name}.being-written")
    try:
        shutil.rmtree(stage, ignore_errors=True)
        stage.mkdir(mode=0o700)
        with book.reading() as reader:
            summary = _Export(book, reader, stage, with_private=with_private).all()
        stage.rename(folder)
    except OSError as reason:
        raise target_unwritten(reason, folder) from reason
    finally:
        shutil.rmtree(stage, ignore_errors=True)
    return replace(summary, folder=folder)


class _Export:
    """One export under way; all of it from one state of the book."""

    def __init__(self, book: Book, reader: Reader, folder: Path, *, with_private: bool) -> None:
        self._book = book
        self._reader = reader
        self._folder = folder
        self._with_private = with_private

    def all(self) -> ExportSummary:
        """Write every file."""
        counts = {}
        for kind in KINDS:
            kept = self._reader.every(kind.record)
            counts[kind.name] = len(kept)
            self._write_kind(kind, kept)
        n_files = self._files()
        self._history()
        about = {
            "format": FORMAT,
            "schema": schema.CURRENT,
            "program": f"conewise {version('conewise')}",
            "exported_at": self._book.now(),
            "private_details": self._with_private,
        }
        self._write(ABOUT, toml_pairs(about))
        self._write("README.txt", _README)
        return ExportSummary(folder=self._folder, counts=counts, n_files=n_files, has_private=self._with_private)

    def _write(self, name: str, content: str | bytes) -> None:
        path = self._folder / name
        path.parent.mkdir(exist_ok=True, mode=0o700)
        write_safely(path, content.encode() if isinstance(content, str) else content)

    def _write_kind(self, kind: Kind[Any], kept: tuple[Kept[Any], ...]) -> None:
        if not kept:
            return
        if "*" in kind.file:
            for one in kept:
                self._write(kind.file.replace("*", one.id), one.record.text)
                if isinstance(one.record, CourseText):
                    self._map(one.record)
            return
        rows = [spared(kind.record, self._values(one.record)) for one in kept]
        if kind.file.endswith(".toml"):
            self._write(kind.file, "\n".join(toml_entry(kind.name, row) for row in rows))
            return
        flattened = [flat(kind.record, row) for row in rows]
        self._write(kind.file, table_text(tuple(flattened[0]), [[cell(v) for v in row.values()] for row in flattened]))

    def _values(self, record: Any) -> dict[str, Any]:
        """Values of a record, without private details unless they are asked for."""
        if self._with_private:
            return dict(record.model_dump())
        public, _ = split_values(record, as_json=False)
        return public

    def _map(self, record: CourseText) -> None:
        """The course for map programs, where it has its place on the earth."""
        from conewise.course.geojson import geojson_text
        from conewise.course.toml_file import read_toml

        course = read_toml(record.text, file=record.id)
        if course.site.anchor is not None:
            self._write(f"courses/{record.id}.geojson", geojson_text(course))

    def _files(self) -> int:
        """Originals, channels and photos, each under a name that a person can read."""
        channels = {log.record.channels: f"logs/{log.id}.parquet" for log in self._reader.every(StoredLog)}
        rows = []
        for file in self._reader.session.scalars(select(KeptFile).order_by(KeptFile.added_at, KeptFile.address)):
            path = channels.get(file.address) or f"files/{file.address[:16]}-{_plain(file.name)}"
            self._write(path, self._book.files.content(file.address))
            rows.append([file.address, _said(file.name), cell(file.n_bytes), cell(file.added_at), path])
        self._write(FILES, table_text(FILE_COLUMNS, rows))
        return len(rows)

    def _history(self) -> None:
        revisions = self._reader.session.scalars(select(Revision).order_by(Revision.number))
        rows = []
        for one in revisions:
            said = [_said(text) for text in (one.by, one.reason)]
            rows.append([one.kind, one.record, cell(one.version), cell(one.at), *said, one.content or ""])
        self._write(HISTORY, table_text(HISTORY_COLUMNS, rows))


def _said(text: str) -> str:
    """A text that is empty where nobody said anything."""
    return cell(text or None)


def _plain(name: str) -> str:
    """A file's name without what some system does not allow in names."""
    return re.sub(r"[^\w.-]+", "-", name, flags=re.ASCII)[-60:].strip("-.") or "file"


def table_text(columns: tuple[str, ...], rows: list[list[str]]) -> str:
    """A table as CSV (RFC 4180, with plain line ends)."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(rows)
    return text.getvalue()
