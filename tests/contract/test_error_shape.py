"""Every error says the same things in the same shape, and docs/errors.md explains it."""

from __future__ import annotations

import importlib
import json
import pkgutil
import re
from pathlib import Path

import pytest

import conewise
from conewise.cli.render import print_error
from conewise.errors import ConewiseError, on_command_line

PAGE = Path(__file__).resolve().parents[2] / "docs" / "errors.md"
SHAPE = {"ok", "code", "message", "where", "hint"}
EXIT_CODES = range(1, 8)


def every_error():
    """All error classes of the package, once every module has been imported."""
    for module in pkgutil.walk_packages(conewise.__path__, "conewise."):
        importlib.import_module(module.name)
    found, pending = [], [ConewiseError]
    while pending:
        error = pending.pop()
        found.append(error)
        pending += error.__subclasses__()
    return sorted({error for error in found if error.__module__.startswith("conewise.")}, key=lambda e: e.__qualname__)


ERRORS = every_error()
by_name = pytest.mark.parametrize("error", ERRORS, ids=lambda error: error.__qualname__)


# Met at the command line alone: what they ask for has no field on any page.
ONLY_TYPED = {
    "book-damaged", "book-foreign", "book-missing", "book-there", "book-unwritable", "cones-of-run", "debrief-file",
    "debrief-file-missing", "demo-file-changed", "no-network", "not-a-mentor", "nothing-moved", "port-taken",
    "target-unwritable", "usage",
}  # fmt: skip


def plain(error):
    """An instance without the facts that its own `__init__` asks for."""
    made = error.__new__(error)
    ConewiseError.__init__(made, "Something is 3; wanted is 4.", where="file.toml, line 2")
    return made


def sections():
    """Text under each heading of the page."""
    parts = re.split(r"^## (.+)$", PAGE.read_text(encoding="utf-8"), flags=re.MULTILINE)
    return dict(zip(map(str.strip, parts[1::2]), map(str.strip, parts[2::2]), strict=True))


def test_there_are_errors_of_every_family():
    assert {error.exit_code for error in ERRORS} == set(EXIT_CODES)


def test_codes_are_unique():
    codes = [error.code for error in ERRORS]
    assert sorted(set(codes)) == sorted(codes)


@by_name
def test_a_code_is_a_short_plain_name_of_its_own(error):
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", error.code)
    assert error is ConewiseError or "code" in vars(error)


@by_name
def test_every_code_is_explained(error):
    assert len(sections()[error.code].split()) >= 8


def test_no_code_is_explained_that_does_not_exist():
    assert set(sections()) == {error.code for error in ERRORS}


@by_name
def test_exit_code_and_status_are_the_family_s(error):
    family = error.__mro__[error.__mro__.index(ConewiseError) - 1] if error is not ConewiseError else ConewiseError
    assert (error.exit_code, error.status) == (family.exit_code, family.status)
    assert error.exit_code in EXIT_CODES


@by_name
def test_every_hint_says_what_to_do(error):
    assert len(error.default_hint.split()) >= 3
    assert error.default_hint.endswith((".", "`"))


@pytest.mark.parametrize("error", [one for one in ERRORS if one.code not in ONLY_TYPED], ids=lambda one: one.code)
def test_no_page_is_told_an_option(error):
    assert not re.search(r"--[a-z]", error.default_hint)


@by_name
def test_text_and_json_say_the_same(error, capsys):
    made = plain(error)
    print_error(made, as_json=False)
    out, text = capsys.readouterr()
    assert out == ""
    assert text == f"error[{made.code}]: {made.message}\n  where: {made.where}\n  hint:  {on_command_line(made.hint)}\n"
    print_error(made, as_json=True)
    record = json.loads(capsys.readouterr().out)
    assert set(record) == SHAPE
    assert record == made.as_dict() | {"hint": on_command_line(made.hint)}
    assert made.as_dict() == {
        "ok": False, "code": made.code, "message": made.message, "where": made.where, "hint": made.hint,
    }  # fmt: skip
