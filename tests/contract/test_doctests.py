"""Examples in docstrings run."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import conewise

MODULES = sorted(module.name for module in pkgutil.walk_packages(conewise.__path__, "conewise."))


@pytest.mark.parametrize("name", MODULES)
def test_examples_run(name):
    if name.endswith("__main__"):
        return
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_there_are_examples():
    finder = doctest.DocTestFinder(exclude_empty=True)
    examples = [test for name in MODULES for test in finder.find(importlib.import_module(name)) if test.examples]
    assert len(examples) >= 3
