"""TOML that people write: text whatever marks and line ends it has, tables that know file, line and field."""

from __future__ import annotations

import difflib
import re
import tomllib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar, NoReturn, Self

from conewise.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterable

Key = tuple[str | int, ...]

_HEADER = re.compile(r"^\s*(\[\[?)\s*([\w.\"' -]+?)\s*\]\]?\s*(?:#.*)?$")
_ENTRY = re.compile(r"""^\s*("(?:[^"\\]|\\.)*"|'[^']*'|[\w.-]+)\s*=""")
_NEVER_IN_TEXT = re.compile("[\x00-\x06]")  # any picture or archive has some of these


_CUT_SHORT = (
    "The file ends in this line, its last, within an entry: it was cut short, or a quotation mark or bracket further "
    "up is still open."
)
_NO_LINE = "Put fewer lists into each other."


class TomlSyntaxError(InputError):
    """The file is not TOML."""

    code = "toml-syntax"
    default_hint = "Mend the line named: text stands in quotation marks, lists in square brackets, one entry a line."

    def __init__(self, problem: str, *, file: str, n_lines: int = 0) -> None:
        line = re.search(r"\(at line (\d+)", problem)
        sentence = re.sub(r"\s*\(at .*\)$", "", problem)
        number = line[1] if line else n_lines
        place = f"{file}, line {number}" if number else file
        hint = "" if line else _CUT_SHORT if n_lines else _NO_LINE
        super().__init__(f"This is not a TOML file that can be read: {sentence}.", where=place, hint=hint)


class FieldError(InputError):
    """A field of a file is missing, unknown, of the wrong kind, or impossible."""

    code = "field"
    default_hint = "docs/formats.md leads to every field with an example."

    def __init__(self, problem: str, *, where: str, hint: str = "") -> None:
        super().__init__(problem, where=where, hint=hint)


def plain_text(content: bytes) -> str:
    """Text of a file with plain line ends and without a byte-order mark; see `text_problem`."""
    is_wide = content.startswith((b"\xff\xfe", b"\xfe\xff"))
    text = content.decode("utf-16" if is_wide else "utf-8-sig", errors="replace")
    return text.replace("\r\n", "\n").replace("\r", "\n")


def text_problem(text: str) -> str:
    """Why a text cannot be read, to stand after the file's name; "" where it can."""
    if _NEVER_IN_TEXT.search(text):
        return "is not a text file (a photo or an archive?)"
    if "\ufffd" in text:
        return "is not in UTF-8; save it as UTF-8 text"
    return "" if text.strip() else "is empty"


def toml_values(text: str, *, file: str) -> dict[str, Any]:
    """The values of a TOML text.

    Raises
    ------
    TomlSyntaxError
        If the text is not TOML; the line is named.
    """
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise TomlSyntaxError("the lists are nested too deeply", file=file) from None
    except tomllib.TOMLDecodeError as error:
        ends = "at end of document" in str(error)
        raise TomlSyntaxError(str(error), file=file, n_lines=len(text.splitlines()) if ends else 0) from None


class Lines:
    """Where every entry of a TOML text stands: a section and a key to a line number.

    Lists of tables are numbered from 1, each anew within its own list's entry.
    """

    def __init__(self, text: str) -> None:
        self.raw = text.splitlines()
        self._at: dict[tuple[Key, str], int] = {}
        self.doubled: list[tuple[Key, str]] = []
        counts: dict[str, int] = {}
        section: Key = ()
        for number, line in enumerate(self.raw, start=1):
            if header := _HEADER.match(line):
                name = re.sub(r"[\"' ]", "", header[2])
                if header[1] == "[[":
                    counts[name] = counts.get(name, 0) + 1
                    for inner in [known for known in counts if known.startswith(f"{name}.")]:
                        del counts[inner]  # a new entry counts its own lists anew
                section = _numbered(name, counts)
                self._at.setdefault((section, ""), number)
            elif entry := _ENTRY.match(line):
                *path, key = _names(entry[1])
                place = ((*section, *path), key)
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


def _names(key: str) -> list[str]:
    """The names of a key as tomllib gives them; a bare key may be dotted."""
    return key.split(".") if key[0] not in "\"'" else [str(next(iter(tomllib.loads(f"{key} = 0"))))]


def _numbered(section: str, counts: dict[str, int]) -> Key:
    """A heading with the running number of every list of tables on its way."""
    names: list[str | int] = []
    plain: list[str] = []
    for name in section.split("."):
        plain.append(name)
        names.append(name)
        count = counts.get(".".join(plain))
        if count:
            names.append(count)
    return tuple(names)


@dataclass
class Table:
    """One table of a file; asking for a key marks it as read, `finish` refuses what was never asked for.

    A kind of file has its own subclass, with its error and with the values that its fields hold.
    """

    values: dict[str, Any]
    file: str
    lines: Lines
    section: Key = ()
    label: str = ""  # how a message calls the table: "feature 3 'slalom 1'"
    _read: set[str] = field(default_factory=set)
    error: ClassVar[type[FieldError]] = FieldError

    @classmethod
    def of_text(cls, text: str, *, file: str) -> Self:
        """The whole of a TOML text; TomlSyntaxError where it is none."""
        return cls(toml_values(text, file=file), file, Lines(text))

    def name_of(self, key: str) -> str:
        """Name of a field, for messages."""
        return key

    def said(self, key: str) -> str:
        """The same in quotation marks."""
        return f"'{self.name_of(key)}'"

    def file_and_line(self, key: str = "") -> str:
        """File, and the line of a key or of the table."""
        line = self.lines.of(self.section, key)
        return f"{self.file}, line {line}" if line else self.file

    def place(self, key: str = "") -> str:
        """File, line, table and field for a message."""
        return ", ".join(part for part in (self.file_and_line(key), self.label, key) if part)

    def fail(self, problem: str, key: str = "", *, hint: str = "") -> NoReturn:
        """Raise the error of a field."""
        raise self.error(problem, where=self.place(key), hint=hint)

    def __contains__(self, key: str) -> bool:
        return key in self.values

    def take(self, key: str) -> Any:
        """A raw value; None where it is missing."""
        self._read.add(key)
        return self.values.get(key)

    def one_of(self, key: str, allowed: Iterable[str]) -> str:
        """A value that is there as one of a few words."""
        value, words = self.take(key), list(allowed)
        if value not in words:
            meant = nearest(str(value), words)
            self.fail(f"{self.said(key)} is {short(value)}.", key, hint=f"{meant}Write one of: {', '.join(words)}.")
        return str(value)

    def table(self, key: str, label: str = "") -> Self:
        """A table inside this one; an empty one where it is missing."""
        value = self.take(key)
        section = (*self.section, key)
        if value is not None and not isinstance(value, dict):
            heading = ".".join(map(str, section))
            self.fail(f"{self.said(key)} is {short(value)}; a table is wanted.", key, hint=f"Write [{heading}].")
        return type(self)(value or {}, self.file, self.lines, section, label or key)

    def tables(self, key: str) -> list[Self]:
        """A list of tables, in the order of the file; numbered from 1."""
        value = self.take(key)
        if value is None:
            return []
        heading = ".".join(str(part) for part in (*self.section, key) if isinstance(part, str))
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            problem = f"{self.said(key)} is {short(value)}; a list of tables is wanted."
            self.fail(problem, key, hint=f"Write each one under its own [[{heading}]].")
        return [
            type(self)(item, self.file, self.lines, (*self.section, key, number), f"{key} {number}")
            for number, item in enumerate(value, start=1)
        ]

    def finish(self) -> None:
        """Refuse a field that nothing asked for."""
        for key in self.values:
            if key not in self._read:
                known = sorted(self._read)
                hint = f"{nearest(key, known)}Known here: {', '.join(known)}."
                self.fail(f"There is no field '{self.name_of(key)}' here.", key, hint=hint)


def nearest(word: str, known: list[str]) -> str:
    """The beginning of a hint where a word is nearly a known one; "" elsewhere."""
    close = difflib.get_close_matches(word, known, n=1, cutoff=0.5)
    return f"Did you mean '{close[0]}'? " if close else ""


def short(value: Any) -> str:
    """A raw value for a message, cut where it is long."""
    shown = f'"{value}"' if isinstance(value, str) else repr(value)
    return shown if len(shown) <= 60 else shown[:57] + "..."
