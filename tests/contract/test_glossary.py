"""One word for one thing: the names of fields stand in the glossary or are made of whole words."""

from __future__ import annotations

import ast
import re
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[2]
SOURCE = PROJECT / "src" / "conewise"
GLOSSARY = (PROJECT / "docs" / "glossary.md").read_text(encoding="utf-8")

LONG_ENOUGH = 4  # letters of a word that need not be listed


def section(heading):
    return GLOSSARY.split(f"## {heading}\n", 1)[1].split("\n## ", 1)[0]


def code_spans(text):
    return {span for spans in re.findall(r"`([^`]+)`", text) for span in re.split(r"[,\s]+", spans)}


TERMS = code_spans(section("Terms"))
SHORT = code_spans(section("Short words in names"))
UNWANTED = set(re.findall(r"^\| `(\w+)` \|", section("Words that are not used"), flags=re.MULTILINE))


def trees():
    for path in sorted(SOURCE.rglob("*.py")):
        yield path.relative_to(SOURCE), ast.parse(path.read_text(encoding="utf-8"))


def public_fields():
    """Name and place of every annotated field of a public class."""
    for path, tree in trees():
        for node in ast.walk(tree):
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                for line in node.body:
                    if isinstance(line, ast.AnnAssign) and not line.target.id.startswith("_"):
                        yield line.target.id, f"{path}: {node.name}.{line.target.id}"


def is_plain(name):
    words = name.removeprefix("n_").split("_")
    return name in TERMS or all(len(word) >= LONG_ENOUGH or word in SHORT for word in words)


def test_the_glossary_was_read():
    assert {"station", "lateral_offset", "wheelbase"} <= TERMS
    assert "velocity" in UNWANTED
    assert not is_plain("fz_fl")


def test_field_names_are_whole_words():
    assert not sorted({place for name, place in public_fields() if not is_plain(name)})


def test_one_word_for_one_thing():
    names = {}
    for path, tree in trees():
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef | ast.ClassDef):
                names[node.name.lower()] = path
            elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
                names[node.target.id.lower()] = path
    found = {
        f"{path}: {name} ({word})"
        for name, path in names.items()
        for word in UNWANTED
        if re.search(rf"(^|_){word}s?(_|$)", name)
    }
    assert not found
