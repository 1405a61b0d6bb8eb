"""TOML text of cars, drivers and changes, read with file, line and field at hand for every message."""

from __future__ import annotations

import difflib
import re
import tomllib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NoReturn

from conewise.errors import InputError, NotFoundError
from conewise.quantities import Origin, Sourced, parse

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from conewise.cars.fields import QuantityField
    from conewise.quantities import Dimension

_MAX_BYTES = 2_000_000
_HEADER = re.compile(r"^\s*(\[\[?)\s*([\w.\"' -]+?)\s*\]\]?\s*(?:#.*)?$")
_ENTRY = re.compile(r"""^\s*["']?([\w.-]+)["']?\s*=""")
_NEVER_IN_TEXT = re.compile("[\x00-\x06]")  # any picture or archive has some of these
_ORIGINS = {origin.value: origin for origin in Origin if origin is not Origin.ESTIMATED}


class CarFileMissingError(NotFoundError):
    """There is no such file."""

    code = "car-file-missing"

    def __init__(self, path: Path) -> None:
        near = sorted(p.name for p in path.parent.glob("*.toml")) if path.parent.is_dir() else []
        hint = f"TOML files there: {', '.join(near[:8])}." if near else "Check the spelling and the folder."
        super().__init__(f"There is no file '{path.name}'.", where=str(path), hint=hint)


class NotACarFileError(InputError):
    """The file is empty, no text, or no TOML."""

    code = "car-file"
    default_hint = "`conewise car new` writes a car to start from; docs/formats-cars.md shows full examples."

    def __init__(self, problem: str, *, where: str) -> None:
        super().__init__(problem, where=where)


class CarFieldError(InputError):
    """A field is missing, unknown, of the wrong kind, or impossible."""

    code = "car-field"
    default_hint = "docs/formats-cars.md lists every field with its unit and an example."

    def __init__(self, problem: str, *, where: str, hint: str = "") -> None:
        super().__init__(problem, where=where, hint=hint)


@dataclass
class Table:
    """One table of the file; taking a key marks it as read, `finish` refuses what nobody took."""

    values: dict[str, Any]
    file: str
    lines: dict[str, int]
    name: str = ""  # dotted name from the top of the file
    _taken: set[str] = field(default_factory=set)

    def path(self, key: str) -> str:
        """Dotted name of a key."""
        return f"{self.name}.{key}" if self.name else key

    def place(self, key: str = "") -> str:
        """File and line of a key, or of the table where the key has no line of its own."""
        line = self.lines.get(self.path(key)) or self.lines.get(self.name)
        return f"{self.file}, line {line}" if line else self.file

    def fail(self, problem: str, key: str = "", *, hint: str = "") -> NoReturn:
        """Raise the error of a field."""
        raise CarFieldError(problem, where=f"{self.place(key)}, {self.path(key) or self.name}", hint=hint)

    def __contains__(self, key: str) -> bool:
        return key in self.values

    def take(self, key: str) -> Any:
        """The raw value of a key; None where it is missing."""
        self._taken.add(key)
        return self.values.get(key)

    def text(self, key: str, *, default: str | None = None) -> str:
        """One line of text."""
        value = self.take(key)
        if value is None and default is not None:
            return default
        if not isinstance(value, str) or not value.strip() or any(ord(c) < 32 for c in value):
            self.fail(f"{self.path(key)} is {value!r}; a line of text is wanted.", key)
        return value.strip()

    def choice(self, key: str, allowed: Iterable[str]) -> str | None:
        """One of a few words; None where the key is missing."""
        value = self.take(key)
        words = list(allowed)
        if value is not None and value not in words:
            close = difflib.get_close_matches(str(value), words, n=1)
            meant = f"Did you mean '{close[0]}'? " if close else ""
            self.fail(f"{self.path(key)} is {value!r}.", key, hint=f"{meant}Write one of: {', '.join(words)}.")
        return None if value is None else str(value)

    def flag(self, key: str) -> bool | None:
        """True, false, or None where the key is missing."""
        value = self.take(key)
        if value is not None and not isinstance(value, bool):
            self.fail(f"{self.path(key)} is {value!r}; true or false is wanted.", key)
        return value

    def number(self, value: Any, dimension: Dimension, key: str) -> float:
        """A raw value in SI."""
        return parse(value, dimension, where=self.path(key), file=self.place(key))

    def sourced(self, key: str, facts: QuantityField, *, origin: Origin) -> Sourced | None:
        """A quantity with its uncertainty and origin; None where the key is missing."""
        value = self.take(key)
        return None if value is None else self.as_sourced(value, key, facts, origin=origin)

    def as_sourced(self, raw: Any, key: str, facts: QuantityField, *, origin: Origin) -> Sourced:
        """A raw value, pair [value, uncertainty] or table {value, uncertainty, origin} as a `Sourced` value."""
        spread: Any = None
        if isinstance(raw, dict):
            self._only(raw, ("value", "uncertainty", "origin"), key)
            origin = self._origin(raw.get("origin", origin.value), key)
            raw, spread = raw.get("value"), raw.get("uncertainty")
        elif isinstance(raw, list) and len(raw) == 2:
            raw, spread = raw
        value = self.number(raw, facts.dimension, key)
        self.refuse_impossible(value, facts, key, raw=raw)
        if spread is None:
            return Sourced(value=value, uncertainty=usual_uncertainty(value, facts, origin), origin=origin)
        width = abs(self.number(spread, facts.dimension, key))
        return Sourced(value=value, uncertainty=width, origin=origin)

    def refuse_impossible(self, value: float, facts: QuantityField, key: str, *, raw: Any) -> None:
        """Raise the error of a value that no car can have."""
        if not facts.is_possible(value):
            self.fail(f"{self.path(key)} is {raw}; it must be {facts.wanted(value)}.", key)

    def _origin(self, word: Any, key: str) -> Origin:
        if word not in _ORIGINS:
            self.fail(f"The origin of {self.path(key)} is {word!r}.", key, hint=f"Write one of: {', '.join(_ORIGINS)}.")
        return _ORIGINS[word]

    def _only(self, raw: dict[str, Any], known: tuple[str, ...], key: str) -> None:
        for name in raw:
            if name not in known:
                self.fail(f"{self.path(key)} has no '{name}'.", key, hint=f"Known here: {', '.join(known)}.")

    def table(self, key: str) -> Table:
        """A table inside this one; an empty one where it is missing."""
        value = self.take(key)
        if value is not None and not isinstance(value, dict):
            self.fail(f"{self.path(key)} is {value!r}; a table is wanted.", key, hint=f"Write [{self.path(key)}].")
        return Table(value or {}, self.file, self.lines, self.path(key))

    def tables(self, key: str) -> list[Table]:
        """Tables of a list, in the order of the file; numbered from 1."""
        value = self.take(key) or []
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            self.fail(f"{self.path(key)} is no list of tables.", key, hint=f"Write each under its own [[{key}]].")
        return [Table(item, self.file, self.lines, f"{self.path(key)}.{i}") for i, item in enumerate(value, start=1)]

    def finish(self) -> None:
        """Refuse a key that nobody took."""
        for key in self.values:
            if key not in self._taken:
                close = difflib.get_close_matches(key, sorted(self._taken), n=1, cutoff=0.5)
                meant = f"Did you mean '{close[0]}'? " if close else ""
                self.fail(
                    f"There is no field '{self.path(key)}'.",
                    key,
                    hint=f"{meant}Known here: {', '.join(sorted(self._taken))}.",
                )


def usual_uncertainty(value: float, facts: QuantityField, origin: Origin) -> float:
    """Standard uncertainty where none is given: a share of the field's step by origin, common practice."""
    share = {Origin.MEASURED: 0.2, Origin.SPEC_SHEET: 0.5, Origin.TYPICAL: 2.0}[origin]
    return share * facts.reference_step(value)


def read_toml(path: Path) -> Table:
    """The whole of a TOML file as a table.

    Raises
    ------
    CarFileMissingError
        If there is no such file.
    NotACarFileError
        If it is empty, no text, or no TOML; the line is named.
    """
    return parsed(file_text(path), file=str(path))


def parsed(text: str, *, file: str) -> Table:
    """The whole of a TOML text as a table; NotACarFileError where it is none."""
    try:
        values = tomllib.loads(text)
    except RecursionError:
        raise NotACarFileError("The lists of this TOML are nested too deeply.", where=file) from None
    except tomllib.TOMLDecodeError as error:
        line = re.search(r"\(at line (\d+)", str(error))
        problem = re.sub(r"\s*\(at .*\)$", "", str(error))
        place = f"{file}, line {line[1]}" if line else file
        raise NotACarFileError(f"This is not TOML that can be read: {problem}.", where=place) from None
    return Table(values, file, _line_numbers(text))


def file_text(path: Path) -> str:
    """Text of a file, whatever line ends and byte-order mark it has."""
    if not path.is_file():
        raise CarFileMissingError(path)
    if path.stat().st_size > _MAX_BYTES:
        raise NotACarFileError(f"'{path.name}' has more than 2 MB; this is a small text.", where=str(path))
    content = path.read_bytes()
    utf16 = content.startswith((b"\xff\xfe", b"\xfe\xff"))
    text = content.decode("utf-16" if utf16 else "utf-8-sig", errors="replace")
    if _NEVER_IN_TEXT.search(text) or "\ufffd" in text:
        raise NotACarFileError(f"'{path.name}' is no UTF-8 text (a photo or an archive?).", where=str(path))
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if not text.strip():
        raise NotACarFileError(f"'{path.name}' is empty.", where=str(path))
    return text


def _line_numbers(text: str) -> dict[str, int]:
    """Line of every key and heading by its dotted name; lists of tables are numbered from 1."""
    lines: dict[str, int] = {}
    counts: dict[str, int] = {}
    section = ""
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _HEADER.match(line):
            section = re.sub(r"[\"' ]", "", header[2])
            if header[1] == "[[":
                counts[section] = counts.get(section, 0) + 1
                for inner in [name for name in counts if name.startswith(f"{section}.")]:
                    del counts[inner]  # a new entry counts its own lists anew
            section = _numbered(section, counts)
            lines.setdefault(section, number)
        elif entry := _ENTRY.match(line):
            lines.setdefault(f"{section}.{entry[1]}" if section else entry[1], number)
    return lines


def _numbered(section: str, counts: dict[str, int]) -> str:
    """A heading with the running number of every list of tables on its way."""
    names: list[str] = []
    plain: list[str] = []
    for name in section.split("."):
        plain.append(name)
        names.append(name)
        count = counts.get(".".join(plain))
        if count:
            names.append(str(count))
    return ".".join(names)
