"""How a delimited text is laid out: delimiter, decimal sign, header, units, first row; told from its first lines."""

from __future__ import annotations

import csv
import re
from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from conewise.logs.units import plain_unit, unit_known

if TYPE_CHECKING:
    from collections.abc import Sequence

SAMPLE = 400  # lines that are looked at
_DELIMITERS = (",", ";", "\t", "|", " ")
_MOST_COLUMNS = 2000
_POINT = re.compile(r"^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$")
_COMMA = re.compile(r"^[+-]?(\d+,?\d*|,\d+)([eE][+-]?\d+)?$")
_TIME_LIKE = re.compile(r"^\d{1,4}([-/.:])\d{1,2}(\1\d{1,4})?([T ]+\d.*)?(?<=[\d\sZzmM])$")
_NOTHING = {"", "nan", "null", "none", "na", "n/a", "-", "--", "inf", "-inf"}
_IN_BRACKETS = re.compile(r"^(.*\S)\s*[\[({<]\s*([^\[\](){}<>]*?)\s*[\])}>]$", re.DOTALL)
_AFTER = re.compile(r"^(.*[^\W_])(?:[\s_:|]+|\.)([^\s_]+)$", re.DOTALL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dialect:
    """The layout of a delimited text. Lines count from 0 here.

    header: line of the names, -1 where there is none
    first: line of the first row
    names, units: of every column; a unit that is not told is ""
    """

    delimiter: str
    decimal: str
    header: int
    first: int
    names: tuple[str, ...]
    units: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Split:
    """The sample cut at one delimiter."""

    delimiter: str
    decimal: str
    rows: list[list[str]]
    width: int
    score: float


def dialect_of(lines: Sequence[str]) -> Dialect | None:
    """The layout that explains the first lines of a text best; None where it holds no table of numbers.

    Notes
    -----
    Of every delimiter the share of lines with the usual number of fields, times the share of fields that are numbers
    or times; a comma is the decimal sign where more fields are numbers that way.
    """
    splits = [_split(lines, delimiter) for delimiter in _DELIMITERS]
    best = max((split for split in splits if split is not None), key=lambda split: split.score, default=None)
    if best is None or best.score < 0.2:
        return None
    first = _first_row(best)
    if first is None:
        return None
    return _with_header(best, first)


def _split(lines: Sequence[str], delimiter: str) -> _Split | None:
    """The lines cut at a delimiter, and how well that explains them."""
    rows = [cells(line, delimiter) for line in lines]
    body = rows[len(rows) // 2 :] if len(rows) > 8 else rows
    widths = Counter(len(row) for row in body if any(row))
    if not widths:
        return None
    width = max(widths, key=lambda n: (widths[n] * (n > 1), n))
    if width < 2 or width > _MOST_COLUMNS:
        return None
    whole = [row for row in body if len(row) == width]
    shares = {sign: _number_share(whole, sign) for sign in (".", ",")}
    decimal = "," if delimiter != "," and shares[","] > shares["."] else "."
    evenness = widths[width] / sum(widths.values())
    score = evenness * shares[decimal] * (1.0 - 0.5 / width)
    return _Split(delimiter, decimal, rows, width, score)


def cells(line: str, delimiter: str) -> list[str]:
    """The fields of one line, without blanks around them."""
    if delimiter == " ":
        return line.split()
    if '"' not in line:
        return [cell.strip() for cell in line.split(delimiter)]
    return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])]


def is_number(cell: str, decimal: str) -> bool:
    """Whether a field is a number."""
    return bool((_COMMA if decimal == "," else _POINT).match(cell))


def _number_share(rows: list[list[str]], decimal: str) -> float:
    """Share of the fields with something in them that are numbers or times."""
    full = [cell for row in rows for cell in row if cell.lower() not in _NOTHING]
    return sum(is_number(cell, decimal) or bool(_TIME_LIKE.match(cell)) for cell in full) / max(1, len(full))


def _is_data(row: list[str], split: _Split) -> bool:
    """Whether a line is a row of the table: at least a third numbers, and not more words than numbers."""
    full = [cell for cell in row if cell.lower() not in _NOTHING]
    numbers = sum(is_number(cell, split.decimal) or bool(_TIME_LIKE.match(cell)) for cell in full)
    return abs(len(row) - split.width) <= 1 and numbers > 0 and numbers >= len(full) / 3


def _first_row(split: _Split) -> int | None:
    """The first line from which on most lines are rows."""
    are_data = [_is_data(row, split) for row in split.rows]
    for index, is_data in enumerate(are_data):
        ahead = [are for are, row in zip(are_data[index : index + 20], split.rows[index:], strict=False) if any(row)]
        if is_data and sum(ahead) >= 0.8 * len(ahead):
            return index
    return None


def _with_header(split: _Split, first: int) -> Dialect:
    """Names and units from the lines above the first row."""
    above: list[int] = []
    for index in range(first - 1, max(-1, first - 6), -1):
        row = split.rows[index]
        if not any(row) and not above:
            continue  # blank lines between header and rows
        if abs(len(row) - split.width) > 1 or sum(map(bool, row)) < split.width / 2:
            break
        above.append(index)
    fields = {index: _padded(split.rows[index], split.width) for index in above}
    units_line = next((index for index in above if len(above) > 1 and _is_unit_row(fields[index])), -1)
    names_line = max((index for index in above if index != units_line), key=lambda i: _nameness(fields[i]), default=-1)
    names = fields.get(names_line, [""] * split.width)
    units = fields.get(units_line, [""] * split.width)
    named = [_name_and_unit(name.lstrip("#% "), plain) for name, plain in zip(names, units, strict=True)]
    dialect = Dialect(
        delimiter=split.delimiter, decimal=split.decimal, header=names_line, first=first,
        names=tuple(name for name, _ in named), units=tuple(unit for _, unit in named),
    )  # fmt: skip
    return replace(dialect, names=_unique(dialect.names))


def _padded(row: list[str], width: int) -> list[str]:
    """A line of the header with as many fields as the table has; a comment sign alone in front is no field."""
    if len(row) > width and row[0] in {"#", "%", "//"}:
        row = row[1:]
    return [*row, *[""] * (width - len(row))][:width]


def _is_unit_row(row: list[str]) -> bool:
    """Whether a line above the rows tells units: at least half of its words are units, and it repeats itself."""
    full = [cell for cell in row if cell.strip("[](){}<> ")]
    return bool(full) and sum(unit_known(plain_unit(cell)) for cell in full) >= 0.6 * len(full)


def _nameness(row: list[str]) -> float:
    """How many different words a line has that could be names."""
    return len({cell for cell in row if cell and not cell.replace(".", "").isdigit()})


def _name_and_unit(name: str, unit: str) -> tuple[str, str]:
    """A name without the unit that stands in it, and the unit: that of the unit row before that of the name."""
    name, unit = name.strip().strip("\"'").strip(), unit.strip().strip("[](){}<>\"'").strip()
    if found := _IN_BRACKETS.match(name):
        inside = found[2]
        if unit_known(plain_unit(inside)) or not unit:
            return found[1].strip(), unit or inside
    if not unit and (found := _AFTER.match(name)) and is_written_unit(found[2]):
        return found[1], found[2]
    return name, unit


def is_written_unit(word: str) -> bool:
    """Whether the last word of a name is a unit beyond doubt: single letters are not, they may be axes or sides."""
    plain = plain_unit(word)
    return unit_known(plain) and (len(plain) > 1 or plain in {"%", "°"}) and plain not in {"in", "no", "count", "none"}


def _unique(names: tuple[str, ...]) -> tuple[str, ...]:
    """Names of which no two are the same; a column without a name has its number."""
    seen: Counter[str] = Counter()
    out = []
    for number, name in enumerate(names, start=1):
        plain = name or f"column {number}"
        seen[plain] += 1
        out.append(plain if seen[plain] == 1 else f"{plain} ({seen[plain]})")
    return tuple(out)
