"""The one catalogue of strings: what is asked for is there, what is there is asked for."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

import conewise.web
from conewise.web.texts import MissingTextError, catalogue, text

WEB = Path(conewise.web.__file__).parent
CALL = re.compile(r"""\b(?:t|text|texts|Place)\(\s*((?:["'][\w.-]+["'](?:\s*~\s*[^,)]+)?\s*,?\s*)+)""")
PUT_TOGETHER = ("look.", "units.", "decimal.", "kind.")  # by pages of choices: the field's name and the value
TEXT_FILES = [*WEB.glob("templates/*.j2"), *WEB.glob("*.py"), *WEB.glob("static/js/**/*.js")]


def asked():
    """Keys and beginnings of keys that templates, routes and scripts ask for, with the file."""
    for path in TEXT_FILES:
        for call in CALL.findall(path.read_text(encoding="utf-8")):
            for key, more in re.findall(r"""["']([\w.-]+)["'](\s*~)?""", call):
                if "." in key:
                    yield key, bool(more) or key.endswith("."), path.name


def is_known(key, *, is_beginning):
    names = catalogue()
    if is_beginning:
        return any(name.startswith(key) for name in names)
    return key in names or {f"{key}.one", f"{key}.many"} <= set(names)


def test_every_string_that_is_asked_for_is_there():
    found = list(asked())
    assert len(found) > 30
    assert not [(key, place) for key, is_beginning, place in found if not is_known(key, is_beginning=is_beginning)]


def test_every_string_is_asked_for():
    words = "\n".join(path.read_text(encoding="utf-8") for path in TEXT_FILES)
    beginnings = tuple(key for key, is_beginning, _ in asked() if is_beginning)
    names = {key: re.sub(r"\.(one|many)$", "", key) for key in catalogue()}
    lost = [
        key for key, name in names.items() if name not in words and not name.startswith((*beginnings, *PUT_TOGETHER))
    ]
    assert not lost


def test_no_template_has_words_of_its_own():
    """What stands between tags is a string of the catalogue, a fact, or the program's name."""
    for path in WEB.glob("templates/*.j2"):
        bare = re.sub(r"\{[{%#].*?[}%#]\}", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        bare = re.sub(r"<(script|style)\b.*?</\1>", "", bare, flags=re.DOTALL)
        words = re.findall(r"[A-Za-z]{3,}", re.sub(r"<[^>]*>", " ", bare))
        assert set(words) <= {"conewise"}, path.name


def test_each_key_stands_once():
    seen = {}
    for path in WEB.glob("catalogue/en/*.toml"):
        for table in tomllib.loads(path.read_text(encoding="utf-8")):
            assert table not in seen, f"[{table}] in {path.name} and {seen.get(table)}"
            seen[table] = path.name


def test_one_and_many():
    assert text("event.n_drivers", n=1) == "1 driver"
    assert text("event.n_drivers", n=0) == "0 drivers"


def test_a_string_that_is_missing_is_named():
    with pytest.raises(MissingTextError, match=r"no 'nav\.nowhere'"):
        text("nav.nowhere")
