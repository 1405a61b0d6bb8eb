"""TOML and cells of tables come back as they were, by independent readers."""

from __future__ import annotations

import csv
import io
import tomllib
from datetime import UTC, date, datetime, time
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from conewise.store.export import table_text
from conewise.store.written import cell, cell_value, toml_pairs

_TEXTS = st.text(st.characters(exclude_categories=("Cs",)), max_size=20)
_PLAIN = _TEXTS | st.booleans() | st.integers(-(2**63), 2**63 - 1) | st.floats(allow_nan=False, allow_infinity=False)
_VALUES = _PLAIN | st.dates() | st.times() | st.datetimes() | st.datetimes(timezones=st.just(UTC))
_KEYS = st.from_regex(r"[a-z][a-z_]{0,8}", fullmatch=True)
_TABLES = st.dictionaries(_KEYS, _VALUES | st.lists(_PLAIN, max_size=3) | st.dictionaries(_KEYS, _VALUES, max_size=3))


@given(_TABLES | st.dictionaries(_KEYS, st.lists(st.dictionaries(_KEYS, _PLAIN, max_size=2), max_size=2)))
def test_the_standard_reader_of_toml_gives_every_value_back(values):
    assert tomllib.loads(toml_pairs(values)) == values


@given(_TEXTS)
def test_a_text_comes_back_from_its_cell(text):
    assert cell_value(cell(text)) == text


@given(st.lists(st.lists(_TEXTS, min_size=2, max_size=2), max_size=4))
def test_the_standard_reader_of_tables_gives_every_cell_back(rows):
    text = table_text(("one", "two"), [[cell(value) for value in row] for row in rows])
    read = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert [[cell_value(value) for value in row] for row in read[1:]] == rows


def test_what_a_table_program_could_take_for_a_formula_is_in_quotes():
    for text in ("=1+1", "+1", "-1", "@sum", "\t=1"):
        assert cell(text).startswith('"')


def test_values_of_every_kind():
    values = {
        "amount": Decimal("12.50"),
        "day": date(2028, 2, 29),
        "at": time(10, 0),
        "moment": datetime(2026, 5, 1, 8, tzinfo=UTC),
        "nothing": None,
    }
    assert tomllib.loads(toml_pairs(values)) == {
        "amount": "12.50",
        "day": date(2028, 2, 29),
        "at": time(10, 0),
        "moment": datetime(2026, 5, 1, 8, tzinfo=UTC),
    }
    assert [cell(value) for value in values.values()] == [
        "12.50",
        "2028-02-29",
        "10:00:00",
        "2026-05-01T08:00:00+00:00",
        "",
    ]
