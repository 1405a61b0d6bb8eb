"""Walk notes of a course file: the notes with their lines, and who walked."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from conewise.course.walk_layout import ANGLE_SD, GATE_WIDTH, Walked, Walker, lay_out_notes
from conewise.course.walk_notes import Note, read_note, split_notes

if TYPE_CHECKING:
    from conewise.course.layout import Point
    from conewise.course.toml_table import Table

PACE_SD = 0.02  # relative uncertainty of a pace length calibrated once; common practice, no source
KNOWN_SD = 0.01  # uncertainty of a known point [m]


def read_walk(table: Table) -> Walked:
    """The table [walk] of a course file.

    Raises
    ------
    WalkNoteError, WalkError, WalkClosureError
        See `lay_out_notes`; the line of the note is named.
    CourseFieldError, conewise.quantities.UnitError
        If a field cannot be used.
    """
    notes = _notes(table)
    walker = Walker(
        **_measures(table),
        start=table.point(table.take("start"), "start") if "start" in table else (0.0, 0.0),
        heading=table.quantity("heading", "angle", default=0.0),
        heading_sd=table.quantity("heading_sd", "angle", default=0.0),
    )
    walks = [(notes, walker)]
    for again in table.tables("again") if "again" in table else ():
        walks.append((_notes(again), replace(walker, **_measures(again))))
        again.finish()
    known: dict[str, tuple[Point, float]] = {}
    for point in table.tables("known"):
        at, sd = point.point(point.need("at"), "at"), point.quantity("sd", "length", default=KNOWN_SD)
        known[point.text("mark")] = (at, sd)
        point.finish()
    table.finish()
    return lay_out_notes(walks, known=known, file=table.place())


def _measures(table: Table) -> dict[str, Any]:
    """What one walk was measured with."""
    pace, pace_sd = _pace(table)
    return {
        "pace": pace,
        "pace_sd": pace_sd,
        "angle_sd": table.quantity("angle_sd", "angle", default=ANGLE_SD),
        "gate_width": table.quantity("gate_width", "length", default=GATE_WIDTH),
    }


def _notes(table: Table) -> list[Note]:
    """Every note with its line in the file."""
    value = table.need("notes")
    texts = value if isinstance(value, list) else [value]
    if not texts or not all(isinstance(text, str) for text in texts):
        table.fail("'notes' is not text.", "notes", hint='Write notes = """, then one note a line, then """.')
    notes: list[Note] = []
    line = table.lines.of(table.section, "notes") or 1
    for text in texts:
        line = table.lines.of_text(text, after=line)
        for further, piece in split_notes(text):
            notes.append(read_note(piece, where=f"{table.file}, line {line + further}, note {len(notes) + 1}"))
    return notes


def _pace(table: Table) -> tuple[float | None, float]:
    """Length of a pace and its standard uncertainty, given or from paces counted along known lengths."""
    if "calibration" not in table:
        if "pace" not in table:
            return None, 0.0
        pace = table.quantity("pace", "length")
        return _plausible(table, "pace", pace), table.quantity("pace_sd", "length", default=PACE_SD * pace)
    counted = np.array([_counted(row) for row in table.tables("calibration")])
    if not len(counted):
        table.fail("'calibration' has no entries.", "calibration", hint='[{ paces = 66, length = "50 m" }]')
    single = counted[:, 1] / counted[:, 0]
    pace = float(counted[:, 1].sum() / counted[:, 0].sum())
    spread = float(np.std(single, ddof=1) / math.sqrt(len(single))) if len(single) > 1 else PACE_SD * pace
    return _plausible(table, "calibration", pace), spread


def _counted(row: Table) -> tuple[float, float]:
    """Paces and the known length along which they were counted. [-], [m]"""
    paces, length = row.quantity("paces", "ratio"), row.quantity("length", "length")
    row.finish()
    if paces <= 0.0 or length <= 0.0:
        row.fail(f"{paces:g} paces over {length:g} m say nothing about a pace.", "paces")
    return paces, length


def _plausible(table: Table, key: str, pace: float) -> float:
    """A pace length that a person can have."""
    if not 0.3 <= pace <= 2.0:
        table.fail(f"A pace of {pace:.2f} m is not plausible (0.3 to 2 m).", key, hint="One pace is one step.")
    return pace
