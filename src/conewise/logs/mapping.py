"""What the columns of a file mean, as a person says it: by option, by file, or remembered from the last time."""

from __future__ import annotations

import difflib
import hashlib
import json
import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from conewise.errors import ByFace, InputError
from conewise.logs.log import Arms
from conewise.logs.units import QUANTITIES, ColumnUnitError, is_unit_of, usual_units

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

    from conewise.logs.columns import Column, Table
    from conewise.logs.recognition import Proposal


LONGEST_ARM = 4.0  # from the centre of gravity of a car to anything in it [m]
ARM_HINT = "Write metres forward and to the left of the centre of gravity: antenna = [0.4, -0.3]."


class MappingFileError(InputError):
    """A mapping file that cannot be read."""

    code = "mapping-file"
    default_hint = ByFace(
        "Write a quantity and its unit, such as speed:km/h. Under Help, 'Recorded logs' lists both.",
        typed='Write [columns] and below it one line a column: "Speed" = "speed:km/h". See docs/formats-logs.md.',
    )

    def __init__(self, problem: str, *, where: str, hint: str = "") -> None:
        super().__init__(problem, where=where, hint=hint)


class UnknownColumnError(InputError):
    """A mapping names a column that the file does not have."""

    code = "unknown-column"

    def __init__(self, name: str, *, known: Sequence[str], file: str) -> None:
        near = difflib.get_close_matches(name, known, n=3, cutoff=0.5) or list(known)[:12]
        super().__init__(f"There is no column '{name}'.", where=file, hint=f"This file has: {', '.join(near)}.")


class UnclearColumnsError(InputError):
    """Columns of which it is not sure what they measure, and nobody has said it.

    Parameters
    ----------
    file : str
        The log.
    questions : sequence of Question
        What must be known, the most important first.
    """

    code = "unclear-columns"

    def __init__(self, file: str, questions: Sequence[Question]) -> None:
        self.questions = tuple(questions)
        names = ", ".join(f"'{question.column}'" for question in questions)
        options = " ".join(question.option for question in questions)
        super().__init__(
            f"It is not sure what these columns are: {names}.",
            where=file,
            hint=ByFace(
                "Say for each what it measures and in which unit, or that it is not needed.",
                typed=f"Say it with {options} (or =ignore), or with --mapping FILE; on a terminal you are asked once.",
            ),
        )


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a column measures and in which unit; "" is the unit told in the file, or the usual one."""

    quantity: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Question:
    """One column that must be asked for.

    values: a few of its values, for a person who looks
    guesses: the most probable answers as `quantity:unit`, best first
    probabilities: of the guesses
    """

    column: str
    unit: str
    values: tuple[float, ...]
    guesses: tuple[str, ...]
    probabilities: tuple[float, ...]

    @property
    def option(self) -> str:
        """The option that would answer it, with the best guess."""
        return f"--map '{self.column}={self.guesses[0]}'"


def question(column: Column, proposal: Proposal) -> Question:
    """The question about a column."""
    spread = column.values[np.isfinite(column.values)]
    some = spread[:: max(1, spread.size // 4)][:4]
    best = proposal.guesses[:4]
    guesses = tuple(said_as(guess.quantity, guess.unit) for guess in best)
    probabilities = tuple(guess.probability for guess in best)
    return Question(column.name, column.unit, tuple(map(float, some)), guesses, probabilities)


def said_as(quantity: str, unit: str) -> str:
    """A quantity and its unit as an option or a mapping file says them."""
    return quantity if unit in {"", "1"} else f"{quantity}:{unit}"


def meaning(text: str, *, where: str) -> Meaning:
    """What `speed:km/h` says.

    Raises
    ------
    ColumnUnitError
        If there is no such quantity, or it has no such unit.
    """
    quantity, _, unit = text.strip().partition(":")
    quantity, unit = quantity.strip().lower().replace("-", "_").replace(" ", "_"), unit.strip()
    if quantity not in QUANTITIES:
        near = difflib.get_close_matches(quantity, QUANTITIES, n=4)
        raise ColumnUnitError(f"There is no quantity '{quantity}'.", where=where, known=tuple(near) or QUANTITIES)
    if unit and not is_unit_of(unit, quantity):
        raise ColumnUnitError(f"'{unit}' is no unit of {quantity}.", where=where, known=usual_units(quantity))
    return Meaning(quantity, unit)


def mapping_option(text: str) -> tuple[str, str]:
    """Column and meaning of one `--map COLUMN=QUANTITY[:UNIT]`.

    Raises
    ------
    MappingFileError
        If there is no equals sign.
    """
    column, sign, said = text.rpartition("=")
    if not sign or not column.strip():
        raise MappingFileError(f"'{text}' is no COLUMN=QUANTITY[:UNIT].", where=ByFace("columns", typed="--map"))
    meaning(said, where=ByFace(column.strip(), typed=f"--map {text}"))
    return column.strip(), said.strip()


def read_mapping(path: Path) -> dict[str, str]:
    """Columns and their meanings of a mapping file.

    Raises
    ------
    MappingFileError
        If it is not there, not TOML, or has anything but a table `columns` of texts.
    ColumnUnitError
        If a quantity or a unit is not known.
    """
    table = _read(path)
    columns = table.get("columns", {} if "arms" in table else None)
    extra = sorted(set(table) - {"columns", "arms"})
    if not isinstance(columns, dict) or extra:
        problem = f"'{extra[0]}' is not known here." if extra else "There is no table [columns]."
        raise MappingFileError(problem, where=str(path))
    for name, said in columns.items():
        if not isinstance(said, str):
            raise MappingFileError(f"The meaning of '{name}' is no text.", where=str(path))
        meaning(said, where=f"{path}, {name}")
    return dict(columns)


def _read(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise MappingFileError(f"The file cannot be read: {error.strerror}.", where=str(path)) from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as error:
        raise MappingFileError(f"This is not a TOML file that can be read: {error}.", where=str(path)) from None


def read_arms(path: Path) -> Arms:
    """Where antenna and sensor sit, by the table `arms` of a mapping file.

    Raises
    ------
    MappingFileError
        If it cannot be read, or an arm is not two numbers that fit into a car.
    """
    arms = _read(path).get("arms", {})
    where = f"{path}, [arms]"
    if not isinstance(arms, dict) or set(arms) - {"antenna", "sensor"}:
        raise MappingFileError("It may hold 'antenna' and 'sensor' alone.", where=where, hint=ARM_HINT)
    for name, arm in arms.items():
        is_pair = isinstance(arm, list) and len(arm) == 2
        if not is_pair or not all(type(value) in (int, float) and abs(value) <= LONGEST_ARM for value in arm):
            problem = f"'{name}' is not two numbers of at most {LONGEST_ARM:g} m."
            raise MappingFileError(problem, where=f"{where}, {name}", hint=ARM_HINT)
    return Arms(**{name: (float(arm[0]), float(arm[1])) for name, arm in arms.items()})


def mapping_text(columns: Mapping[str, str]) -> str:
    """A mapping file; `json` writes strings as TOML reads them."""
    rows = [
        f"{json.dumps(name, ensure_ascii=False)} = {json.dumps(said, ensure_ascii=False)}"
        for name, said in columns.items()
    ]
    return "\n".join(["[columns]", *rows, ""])


def fingerprint(columns: Iterable[Column]) -> str:
    """The same for files with the same header: names and units in their order."""
    header = json.dumps([[column.name.strip().lower(), column.unit.strip().lower()] for column in columns])
    return hashlib.sha256(header.encode()).hexdigest()[:20]


def remembered(folder: Path | None, table: Table) -> dict[str, str]:
    """What was answered for a file with this header before; nothing where nothing was."""
    if folder is None:
        return {}
    path = folder / f"{fingerprint(table.columns)}.toml"
    return read_mapping(path) if path.is_file() else {}


def remember(folder: Path, table: Table, answers: Mapping[str, str]) -> None:
    """Keep answers for the next file with this header, with what is known already.

    Raises
    ------
    MappingFileError
        If the folder cannot be written to.
    """
    path = folder / f"{fingerprint(table.columns)}.toml"
    text = mapping_text({**remembered(folder, table), **answers})
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")
    except OSError as error:
        raise MappingFileError(f"The answer cannot be kept: {error.strerror}.", where=str(path)) from None
