"""Tables of a TOML course file, read with the line and the field at hand for every message."""

from __future__ import annotations

import difflib
import re
import tomllib
import unicodedata
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NoReturn

from conewise import quantities
from conewise.course.layout import MOST_COORDINATE
from conewise.errors import InputError

if TYPE_CHECKING:
    from conewise.course.layout import Point
    from conewise.quantities import Dimension

Key = tuple[str | int, ...]

_HEADER = re.compile(r"^\s*(\[\[?)\s*([\w.\"' -]+?)\s*\]\]?\s*(?:#.*)?$")
_ENTRY = re.compile(r"""^\s*("(?:[^"\\]|\\.)*"|'[^']*'|[A-Za-z0-9_-]+)\s*=""")


class TomlSyntaxError(InputError):
    """The file is not TOML."""

    code = "toml-syntax"
    default_hint = "Mend the line named: text stands in quotation marks, lists in square brackets, one entry a line."

    def __init__(self, problem: str, *, file: str) -> None:
        line = re.search(r"\(at line (\d+)", problem)
        sentence = re.sub(r"\s*\(at .*\)$", "", problem)
        place = f"{file}, line {line[1]}" if line else file
        super().__init__(f"This is not a TOML file that can be read: {sentence}.", where=place)


class CourseFieldError(InputError):
    """A field of a course file is missing, unknown or of the wrong kind."""

    code = "course-field"
    default_hint = "docs/formats-course.md lists every field with an example."

    def __init__(self, problem: str, *, where: str, hint: str = "") -> None:
        super().__init__(problem, where=where, hint=hint)


class Lines:
    """Where every entry of a TOML text stands: a section and a key to a line number."""

    def __init__(self, text: str) -> None:
        self.raw = text.splitlines()
        self._at: dict[tuple[Key, str], int] = {}
        self.doubled: list[tuple[Key, str]] = []
        counts: dict[str, int] = {}
        section: Key = ()
        for number, line in enumerate(self.raw, start=1):
            if header := _HEADER.match(line):
                name = header[2].replace('"', "").replace("'", "").replace(" ", "")
                section = tuple(name.split("."))
                if header[1] == "[[":
                    counts[name] = counts.get(name, 0) + 1
                    section += (counts[name],)
                self._at.setdefault((section, ""), number)
            elif entry := _ENTRY.match(line):
                place = (section, _bare(entry[1]))
                if place in self._at:
                    self.doubled.append(place)
                self._at.setdefault(place, number)

    def of(self, section: Key, key: str = "") -> int | None:
        """Line of an entry, or of its table's heading; None where neither is found."""
        places = [(section, key), ((*section, key), ""), (section, "")]
        if section:
            places.append((section[:-1], str(section[-1])))  # a table written in one line
        return next((self._at[place] for place in places if place in self._at), None)

    def of_text(self, text: str, *, after: int) -> int:
        """Line in which a text begins, from a line on; that line itself where it is written in another way."""
        first = text.split("\n", 1)[0]
        numbers = range(after, len(self.raw) + 1)
        if "\n" in text:  # between three quotation marks, perhaps on the line that follows
            return after + (first not in self.raw[after - 1] or not first)
        return next((n for n in numbers if first in self.raw[n - 1]), after)


def _bare(key: str) -> str:
    """A key as tomllib gives it."""
    if key[0] not in "\"'":
        return key
    return str(next(iter(tomllib.loads(f"{key} = 0"))))


@dataclass
class Table:
    """One table of the file; asking for a field marks it as read, `finish` refuses what was never asked for."""

    values: dict[str, Any]
    file: str
    lines: Lines
    section: Key = ()
    label: str = ""  # how a message calls the table: "feature 3 'slalom 1'"
    _read: set[str] = field(default_factory=set)

    def place(self, key: str = "") -> str:
        """File, line, table and field for a message."""
        return ", ".join(part for part in (self._file_and_line(key), self.label, key) if part)

    def _file_and_line(self, key: str) -> str:
        line = self.lines.of(self.section, key)
        return f"{self.file}, line {line}" if line else self.file

    def fail(self, problem: str, key: str = "", *, hint: str = "") -> NoReturn:
        """Raise the error of a field."""
        raise CourseFieldError(problem, where=self.place(key), hint=hint)

    def __contains__(self, key: str) -> bool:
        return key in self.values

    def take(self, key: str) -> Any:
        """A raw value; None where it is missing."""
        self._read.add(key)
        return self.values.get(key)

    def need(self, key: str) -> Any:
        """A raw value that must be there."""
        if key not in self.values:
            self.fail(f"'{key}' is missing.", hint=f"Add {key} = ... here.")
        return self.take(key)

    def text(self, key: str, default: str | None = None) -> str:
        """Text that is not empty."""
        if key not in self.values and default is not None:
            return default
        return self.as_text(self.need(key), key)

    def as_text(self, value: Any, key: str) -> str:
        """A raw value as text; a plain number is taken as a name."""
        if isinstance(value, int) and not isinstance(value, bool):
            return str(value)
        if not isinstance(value, str) or not value.strip():
            self.fail(f"'{key}' is {_short(value)}; text is wanted.", key, hint=f'Write {key} = "...".')
        if any(unicodedata.category(character) == "Cc" for character in value.strip()):
            self.fail(f"'{key}' is {value!r}; one line of plain text is wanted.", key)
        return value.strip()

    def choice(self, key: str, allowed: tuple[str, ...], *, default: str | None = None) -> str:
        """One of a few words."""
        if key not in self.values and default is not None:
            return default
        value = self.need(key)
        if value not in allowed:
            self.fail(f"'{key}' is {_short(value)}.", key, hint=f"Write one of: {', '.join(allowed)}.")
        return str(value)

    def quantity(self, key: str, dimension: Dimension, *, default: float | None = None) -> float:
        """A number in SI units."""
        if key not in self.values and default is not None:
            return default
        return self.as_quantity(self.need(key), dimension, key=key)

    def as_quantity(self, value: Any, dimension: Dimension, *, key: str) -> float:
        """A raw value in SI units."""
        name = ", ".join(part for part in (self.label, key) if part)
        if isinstance(value, int) and abs(value) >= 2**63:
            raise quantities.UnitError(value, dimension, "this is too large", where=name, file=self._file_and_line(key))
        number = quantities.parse(value, dimension, where=name, file=self._file_and_line(key))
        if dimension == "length" and abs(number) > MOST_COORDINATE:
            self.fail(f"'{key}' is {number:.6g} m; lengths and coordinates reach to {MOST_COORDINATE:.0f} m.", key)
        return number

    def point(self, value: Any, key: str) -> Point:
        """East and north in metres."""
        if not isinstance(value, list) or len(value) != 2:
            self.fail(f"'{key}' is {_short(value)}; a point is wanted.", key, hint="Write [east, north].")
        return self.as_quantity(value[0], "length", key=key), self.as_quantity(value[1], "length", key=key)

    def outline(self, key: str) -> tuple[Point, ...]:
        """A polygon of at least three points; empty where there is none."""
        value = self.take(key)
        if value is None:
            return ()
        if not isinstance(value, list) or len(value) < 3:
            self.fail(
                f"'{key}' is {_short(value)}; three points or more are wanted.",
                key,
                hint="Write [[east, north], [east, north], [east, north]].",
            )
        return tuple(self.point(corner, key) for corner in value)

    def names(self, key: str) -> list[str]:
        """A list of ids that is not empty."""
        return self.as_names(self.need(key), key)

    def as_names(self, value: Any, key: str) -> list[str]:
        """A raw value as a list of ids."""
        if not isinstance(value, list) or not value:
            self.fail(f"'{key}' is {_short(value)}; a list of names is wanted.", key, hint=f'{key} = ["a", "b"]')
        return [self.as_text(item, key) for item in value]

    def table(self, key: str, label: str = "") -> Table:
        """A table inside this one; an empty one where it is missing."""
        value = self.take(key)
        if value is None:
            value = {}
        if not isinstance(value, dict):
            self.fail(f"'{key}' is {_short(value)}; a table is wanted.", key, hint=f"Write [{key}].")
        return Table(value, self.file, self.lines, (*self.section, key), label or key)

    def tables(self, key: str) -> list[Table]:
        """A list of tables, in the order of the file."""
        value = self.take(key)
        if value is None:
            return []
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            self.fail(f"'{key}' is {_short(value)}.", key, hint=f"Write each one under its own [[{key}]].")
        name = ".".join(str(part) for part in (*self.section, key))
        path = tuple(name.split("."))
        return [
            Table(item, self.file, self.lines, (*path, number), f"{key} {number}")
            for number, item in enumerate(value, start=1)
        ]

    def finish(self) -> None:
        """Refuse a field that nothing asked for."""
        for key in self.values:
            if key in self._read:
                continue
            close = difflib.get_close_matches(key, sorted(self._read), n=1)
            meant = f"Did you mean '{close[0]}'? " if close else ""
            known = ", ".join(sorted(self._read))
            self.fail(f"There is no field '{key}' here.", key, hint=f"{meant}Known here: {known}.")


def load(text: str, *, file: str) -> Table:
    """The whole of a TOML text as a table.

    Raises
    ------
    TomlSyntaxError
        If the text is not TOML; the line is named.
    """
    try:
        values = tomllib.loads(text)
    except RecursionError:
        raise TomlSyntaxError("the lists are nested too deeply", file=file) from None
    except tomllib.TOMLDecodeError as error:
        raise TomlSyntaxError(str(error), file=file) from None
    return Table(values, file, Lines(text))


def _short(value: Any) -> str:
    """A raw value for a message, cut where it is long."""
    shown = f'"{value}"' if isinstance(value, str) else repr(value)
    return shown if len(shown) <= 60 else shown[:57] + "..."
