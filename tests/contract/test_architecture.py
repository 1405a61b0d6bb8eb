"""ARCHITECTURE.md lists every module with the first line of its docstring."""

from __future__ import annotations

from tests.architecture import BEGIN, LAYERS, PAGE, SOURCE, module_tree, summary, with_tree


def test_the_module_tree_is_up_to_date():
    page = PAGE.read_text(encoding="utf-8")
    assert BEGIN in page
    is_current = page == with_tree(page, module_tree())
    assert is_current, "ARCHITECTURE.md does not match the modules: run `make docs`"


def test_every_package_has_a_place_in_the_tree():
    packages = {path.parent.name for path in SOURCE.glob("*/__init__.py")}
    assert packages <= set(LAYERS)


def test_every_module_says_what_it_is():
    assert not [path for path in SOURCE.rglob("*.py") if len(summary(path)) < 10]


def test_first_lines_fit_on_a_line():
    assert not [path.name for path in SOURCE.rglob("*.py") if len(summary(path)) > 130]


def test_the_page_is_short():
    """Two printed pages of prose; the tree grows with the code."""
    prose = PAGE.read_text(encoding="utf-8").split(BEGIN)[0]
    assert len(prose.split()) < 1150
