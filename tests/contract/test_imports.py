"""Layers: imports point down, and heavy libraries are loaded only where they are used."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parents[2]

# One line added to one module, and the contract that must notice it.
VIOLATIONS = [
    ("course/layout.py", "from conewise.solver import result", "Layers point down"),
    ("findings.py", "import casadi", "CasADi stays in the solver"),
    ("vehicle/parameters.py", "import math", "Physics knows no scalar math module"),
    ("solver/result.py", "import rich", "No face or plotting library below the reports"),
    ("cli/__init__.py", "import conewise.solver.result", "The faces speak to workflows only"),
]

HEAVY = {
    "casadi",
    "numba",
    "scipy",
    "shapely",
    "pyproj",
    "typst",
    "jinja2",
    "joblib",
    "gpxpy",
    "polars",
    "sqlalchemy",
    "alembic",
    "asammdf",
    "pandas",
}


def lint_imports(folder):
    """Exit status and report of import-linter on the package in a folder."""
    command = "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports(no_cache=True))"
    environment = {"PYTHONPATH": str(folder / "src"), "PATH": "/usr/bin:/bin", "COLUMNS": "200"}
    return subprocess.run(
        [sys.executable, "-c", command], cwd=folder, env=environment, capture_output=True, text=True, check=False
    )


@pytest.fixture(scope="module")
def copy(tmp_path_factory):
    """A copy of the package that a test may spoil."""
    folder = tmp_path_factory.mktemp("copy")
    shutil.copy(PROJECT / "pyproject.toml", folder)
    shutil.copytree(PROJECT / "src", folder / "src", ignore=shutil.ignore_patterns("__pycache__"))
    return folder


def test_imports_point_down():
    report = lint_imports(PROJECT)
    assert report.returncode == 0, report.stdout + report.stderr


@pytest.mark.parametrize(("module", "line", "contract"), VIOLATIONS, ids=[row[2] for row in VIOLATIONS])
def test_a_planted_violation_is_noticed(copy, module, line, contract):
    path = copy / "src" / "conewise" / module
    before = path.read_text(encoding="utf-8")
    path.write_text(f"{before}\n{line}\n", encoding="utf-8")
    try:
        report = lint_imports(copy)
    finally:
        path.write_text(before, encoding="utf-8")
    assert report.returncode == 1, report.stdout + report.stderr
    assert f"{contract} BROKEN" in report.stdout


@pytest.mark.parametrize("module", ["conewise", "conewise.cli.main"])
def test_heavy_libraries_wait_until_they_are_used(module):
    command = f"import sys, {module}; print(*sorted({HEAVY!r} & set(sys.modules)))"
    loaded = subprocess.run([sys.executable, "-c", command], capture_output=True, text=True, check=True)
    assert loaded.stdout.split() == []
