"""The note for the event's safety official as PDF: what was found about a course, on what it rests, who decides."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.course.run_off import SPEED_SHARE, UNBRAKED
from conewise.findings import by_severity, in_short
from conewise.reports import documents

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.course.layout import Course
    from conewise.findings import Finding

_TITLES = {"stop": "To mend before it is run", "warning": "To look at", "note": "To know"}
_LEAVING = (
    "A car leaves the course anywhere, straight on or up to 30 degrees to either side, at "
    f"{100 * SPEED_SHARE:.0f}% of the predicted speed; for {UNBRAKED:.0f} s nobody brakes; then it slides, and is "
    "never steered. Common practice cautions; a rule set can only ask for more."
)
_BASIS = (
    _LEAVING,
    "Speeds are for the cars named, or for a quick one; a faster car, other tyres or another surface change them.",
    "What is not in the course file was not looked at: kerbs, drains, poles, slopes, spectators, parked cars.",
    "This note is no permission. The event's safety official walks the course, and decides.",
)


def _whose(cars: Sequence[str]) -> str:
    return f"Speeds of: {', '.join(cars)}." if cars else "No car was named: speeds are an estimate for a quick one."


def safety_note(
    course: Course, findings: Sequence[Finding], *, rules: str, cars: Sequence[str], plan: str, paper: str = "a4"
) -> bytes:
    """The whole file.

    Parameters
    ----------
    course : Course
    findings : sequence of Finding
    rules : str
        Name of the rule set.
    cars : sequence of str
        Cars whose speeds were used; none: an estimate for a quick car was.
    plan : str
        Drawing of the course as SVG.
    paper : str, default "a4"
        "a4" or "letter".
    """
    groups = [
        {"title": title, "rows": [[f.where, f.message] for f in by_severity(list(findings)) if f.severity == severity]}
        for severity, title in _TITLES.items()
    ]
    data = {
        "title": course.name,
        "answer": in_short(findings),
        "sentence": f"Rule set '{rules}'. {_whose(cars)}",
        "groups": [group for group in groups if group["rows"]],
        "basis": list(_BASIS),
    }
    return documents.pdf("safety", data, paper=paper, drawings={"plan": documents.concrete(plan)})
