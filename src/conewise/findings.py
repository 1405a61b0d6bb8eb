"""Findings: judgements with a place and a reason. Checks return them; they are never raised."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Collection

Severity = Literal["stop", "warning", "note"]

_RANK: dict[Severity, int] = {"stop": 0, "warning": 1, "note": 2}


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
