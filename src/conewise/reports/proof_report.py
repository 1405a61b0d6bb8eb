"""The report of a proof: one HTML file that asks nothing of any other place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from conewise.findings import by_severity
from conewise.reports import page, proof_words
from conewise.reports.proof_figure import days_of, proof_svg, shown_days
from conewise.reports.units import signed

if TYPE_CHECKING:
    from conewise.reports.proof_answer import ProofAnswer
    from conewise.reports.proof_figure import Day
    from conewise.reports.units import Units

_WIDTHS = {"desk": 800.0, "hand": 358.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class DayRow:
    """One day of the table; `difference` is "" where only one set-up was driven that day, or nothing is told."""

    name: str
    n_before: int
    n_after: int
    difference: str


def proof_html(answer: ProofAnswer, units: Units) -> str:
    """The whole report.

    Parameters
    ----------
    answer : ProofAnswer
        The answer, told or untold.
    units : Units
        Units shown.

    Returns
    -------
    str
        One HTML page with its style, its script and its data inside.
    """
    days = days_of(answer)
    hidden = {name: len(days) - len(shown_days(days, width)) for name, width in _WIDTHS.items()}
    return page.rendered(
        "proof.html.j2",
        lambda size: proof_svg(answer, size, is_alone=False),
        answer=answer,
        say=proof_words,
        terms=terms_said(answer, units),
        days=day_rows(answer),
        hidden=hidden,
        findings=by_severity(list(answer.findings)),
        cones=proof_words.cone_sentences(answer),
        plan=() if answer.plan is None else proof_words.plan_sentences(answer.plan),
    )


def terms_said(answer: ProofAnswer, units: Units) -> list[tuple[str, str]]:
    """What else moved the times, and how far runs scatter: label and value."""
    effect = answer.effect
    if effect is None:
        return []
    what = "Spread of a run" if effect.basis == "same-day" else "Spread of a day's gap"
    terms = [*(proof_words.term_text(term, units) for term in effect.terms), (what, f"±{effect.spread:.2f} s")]
    return [(label[:1].upper() + label[1:], value) for label, value in terms]


def day_rows(answer: ProofAnswer) -> list[DayRow]:
    """The table of days."""
    return [_row(day, is_told=answer.effect is not None) for day in days_of(answer)]


def _row(day: Day, *, is_told: bool) -> DayRow:
    """The plain difference of the medians of one day, nothing taken off."""
    after, before = day.late[day.is_after], day.late[~day.is_after]
    both = is_told and bool(after.size and before.size)  # what the times cannot tell gets no number
    return DayRow(
        name=day.name,
        n_before=before.size,
        n_after=after.size,
        difference=signed(float(np.median(after) - np.median(before)), 2) if both else "",
    )
