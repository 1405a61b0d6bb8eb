"""Columns as a file has them: a name, the unit told, numbers; not yet known what they measure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from datetime import datetime

    from conewise.findings import Finding

Array = NDArray[np.float64]
Form = Literal["number", "datetime", "clock", "date", "text"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a file, or one signal.

    name: as the file has it; unique in its table
    unit: as the file tells it, "" where it does not
    values: NaN where nothing was recorded; shape (n_rows,)
    form: how the values were written. A date and time is in seconds since 1970 (UTC), a clock in seconds since
        midnight, a date in seconds since 1970 at its midnight; text has no values.
    time: the column's own clock, None where the table has one column for it; shape (n_rows,) [s]
    """

    name: str
    unit: str
    values: Array
    form: Form = "number"
    time: Array | None = None

    @property
    def is_empty(self) -> bool:
        """Whether nothing was recorded."""
        return not bool(np.isfinite(self.values).any())


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Every column of a file.

    first_line: line of the file of the first row, 0 where rows are no lines
    start: date and time told beside the table, for a clock that counts from zero
    findings: what was met while reading
    """

    file: str
    columns: tuple[Column, ...]
    first_line: int = 0
    start: datetime | None = None
    findings: tuple[Finding, ...] = ()

    def place(self, row: int) -> str:
        """Where a row stands, as a person would look it up."""
        return f"line {self.first_line + row}" if self.first_line else f"sample {row + 1}"
