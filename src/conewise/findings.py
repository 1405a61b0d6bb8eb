"""Findings: judgements with a place and a reason. Checks return them; they are never raised."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal, Self

from conewise.quantities import in_unit, shown_unit

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from conewise.quantities import Dimension, System

Severity = Literal["stop", "warning", "note"]

_RANK: dict[Severity, int] = {"stop": 0, "warning": 1, "note": 2}


_FAR: dict[System, str] = {"metric": "km", "us": "mi"}
_FAR_FROM = 2000.0  # m


@dataclass(frozen=True, slots=True)
class Value:
    """A number with its dimension as a sentence says it.

    value: SI
    digits: behind the point
    is_distance: whether a length is one that is driven to get there, told in kilometres or miles where it is long
    """

    value: float
    dimension: Dimension
    digits: int = 0
    is_distance: bool = False

    def said(self, system: System) -> str:
        """In the units of a system."""
        if self.is_distance and abs(self.value) > _FAR_FROM:
            return f"{in_unit(self.value, 'length', _FAR[system]):.1f} {_FAR[system]}"
        unit = shown_unit(self.dimension, system)
        return f"{in_unit(self.value, self.dimension, unit):.{self.digits}f} {unit}"


class Sentence(str):
    """Words with quantities in them: metric as they stand, in other units where these are asked for.

    Parameters
    ----------
    words : str
        With `{}` for every value, which brings its unit, and for every name.
    values : Value or str

    Examples
    --------
    >>> told = Sentence("The run ends at {} of {}.", Value(80.0, "length"), Value(534.0, "length"))
    >>> told
    'The run ends at 80 m of 534 m.'
    >>> in_system([Finding("note", "run-aborted", told)], "us")[0].message
    'The run ends at 262 ft of 1752 ft.'
    """

    __slots__ = ("values", "words")
    words: str
    values: tuple[Value | str, ...]

    def __new__(cls, words: str, *values: Value | str) -> Self:
        """The metric sentence; what makes the others stays beside it."""
        made = super().__new__(cls, _filled(words, values, "metric"))
        made.words, made.values = words, values
        return made

    def __getnewargs__(self) -> tuple[str | Value, ...]:  # type: ignore[override]  # text alone needs one
        """For the way back from a process of its own."""
        return (self.words, *self.values)

    def said(self, system: System) -> str:
        """In the units of a system."""
        return _filled(self.words, self.values, system)


def _filled(words: str, values: Iterable[Value | str], system: System) -> str:
    return words.format(*(value if isinstance(value, str) else value.said(system) for value in values))


def said_in(words: str, system: System) -> str:
    """Words in the units of a system; those without quantities as they are."""
    return words.said(system) if isinstance(words, Sentence) else words


@dataclass(frozen=True, slots=True)
class Finding:
    """One judgement.

    severity: "stop" (do not run before it is mended), "warning" (look at it), "note" (good to know).
    code: stable short name, such as "gate-narrow".
    message: one or two sentences with the value found and the value wanted, in the units that are shown.
    where: the place: a feature, a cone, a field of a file.
    """

    severity: Severity
    code: str
    message: str
    where: str = ""


def in_system(findings: Iterable[Finding], system: System) -> tuple[Finding, ...]:
    """The same findings, in the units of a system."""
    return tuple(replace(finding, message=said_in(finding.message, system)) for finding in findings)


def by_severity(findings: list[Finding]) -> list[Finding]:
    """The same findings, stops first; the order within a severity stays."""
    return sorted(findings, key=lambda finding: _RANK[finding.severity])


def has_stop(findings: list[Finding]) -> bool:
    """Whether any finding says stop."""
    return any(finding.severity == "stop" for finding in findings)


def in_short(findings: Collection[Finding]) -> str:
    """How many there are to mend and to look at, in words; a note alone is not counted."""
    n_stops, n_looks = (sum(f.severity == severity for f in findings) for severity in ("stop", "warning"))
    looks = f"{n_looks} to look at" if n_looks else ""
    if n_stops:
        return f"{n_stops} to mend before it is run{f', {looks}' if looks else ''}"
    return f"Nothing found that says stop, and {looks}" if looks else "Nothing found that says stop"
