"""TOML text of cars, drivers and changes: quantities with uncertainty and origin, refused with line and field."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from conewise import toml_source
from conewise.errors import InputError, NotFoundError, no_such_file
from conewise.quantities import Origin, Sourced, parse
from conewise.toml_source import FieldError, plain_text, text_problem

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from conewise.cars.fields import QuantityField
    from conewise.quantities import Dimension

_MAX_BYTES = 2_000_000
_ORIGINS = {origin.value: origin for origin in Origin if origin is not Origin.ESTIMATED}


class CarFileMissingError(NotFoundError):
    """There is no such file."""

    code = "car-file-missing"

    def __init__(self, path: Path) -> None:
        sentence, folder = no_such_file(path)
        near = sorted(p.name for p in folder.glob("*.toml")) if folder.is_dir() else []
        hint = f"TOML files there: {', '.join(near[:8])}." if near else "Check the spelling and the folder."
        super().__init__(sentence, where=str(path), hint=hint)


class NotACarFileError(InputError):
    """The file is empty or no text."""

    code = "car-file"
    default_hint = (
        "docs/formats-cars.md and -parts.md show full examples; `conewise car new` writes a car to start from."
    )

    def __init__(self, problem: str, *, where: str) -> None:
        super().__init__(problem, where=where)


class CarFieldError(FieldError):
    """A field is missing, unknown, of the wrong kind, or impossible."""

    code = "car-field"
    default_hint = "docs/formats-cars.md lists every field with its unit and an example."


class Table(toml_source.Table):
    """One table of a file of cars; a field is called by its dotted name from the top of the file."""

    error = CarFieldError

    def path(self, key: str) -> str:
        """Dotted name of a key, or of the table itself."""
        return ".".join(str(part) for part in (*self.section, key) if part != "")

    def name_of(self, key: str) -> str:
        """The dotted name."""
        return self.path(key)

    def place(self, key: str = "") -> str:
        """File, line and dotted name."""
        return ", ".join(part for part in (self.file_and_line(key), self.path(key)) if part)

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
        self.take(key)
        return self.one_of(key, allowed) if key in self else None

    def flag(self, key: str) -> bool | None:
        """True, false, or None where the key is missing."""
        value = self.take(key)
        if value is not None and not isinstance(value, bool):
            self.fail(f"{self.path(key)} is {value!r}; true or false is wanted.", key)
        return value

    def number(self, value: Any, dimension: Dimension, key: str) -> float:
        """A raw value in SI."""
        return parse(value, dimension, where=self.path(key), file=self.file_and_line(key))

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


def usual_uncertainty(value: float, facts: QuantityField, origin: Origin) -> float:
    """Standard uncertainty where none is given: a share of the step by origin, none of a count; common practice."""
    if facts.is_count:
        return 0.0
    share = {Origin.MEASURED: 0.2, Origin.SPEC_SHEET: 0.5, Origin.PAGE: 0.5, Origin.TYPICAL: 2.0}[origin]
    return share * facts.reference_step(value)


def read_toml(path: Path) -> Table:
    """The whole of a TOML file as a table.

    Raises
    ------
    CarFileMissingError
        If there is no such file.
    NotACarFileError
        If it is empty or no text.
    TomlSyntaxError
        If it is no TOML; the line is named.
    """
    return Table.of_text(file_text(path), file=str(path))


def file_text(path: Path) -> str:
    """Text of a file, whatever line ends and byte-order mark it has."""
    if not path.is_file():
        raise CarFileMissingError(path)
    if path.stat().st_size > _MAX_BYTES:
        raise NotACarFileError(f"'{path.name}' has more than 2 MB; this is a small text.", where=str(path))
    text = plain_text(path.read_bytes())
    if problem := text_problem(text):
        raise NotACarFileError(f"'{path.name}' {problem}.", where=str(path))
    return text
