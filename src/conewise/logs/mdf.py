"""ASAM MDF 4: physical channels, and the signals in raw frames of a CAN bus with their description (DBC)."""

from __future__ import annotations

import io
import json
import subprocess
import sys
import zipfile
from datetime import datetime
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any

import numpy as np

from conewise.errors import ByFace, InputError, MissingExtraError
from conewise.logs.columns import Column, Table
from conewise.logs.mdf_blocks import broken_block

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

_LONGEST = 120.0  # that reading may take [s]


class MdfPartMissingError(MissingExtraError):
    """The part that reads MDF is not installed."""

    code = "mdf-part"

    def __init__(self, file: str) -> None:
        hint = "Install it with: pip install 'conewise[mdf]'"
        super().__init__("Reading ASAM MDF 4 needs a part that is not installed.", where=file, hint=hint)


class MdfError(InputError):
    """MDF that cannot be read: damaged, of an older version, or without channels."""

    code = "mdf"
    default_hint = "Export the recording anew as MDF 4 (.mf4), whole and finalised."

    def __init__(self, problem: str, *, where: str) -> None:
        super().__init__(problem, where=where)


class NeedsDbcError(InputError):
    """Raw frames of a bus without a file that says what they mean."""

    code = "needs-dbc"
    default_hint = ByFace(
        "Export the recording again with signals in place of raw frames, as MDF 4 or as text.",
        typed="Give the description of the bus with --dbc FILE.",
    )

    def __init__(self, problem: str, *, where: str) -> None:
        super().__init__(problem, where=where)


def read_mdf(path: Path, *, dbc: Path | None = None) -> Table:
    """Every channel of an MDF 4 file, each with its own time.

    Parameters
    ----------
    path : Path
        The file.
    dbc : Path, optional
        Description of the signals in raw frames of a CAN bus.

    Raises
    ------
    MdfPartMissingError
        If the optional part `mdf` is not installed.
    MdfError
        If the file is damaged, older than version 4, or holds no channels.
    NeedsDbcError
        If it holds raw frames only and no description is given, or none that can be read or fits.

    Notes
    -----
    The blocks are looked through first; then a process of its own reads them, with its memory and its time limited,
    since the library that does it may fall on a damaged file.
    """
    if find_spec("asammdf") is None:
        raise MdfPartMissingError(str(path))
    if dbc is not None and not dbc.is_file():
        raise NeedsDbcError("There is no such description of a bus.", where=str(dbc))
    content = path.read_bytes()
    if not content[8:12].startswith(b"4."):
        version = content[8:12].decode("ascii", "replace").strip("\x00 ")
        raise MdfError(f"This is MDF version {version or '?'}; version 4 is read.", where=str(path))
    broken = broken_block(content)
    if broken is not None:
        raise MdfError(f"The file is damaged: {broken.problem}.", where=f"{path}, byte {broken.offset}")
    answer, arrays = _answer(path, dbc)
    _refuse(answer, path, dbc)
    return Table(
        file=path.name, columns=tuple(_unique(_columns(answer, arrays))), start=datetime.fromisoformat(answer["start"])
    )


def _answer(path: Path, dbc: Path | None) -> tuple[dict[str, Any], Mapping[str, np.ndarray]]:
    """What the other process says."""
    words = [sys.executable, "-m", "conewise.logs.mdf_process", str(path), *([str(dbc)] if dbc else [])]
    try:
        done = subprocess.run(words, capture_output=True, timeout=_LONGEST, check=False)  # noqa: S603  # our own module
    except subprocess.TimeoutExpired:
        return {"status": "damaged", "problem": f"reading it takes longer than {_LONGEST:.0f} s"}, {}
    if done.returncode != 0:
        return {"status": "damaged", "problem": "its blocks contradict each other"}, {}
    try:
        with np.load(io.BytesIO(done.stdout), allow_pickle=False) as archive:
            arrays = {name: archive[name] for name in archive.files}
    except (ValueError, OSError, zipfile.BadZipFile, EOFError):
        return {"status": "damaged", "problem": "its blocks contradict each other"}, {}
    return json.loads(str(arrays.pop("answer"))), arrays


def _refuse(answer: Mapping[str, Any], path: Path, dbc: Path | None) -> None:
    """Raise what the other process found."""
    status, problem = answer["status"], answer.get("problem", "")
    if status == "frames-only":
        raise NeedsDbcError("The file holds raw frames of a CAN bus and nothing else.", where=str(path))
    if status == "dbc":
        raise NeedsDbcError(f"This description of a bus does not help: {problem}.", where=str(dbc))
    if status == "no-channels":
        raise MdfError("There are no channels with numbers in this file.", where=str(path))
    if status != "ok":
        raise MdfError(f"The file is damaged: {problem}.", where=str(path))


def _columns(answer: Mapping[str, Any], arrays: Mapping[str, np.ndarray]) -> Iterator[Column]:
    """The signals as columns; those of text have no values."""
    for entry in answer["columns"]:
        time = arrays[entry["time"]]
        if entry["values"]:
            yield Column(name=entry["name"], unit=entry["unit"], values=arrays[entry["values"]], time=time)
        else:
            yield Column(name=entry["name"], unit="", values=np.full(time.size, np.nan), form="text", time=time)


def _unique(columns: Iterator[Column]) -> Iterator[Column]:
    """Columns of which no two have the same name."""
    from dataclasses import replace

    seen: dict[str, int] = {}
    for column in columns:
        number = seen[column.name] = seen.get(column.name, 0) + 1
        yield column if number == 1 else replace(column, name=f"{column.name} ({number})")
