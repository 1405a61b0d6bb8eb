"""The node functions compiled once and cached, where a C compiler is found; nothing needs one."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess  # the compiler is called without a shell, on a file of our own
import tempfile
from pathlib import Path
from typing import Any

from conewise.solver.symbols import casadi as ca

SWITCH = "CONEWISE_COMPILE"  # "0" leaves the functions interpreted
LONGEST = 120.0  # the compiler is given up after this [s]


def compiler() -> str | None:
    """Path of a C compiler, unless the user switched compiling off."""
    if os.environ.get(SWITCH) == "0":
        return None
    return shutil.which("cc") or shutil.which("gcc") or shutil.which("clang")


def compiled(functions: dict[str, Any], cache: Path) -> dict[str, Any]:
    """The same functions from a shared library, or as they are where none can be made.

    Parameters
    ----------
    functions : dict of CasADi functions by key
    cache : Path
        Folder for the library; its name is a hash of the code, so a changed model is compiled anew.
    """
    found = compiler()
    if found is None:
        return functions
    generator = ca.CodeGenerator("node.c")
    for function in functions.values():
        generator.add(function)
    code = generator.dump()
    name = hashlib.sha256((code + found).encode()).hexdigest()[:24]
    library = cache / f"node-{name}.so"
    if not library.exists() and not _build(found, code, library):
        return functions
    return {key: ca.external(function.name(), str(library)) for key, function in functions.items()}


def _build(compiler_path: str, code: str, library: Path) -> bool:
    """Compile into a temporary file and move it in place, so that two processes never see half a library."""
    try:
        library.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=library.parent) as folder:
            source, built = Path(folder) / "node.c", Path(folder) / "node.so"
            source.write_text(code)
            command = [compiler_path, "-O1", "-fPIC", "-shared", "-o", str(built), str(source), "-lm"]
            done = subprocess.run(command, capture_output=True, timeout=LONGEST, check=False)  # noqa: S603
            if done.returncode == 0:
                built.replace(library)
            return done.returncode == 0
    except (OSError, subprocess.TimeoutExpired):
        return False
