"""The sheet of one part of a car: what follows from its numbers, as values, one table and plain words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from conewise.findings import Finding
    from conewise.quantities import Dimension
    from conewise.vehicle.derived import DerivedValue


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetTable:
    """A table in SI; a row has a label and one number a column, nan where there is none."""

    title: str
    columns: tuple[tuple[str, Dimension], ...]
    rows: tuple[tuple[str, tuple[float, ...]], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartSheet:
    """What is known of one part of a car."""

    part: str
    values: tuple[DerivedValue, ...]
    table: SheetTable
    notes: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
