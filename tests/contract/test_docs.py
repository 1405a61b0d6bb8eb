"""What is written is true: commands, links, decisions and the examples of the file formats."""

from __future__ import annotations

import importlib
import re
from pathlib import Path

import pytest
from typer.main import get_command

from conewise.cli import main

PROJECT = Path(__file__).resolve().parents[2]
DOCS = PROJECT / "docs"
DECISIONS = sorted((DOCS / "decisions").glob("*.md"))
PAGES = [*sorted(PROJECT.glob("*.md")), *sorted(DOCS.rglob("*.md")), *sorted((PROJECT / "bench").glob("*.md"))]

SUFFIXES = {"toml": ".toml", "csv": ".csv", "json": ".geojson", "xml": ".gpx"}

SECTIONS = ["Context", "Decision", "Consequences", "What would change it"]


# Which reader takes the examples of which page, or one example by its name: module and function.
READERS = {
    "formats-book people": ("conewise.store.exported", "read_entries"),
    "formats-event event": ("conewise.event.event_file", "read_event"),
    "formats-event rules": ("conewise.event.rules", "load_event_rules"),
    "formats-logs example": ("conewise.logs.readers", "read_log"),
    "formats-logs mapping": ("conewise.logs.mapping", "read_mapping"),
    "formats-logs arms": ("conewise.logs.mapping", "read_arms"),
    "formats-course": ("conewise.course.files", "read_course"),
    "formats-times": ("conewise.proof.times_file", "read_times"),
    "formats-cars car": ("conewise.cars.car_file", "read_car"),
    "formats-cars driver": ("conewise.cars.driver", "read_driver"),
    "formats-cars changes": ("conewise.cars.changes_file", "read_changes"),
    "formats-cars settings": ("conewise.cars.adjustable_file", "read_settings"),
    "formats-parts parts": ("conewise.cars.changes_file", "read_parts"),
    "formats-parts rules": ("conewise.cars.classes_file", "read_classes"),
    "formats-cars setup": ("conewise.cars.setup_file", "read_history"),
}


def examples():
    """Every full example of a file format: a fenced block that has a name behind its language."""
    for page in sorted(DOCS.glob("formats-*.md")):
        blocks = re.findall(r"^```(\w+) (\w+)\n(.*?)^```$", page.read_text(encoding="utf-8"), re.MULTILINE | re.DOTALL)
        for language, name, text in blocks:
            yield pytest.param(page.stem, name, language, text, id=f"{page.stem}-{name}")


@pytest.mark.parametrize(("page", "name", "language", "text"), list(examples()))
def test_every_example_of_a_file_can_be_read(tmp_path, page, name, language, text):
    module, function = READERS.get(f"{page} {name}") or READERS[page]
    path = tmp_path / f"example{SUFFIXES[language]}"
    path.write_text(text, encoding="utf-8")
    assert getattr(importlib.import_module(module), function)(path)


def test_every_page_of_a_format_has_an_example():
    shown = {example.values[0] for example in examples()}
    assert {page.stem for page in DOCS.glob("formats-*.md")} == shown


def prose(page):
    """The text of a page without its fenced blocks."""
    return re.sub(r"^```.*?^```$", "", page.read_text(encoding="utf-8"), flags=re.MULTILINE | re.DOTALL)


def headings(page):
    return re.findall(r"^#+ +(.+?)\s*$", prose(page), flags=re.MULTILINE)


def commands():
    """Every command of the program, those of groups included, such as `conewise course check`."""

    def walk(command, name):
        yield name
        for child_name, child in getattr(command, "commands", {}).items():
            yield from walk(child, f"{name} {child_name}")

    for name in main.COMMANDS:
        yield from walk(get_command(main.application([name])).commands[name], f"conewise {name}")


def test_every_command_is_explained():
    written = {heading.strip("`") for heading in headings(DOCS / "guide.md")}
    known = list(commands())
    assert len(known) >= 5
    assert not [command for command in known if command not in written]


def test_decision_numbers_are_unique_and_without_gaps():
    assert [int(path.name[:4]) for path in DECISIONS] == list(range(1, len(DECISIONS) + 1))


@pytest.mark.parametrize("path", DECISIONS, ids=lambda path: path.stem)
def test_a_decision_says_why_and_what_would_change_it(path):
    first, *sections = headings(path)
    assert first.startswith(f"{int(path.name[:4])}. ")
    assert sections == SECTIONS
    assert re.search(r"^Status: (accepted|superseded by \d+)$", path.read_text(encoding="utf-8"), flags=re.MULTILINE)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(PROJECT).as_posix())
def test_links_lead_somewhere(page):
    links = re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8"))
    missing = [link for link in links if "://" not in link and not (page.parent / link).exists()]
    assert not missing


def test_outside_addresses_are_only_cited_documents():
    """A page names no address that the program would have to reach."""
    allowed = ("https://doi.org/", "https://www.rfc-editor.org/", "https://keepachangelog.com/")
    found = {
        (page.name, address)
        for page in PAGES
        for address in re.findall(r"https?://[^\s)>`]+", prose(page))
        if not address.startswith(allowed)
    }
    assert not found
