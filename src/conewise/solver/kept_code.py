"""LLVM code made into machine code, and kept on disk: made well it takes seconds, which are spent once a machine."""

from __future__ import annotations

import hashlib
import os
import stat
import tempfile
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

import platformdirs

QUICK, GOOD = 0, 1  # levels of LLVM's code generator; higher ones take as long as GOOD and gain nothing (decision 20)
_CHECKSUM = 32  # bytes before the code
_UNUSED = 30 * 86400.0  # what was not read for so long is another version's or another machine's, and goes [s]


def machine_code(text: str) -> tuple[Any, int]:
    """Engine and address of the function `run` in LLVM code.

    Parameters
    ----------
    text : str
        LLVM code.

    Returns
    -------
    tuple of (engine, int)
        The code lives as long as the engine.

    Notes
    -----
    The file's name is a digest of the text, this processor, LLVM and its level, so that no stale code is ever found; a
    digest of its content stands before it, so that none is run that was not written to its end. Reading marks a file as
    used; writing clears away what was not used for a month. Where no folder is this person's to write to, quick code is
    made in every process.
    """
    import llvmlite.binding as llvm

    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    folder = _folder()
    level = QUICK if folder is None else GOOD
    cpu, features = llvm.get_host_cpu_name(), llvm.get_host_cpu_features().flatten()
    machine = llvm.Target.from_default_triple().create_target_machine(cpu=cpu, features=features, opt=level, jit=True)
    maker = [str(llvm.llvm_version_info), machine.triple, cpu, features, str(level)]
    digest = hashlib.sha256("\n".join([*maker, text]).encode()).hexdigest()
    file = folder and folder / f"conewise-{digest[:32]}.o"
    code = file and _read(file)
    if not code:
        code = machine.emit_object(llvm.parse_assembly(text))
        if file:
            _keep(file, code)
    engine = llvm.create_mcjit_compiler(llvm.parse_assembly(""), machine)
    engine.add_object_file(llvm.ObjectFileRef.from_data(code))
    engine.finalize_object()
    return engine, engine.get_function_address("run")


def _folder() -> Path | None:
    """Where Numba keeps its code, or else the user's caches; None where neither is this person's to write to."""
    beside = Path(os.environ.get("NUMBA_CACHE_DIR") or Path(__file__).parent / "__pycache__")
    for folder in (beside, platformdirs.user_cache_path("conewise", appauthor=False)):
        with suppress(OSError):
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            if os.access(folder, os.W_OK) and _is_own(folder.stat()):
                return folder
    return None


def _is_own(folder: os.stat_result) -> bool:
    """Whether the folder is this person's and not everybody's to write to: what lies there is run."""
    if not hasattr(os, "geteuid"):  # Windows, where a person's folders are closed to others
        return True
    return folder.st_uid == os.geteuid() and not folder.st_mode & stat.S_IWOTH


def _read(file: Path) -> bytes:
    """The code of a file; nothing where it is missing or not whole."""
    try:
        content = file.read_bytes()
    except OSError:
        return b""
    code = content[_CHECKSUM:]
    if hashlib.sha256(code).digest() != content[:_CHECKSUM]:
        return b""
    with suppress(OSError):
        os.utime(file)
    return code


def _keep(file: Path, code: bytes) -> None:
    """Write it whole or not at all; other processes may be doing the same."""
    with suppress(OSError):  # a full disk costs time at the next start, nothing else
        handle, name = tempfile.mkstemp(dir=file.parent, prefix=file.stem)
        try:
            with os.fdopen(handle, "wb") as out:
                out.write(hashlib.sha256(code).digest() + code)
            Path(name).replace(file)
        except BaseException:  # the keyboard too
            Path(name).unlink(missing_ok=True)
            raise
    for other in file.parent.glob("conewise-*.o"):
        with suppress(OSError):  # another process may be clearing too
            if other.stat().st_mtime < time.time() - _UNUSED:
                other.unlink()
