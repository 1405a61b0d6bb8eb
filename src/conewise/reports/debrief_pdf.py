"""A debrief as PDF: the one thing to work on, the gap, the map with both lines, and a row for every feature."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from conewise.reports import debrief_words, documents, sentences
from conewise.reports.debrief_map import debrief_map, driven_answer
from conewise.reports.debrief_report import gap_rows, recording_facts
from conewise.reports.figures import MapSize

if TYPE_CHECKING:
    from collections.abc import Mapping

    from conewise.reports.debrief_answer import DebriefAnswer
    from conewise.reports.debrief_report import Part
    from conewise.reports.units import Units

MAP = MapSize(width=760, most_height=470, text=15, stroke=4, cone=4)


def debrief_pdf(answer: DebriefAnswer, units: Units, *, paper: str = "a4") -> bytes:
    """The whole file; `paper` is "a4" or "letter".

    The answer is one of a run beside the best possible one, or of two recorded runs.
    """
    data, drawings = sheet_parts(answer, units)
    return sheet_pdf(data, drawings, paper=paper)


def sheet_parts(answer: DebriefAnswer, units: Units) -> tuple[dict[str, Any], dict[str, str]]:
    """What the sheet is made of: texts, and drawings by name. Plain data, so that it can be kept and printed later."""
    drawing = debrief_map(answer, driven_answer(answer), units, size=MAP, is_alone=True)
    return debrief_data(answer, units), {"map": drawing}


def sheet_pdf(data: Mapping[str, Any], drawings: Mapping[str, str], *, paper: str) -> bytes:
    """The file of what `sheet_parts` gave."""
    return documents.pdf("debrief", data, paper=paper, drawings=drawings)


def debrief_data(answer: DebriefAnswer, units: Units) -> dict[str, Any]:
    """What the template sets: texts only."""
    names = {f.id: sentences.feature_name(f) for f in driven_answer(answer).solution.features}
    focus, *others = answer.focuses or (None,)
    breakdown = answer.breakdown
    title, evidence = "", ""
    if focus is not None:
        title = f"{names.get(focus.feature, focus.feature)}: {focus.advice}"
        evidence = f"{focus.seconds:.2f} s. {focus.evidence}"
    elif answer.where is not None:
        title = debrief_words.where_title(names.get(answer.where.feature, answer.where.feature))
        evidence = debrief_words.where_sentence(answer.where)
    return {
        "title": f"{answer.geometry.course.name}, {answer.car}",
        "run": answer.driven.name,
        "other": answer.other.name,
        "gap": f"{answer.gap:+.2f} s".replace("-", "−"),
        "focus": title,
        "evidence": evidence,
        "nothing": "" if breakdown is None else debrief_words.NOTHING,
        "also": [f"{names.get(one.feature, one.feature)}: {one.advice} ({one.seconds:.2f} s)" for one in others],
        "sentence": "" if breakdown is None else debrief_words.gap_sentence(answer),
        "parts": breakdown is not None,
        "rows": [
            [str(number), row.name, row.driven, row.other, lost, *map(_part_words, row.parts)]
            for number, row in enumerate(gap_rows(answer), start=1)
            for lost in [f"{row.lost} {row.within}".strip()]
        ],
        "notes": [] if breakdown is None else [
            words for words in (
                debrief_words.paths_sentence(answer), debrief_words.friction_sentence(breakdown.friction)
            ) if words
        ],
        "facts": [f"{label}: {value}" for label, value in recording_facts(answer, units)],
        "findings": [finding.message for finding in answer.findings if finding.severity != "note"],
        "cautions": list(sentences.CAUTIONS),
    }  # fmt: skip


def _part_words(part: Part) -> str:
    return f"{part.text} ({part.interval})" if part.interval else part.text
