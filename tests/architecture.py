"""The module tree of ARCHITECTURE.md: `make docs` writes it, a test holds it to the code."""

from __future__ import annotations

import ast
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[1]
SOURCE = PROJECT / "src" / "conewise"
PAGE = PROJECT / "ARCHITECTURE.md"
BEGIN = "<!-- module tree: written by `make docs` -->\n"
END = "<!-- end of module tree -->\n"

# Packages in the order of the layers, upper first; modules of the top level come last.
LAYERS = (
    "cli",
    "web",
    "workflows",
    "reports",
    "store",
    "migrations",
    "sweeps",
    "advisor",
    "demo",
    "logs",
    "solver",
    "proof",
    "mentoring",
    "vehicle",
    "readiness",
    "scoring",
    "course",
    "cars",
    "event",
)


def summary(path):
    """The first sentence of a module's docstring: its first line, as a rule."""
    docstring = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
    return docstring.split("\n\n", 1)[0].replace("\n", " ")


def module_tree():
    """One line for each module: its path and what its docstring says first."""
    lines = []
    for package in (SOURCE / name for name in LAYERS):
        if package.is_dir():
            lines.append(f"{package.name + '/':<24}{summary(package / '__init__.py')}")
            modules = sorted(path for path in package.glob("*.py") if path.name != "__init__.py")
            lines += [f"  {path.name:<22}{summary(path)}" for path in modules]
    lines += [f"{path.name:<24}{summary(path)}" for path in sorted(SOURCE.glob("*.py"))]
    return "```\n" + "\n".join(line.rstrip() for line in lines) + "\n```\n"


def with_tree(page, tree):
    """The page with the tree between its marks."""
    before, rest = page.split(BEGIN, 1)
    return before + BEGIN + tree + END + rest.split(END, 1)[1]


if __name__ == "__main__":
    PAGE.write_text(with_tree(PAGE.read_text(encoding="utf-8"), module_tree()), encoding="utf-8")
