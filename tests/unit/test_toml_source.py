"""TOML as people write it: the line of every entry, and tables that refuse what nobody asked for."""

from __future__ import annotations

import pytest

from conewise.toml_source import FieldError, Lines, Table, TomlSyntaxError, plain_text, text_problem

TEXT = """\
name = "x"
[front]
tyre.size = "a"
[front.wheel]
"a.b" = 1
[[change]]
name = "one"
[[change.edit]]
add = 1
[[change.edit]]
add = 2
[[change]]
[[change.edit]]
add = 3
"""


@pytest.mark.parametrize(
    ("section", "key", "line"),
    [
        ((), "name", 1),
        (("front",), "", 2),
        (("front", "tyre"), "size", 3),
        (("front", "wheel"), "a.b", 5),
        (("change", 1), "name", 7),
        (("change", 1, "edit", 2), "add", 11),
        (("change", 2, "edit", 1), "add", 14),
        (("change", 2, "edit", 1), "scale", 13),
        (("rear",), "track", None),
    ],
)
def test_every_entry_has_its_line(section, key, line):
    assert Lines(TEXT).of(section, key) == line


def test_what_nobody_asked_for_is_refused_with_the_nearest_name():
    table = Table.of_text("[site]\nfrction = 1\n", file="a.toml").table("site")
    table.take("friction")
    with pytest.raises(FieldError, match="no field 'frction'") as caught:
        table.finish()
    assert caught.value.where == "a.toml, line 2, site, frction"
    assert "Did you mean 'friction'?" in caught.value.hint


@pytest.mark.parametrize("text", ["a = 1", "b = []\n[[a]]\n", "a = [1]"])
def test_a_table_and_a_list_of_tables_are_no_other_thing(text):
    table = Table.of_text(text, file="a.toml")
    with pytest.raises(FieldError, match="'a' is"):
        table.table("a")
    if "[[" in text:
        assert [found.section for found in table.tables("a")] == [("a", 1)]
    else:
        with pytest.raises(FieldError, match="a list of tables is wanted"):
            table.tables("a")


def test_marks_and_line_ends_are_taken_off_and_what_is_no_text_is_said():
    assert plain_text("\ufeffa\r\nb\rc".encode()) == plain_text("a\nb\nc".encode("utf-16")) == "a\nb\nc"
    assert text_problem("a") == ""
    assert "empty" in text_problem(" \n")
    assert "photo" in text_problem(plain_text(b"\x89PNG\x00"))
    assert "UTF-8" in text_problem(plain_text(b"\xe4bc"))


def test_no_toml_names_its_line():
    with pytest.raises(TomlSyntaxError) as caught:
        Table.of_text("a = 1\nb = \n", file="a.toml")
    assert caught.value.where == "a.toml, line 2"


def test_a_file_that_was_cut_short_names_its_last_line():
    with pytest.raises(TomlSyntaxError) as caught:
        Table.of_text('a = 1\nb = "x', file="a.toml")
    assert caught.value.where == "a.toml, line 2"
    assert "cut short" in caught.value.hint
    with pytest.raises(TomlSyntaxError) as caught:
        Table.of_text("a = " + "[" * 2000, file="a.toml")
    assert "line named" not in caught.value.hint
