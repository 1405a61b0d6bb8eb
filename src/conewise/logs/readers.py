"""Recordings in: `read_log` recognises the format by what the file holds, not by its name."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.errors import ByFace, InputError, NotFoundError, no_such_file
from conewise.logs.quality import review

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from conewise.logs.columns import Table
    from conewise.logs.log import Log

_HEAD = 65_536


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a person said about a file."""

    mapping: Mapping[str, str]
    dbc: Path | None
    memory: Path | None


class LogMissingError(NotFoundError):
    """There is no such log."""

    code = "log-missing"

    def __init__(self, path: Path) -> None:
        sentence, folder = no_such_file(path, "log")
        near = sorted(p.name for p in folder.iterdir() if p.is_file()) if folder.is_dir() else []
        super().__init__(
            sentence,
            where=str(path),
            hint=f"Files there: {', '.join(near[:8])}." if near else "Check the spelling and the folder.",
        )


class NotALogError(InputError):
    """A file that is empty, too large, or of no format that is read."""

    code = "log-format"
    default_hint = ByFace(
        "Logs are read as delimited text, GPX 1.1, NMEA 0183, FIT and ASAM MDF 4; see 'Recorded logs' under Help.",
        typed="Logs are read as delimited text, GPX 1.1, NMEA 0183, FIT and ASAM MDF 4; see docs/formats-logs.md.",
    )

    def __init__(self, problem: str, *, where: str) -> None:
        super().__init__(problem, where=where)


def read_log(
    path: Path, *, mapping: Mapping[str, str] | None = None, dbc: Path | None = None, memory: Path | None = None
) -> Log:
    """The recording in a file.

    Parameters
    ----------
    path : Path
        The file. It is only read.
    mapping : mapping of str to str, optional
        Column or signal -> `quantity[:unit]`, such as `{"v": "speed:km/h", "note": "ignore"}`.
    dbc : Path, optional
        What the frames of a CAN bus mean; for MDF with raw frames.
    memory : Path, optional
        Folder of answers given before; see `mapping.remember`.

    Returns
    -------
    Log
        What is usable, in SI units, with findings for what is not.

    Raises
    ------
    LogMissingError
        If there is no such file.
    NotALogError
        If it is empty, too large, or of no format that is read.
    UnclearColumnsError
        If it is not sure what a column is, and neither mapping nor memory says it.
    InputError
        If nothing of it can be used; the reader says why.
    MissingExtraError
        If the part that reads the format is not installed.
    """
    head = _head(path)
    for kind in _FORMATS:
        if kind.recognises(head):
            return review(kind.read(_content(path, kind.most_bytes), path, Wanted(mapping or {}, dbc, memory)))
    raise NotALogError(f"'{path.name}' is no recording that is read ({_looks_like(head)}).", where=str(path))


def table_of(path: Path, *, dbc: Path | None = None) -> Table | None:
    """The columns of a file before anyone said what they mean; None where the format itself says it."""
    head = _head(path)
    if _is_mdf(head):
        from conewise.logs.mdf import read_mdf

        return read_mdf(path, dbc=dbc)
    if any(kind.recognises(head) for kind in _FORMATS[:-1]) or not _is_table(head):
        return None
    from conewise.logs.text_table import read_text_table

    return read_text_table(_content(path, _FORMATS[-1].most_bytes), file=path.name)


def _head(path: Path) -> bytes:
    """The start of a file that is there and not empty."""
    if not path.is_file():
        raise LogMissingError(path)
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD)
    except OSError as error:
        raise NotALogError(f"The file cannot be read: {error.strerror}.", where=str(path)) from None
    if not head.strip(b"\x00 \t\r\n"):
        raise NotALogError(f"'{path.name}' is empty.", where=str(path))
    return head


def _content(path: Path, most_bytes: int) -> bytes:
    """The whole file, unless it is too large."""
    if path.stat().st_size > most_bytes:
        raise NotALogError(
            f"'{path.name}' has more than {most_bytes // 10**6} MB; cut it into shorter recordings.", where=str(path)
        )
    return path.read_bytes()


def _is_mdf(head: bytes) -> bool:
    return head.startswith((b"MDF     ", b"UnFinMF "))


def _is_fit(head: bytes) -> bool:
    return head[8:12] == b".FIT"


def _is_gpx(head: bytes) -> bool:
    return b"<gpx" in head.replace(b"\x00", b"") and head.lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n\x00").startswith(b"<")


def _is_nmea(head: bytes) -> bool:
    from conewise.logs.nmea import is_nmea

    return is_nmea(head)


def _is_table(head: bytes) -> bool:
    """Text that is no markup: no byte of it is one that only pictures, archives and programs have."""
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return True
    is_binary = any(byte in head for byte in (b"\x00", b"\x01", b"\x02", b"\x03", b"\x04", b"\x05", b"\x06", b"\x0e"))
    return not is_binary and not head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith((b"<", b"{", b"%PDF"))


def _looks_like(head: bytes) -> str:
    if head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<"):
        return "markup other than GPX"
    if head.lstrip().startswith(b"{"):
        return "JSON"
    return "not text: a picture, an archive or a program's own format?"


def _read_mdf(content: bytes, path: Path, wanted: Wanted) -> Log:
    from conewise.logs.mdf import read_mdf

    del content
    return _mapped(read_mdf(path, dbc=wanted.dbc), wanted)


def _read_fit(content: bytes, path: Path, wanted: Wanted) -> Log:
    from conewise.logs.fit import read_fit

    del wanted
    return read_fit(content, file=path.name)


def _read_gpx(content: bytes, path: Path, wanted: Wanted) -> Log:
    from conewise.logs.gpx_track import read_gpx_track

    del wanted
    return read_gpx_track(content, file=path.name)


def _read_nmea(content: bytes, path: Path, wanted: Wanted) -> Log:
    from conewise.logs.nmea import read_nmea

    del wanted
    return read_nmea(content, file=path.name)


def _read_table(content: bytes, path: Path, wanted: Wanted) -> Log:
    from conewise.logs.text_table import read_text_table

    return _mapped(read_text_table(content, file=path.name), wanted)


def _mapped(table: Table, wanted: Wanted) -> Log:
    """A table with what was said and remembered about its columns."""
    from conewise.logs.assembly import log_of
    from conewise.logs.mapping import remembered

    return log_of(table, {**remembered(wanted.memory, table), **wanted.mapping})


@dataclass(frozen=True, slots=True)
class Format:
    """A format of recordings: how its start is recognised, what reads it, and how large a file may be. [byte]"""

    recognises: Callable[[bytes], bool]
    read: Callable[[bytes, Path, Wanted], Log]
    most_bytes: int


# Tried in this order. The limits keep the memory that reading takes below about two gigabytes.
_FORMATS = (
    Format(_is_mdf, _read_mdf, 400_000_000),
    Format(_is_fit, _read_fit, 50_000_000),
    Format(_is_gpx, _read_gpx, 60_000_000),
    Format(_is_nmea, _read_nmea, 200_000_000),
    Format(_is_table, _read_table, 400_000_000),
)
