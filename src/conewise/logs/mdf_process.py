"""The part of reading MDF that runs in a process of its own: its library may end on a damaged file, and only itself.

Run as `python -m conewise.logs.mdf_process FILE [DBC]`; writes one NumPy archive to its standard output: `answer`, a
JSON text with `status` and what belongs to it, and the arrays that it names.
"""

from __future__ import annotations

import contextlib
import io
import json
import logging
import sys
import warnings
from typing import Any

import numpy as np

MOST_MEMORY = 6_000_000_000  # of address space, where the system can limit it [byte]
Signals = list[tuple[str, str, np.ndarray | None, np.ndarray]]

_MOST_SAMPLES = 100_000_000  # of all signals together


class _Unusable(Exception):  # noqa: N818  # leaves this process as a status, never as an error
    """Why nothing can be given back."""

    def __init__(self, status: str, problem: str = "") -> None:
        super().__init__(problem)
        self.status = status


def answer_for(path: str, dbc: str) -> tuple[dict[str, Any], dict[str, np.ndarray]]:
    """What is said about a file, and the arrays of its signals.

    Parameters
    ----------
    path : str
        The MDF file.
    dbc : str
        Description of its bus, or "".

    Returns
    -------
    answer : dict
        `status`: "ok", or "damaged", "frames-only", "no-channels", "dbc" with `problem`; `start`, `columns`.
    arrays : dict of Array
        `v0`, `v1`, ... values and `t0`, ... times, as `columns` names them.
    """
    try:
        start, signals = _read(path, dbc)
    except _Unusable as unusable:
        return {"status": unusable.status, "problem": str(unusable)}, {}
    arrays: dict[str, np.ndarray] = {}
    times: dict[bytes, str] = {}
    columns = []
    for number, (name, unit, values, time) in enumerate(signals):
        key = times.setdefault(time.tobytes(), f"t{number}")
        arrays[key] = time
        if values is not None:
            arrays[f"v{number}"] = values
        columns.append({"name": name, "unit": unit, "values": "" if values is None else f"v{number}", "time": key})
    return {"status": "ok", "start": start, "columns": columns}, arrays


def _read(path: str, dbc: str) -> tuple[str, Signals]:
    """Start and signals; whatever damaged blocks do to the library is one reason not to have them."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            return _signals(path, dbc)
        except _Unusable:
            raise
        except Exception as error:
            raise _Unusable("damaged", _plain(error)) from error


def _plain(error: Exception) -> str:
    return " ".join(str(error).split())[:120] or type(error).__name__


def _signals(path: str, dbc: str) -> tuple[str, Signals]:
    """Start of the recording, and name, unit, values and times of every signal; no values where they are text."""
    from asammdf import MDF

    logging.getLogger("asammdf").setLevel(logging.CRITICAL)
    with MDF(path) as recording:
        start = recording.header.start_time.isoformat()
        signals = _physical(recording)
        if dbc:
            signals += _decoded(recording, dbc)
        elif not signals and any("CAN_DataFrame" in c.name for group in recording.groups for c in group.channels):
            raise _Unusable("frames-only")
    if not any(values is not None for _, _, values, _ in signals):
        raise _Unusable("no-channels")
    return start, signals


def _physical(recording: Any) -> Signals:
    """Signals that carry quantities themselves, raw frames left out."""
    signals: Signals = []
    n_samples = 0
    for index, group in enumerate(recording.groups):
        n_rows = int(group.channel_group.cycles_nr)
        names = [channel.name for channel in group.channels]
        if n_rows == 0 or any("Frame" in name.split(".")[0] for name in names):
            continue
        n_samples += n_rows * len(names)
        if n_samples > _MOST_SAMPLES:
            raise _Unusable("damaged", "it says that it has too many samples")
        master = recording.masters_db.get(index)
        for number, name in enumerate(names):
            if number != master:
                signals += _signal(recording.get(name, group=index, index=number))
    return signals


def _decoded(recording: Any, dbc: str) -> Signals:
    """Signals of the frames."""
    try:
        decoded = recording.extract_bus_logging({"CAN": [(dbc, 0)]})
    except Exception as error:
        raise _Unusable("dbc", f"it cannot be used ({_plain(error)})") from error
    with decoded:
        signals = _physical(decoded)
    if not signals:
        raise _Unusable("dbc", "it describes no frame of the file")
    return signals


def _signal(signal: Any) -> Signals:
    """One signal; nothing where its samples are no single values."""
    samples, time = np.asarray(signal.samples), np.asarray(signal.timestamps, dtype=np.float64)
    if samples.ndim != 1 or samples.size != time.size or samples.size == 0:
        return []
    if samples.dtype.kind not in "iufb":
        return [(str(signal.name), "", None, time)]
    values = samples.astype(np.float64)
    if signal.invalidation_bits is not None:
        values[np.asarray(signal.invalidation_bits, dtype=bool)] = np.nan
    values[~np.isfinite(values)] = np.nan
    return [(str(signal.name), str(signal.unit or ""), values, time)]


def main(words: list[str]) -> None:
    """Answer on the standard output; what the library prints goes nowhere."""
    if sys.platform != "win32":
        import resource

        _, hard = resource.getrlimit(resource.RLIMIT_AS)
        most = MOST_MEMORY if hard == resource.RLIM_INFINITY else min(MOST_MEMORY, hard)
        resource.setrlimit(resource.RLIMIT_AS, (most, most))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    with contextlib.redirect_stdout(io.StringIO()):
        answer, arrays = answer_for(words[0], words[1] if len(words) > 1 else "")
    everything: Any = {"answer": np.array(json.dumps(answer)), **arrays}
    np.savez(sys.stdout.buffer, **everything)


if __name__ == "__main__":
    main(sys.argv[1:])
