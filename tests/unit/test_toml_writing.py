"""What is written as TOML is read back by Python's own reader as the same value."""

from __future__ import annotations

import tomllib
from datetime import date, datetime, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conewise.toml_writing import toml_entries, toml_key, toml_value

PLAIN = st.one_of(
    st.booleans(),
    st.integers(-(2**63), 2**63 - 1),
    st.floats(allow_nan=False, allow_infinity=False),
    st.text(st.characters(exclude_categories=["Cs"])),
    st.dates(),
    st.times().map(lambda clock: clock.replace(fold=0)),
    st.datetimes().map(lambda moment: moment.replace(fold=0)),
)
TEXT = st.text(st.characters(exclude_categories=["Cs"]))


@given(st.dictionaries(TEXT, st.recursive(PLAIN, lambda inner: st.lists(inner) | st.dictionaries(TEXT, inner))))
def test_python_s_own_reader_gives_the_value_back(fields):
    assert tomllib.loads(toml_entries(fields)) == fields


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (True, "true"),
        (date(2028, 2, 29), "2028-02-29"),
        (time(9, 30), "09:30:00"),
        (datetime.fromisoformat("2026-05-17T09:30:00"), "2026-05-17T09:30:00"),
        ("a\x7f\n", '"a\\u007f\\n"'),
    ],
)
def test_values(value, text):
    assert toml_value(value) == text


def test_a_key_with_blanks_stands_in_quotation_marks():
    assert toml_key("two words") == '"two words"'
