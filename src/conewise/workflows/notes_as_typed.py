"""Walk notes while somebody types them: what is understood is drawn, what is not is said at its line."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from conewise.course.toml_file import read_toml
from conewise.course.walk_notes import WalkNoteError, read_note, split_notes
from conewise.errors import ConewiseError, InputError
from conewise.toml_writing import toml_string

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.course.layout import Course

_OPEN_END = 20.0  # from the last note to the finish that is missing yet [m]


class NotesEmptyError(InputError):
    """No note was understood, so there is nothing to draw."""

    code = "notes-empty"
    default_hint = 'Begin with "start", then say what comes: "slalom 5 cones every 18 m first to your left after 20 m".'

    def __init__(self) -> None:
        super().__init__("None of these notes is understood yet.", where="notes")


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteProblem:
    """What is wrong with one line."""

    line: int  # from 1
    message: str
    hint: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AsTyped:
    """The course as far as its notes are understood."""

    course: Course
    problems: tuple[NoteProblem, ...]
    is_complete: bool  # whether the notes themselves have a start and a finish, and all of them are understood

    @property
    def told(self) -> dict[str, Any]:
        """For JSON, beside the course."""
        problems = [{"line": p.line, "message": p.message, "hint": p.hint} for p in self.problems]
        return {"problems": problems, "is_complete": self.is_complete}


def as_typed(name: str, notes: str, *, pace: str = "", gate_width: str = "") -> AsTyped:
    """A course of notes, where possible of those that are understood alone.

    Parameters
    ----------
    name : str
        Of the course.
    notes : str
        One a line, or parted by semicolons.
    pace, gate_width : str, optional
        Length of a pace, opening of a gate for which the note names none; with their units.

    Raises
    ------
    NotesEmptyError
        If no note is understood.
    InputError
        If pace or gate width cannot be used, or the notes make no course.
    """
    good: list[tuple[int, str]] = []
    problems: list[NoteProblem] = []
    for line, piece in split_notes(notes):
        try:
            read_note(piece, where=f"line {line + 1}")
        except (WalkNoteError, InputError) as error:
            problems.append(NoteProblem(line=line + 1, message=error.message, hint=error.hint))
        else:
            good.append((line + 1, piece))
    if not good:
        raise NotesEmptyError
    words = [piece.lower().split()[0] for _, piece in good]
    is_whole = words[0] == "start" and "finish" in words
    settings = {"pace": pace, "gate_width": gate_width}
    while True:
        try:
            course = _course(name, [piece for _, piece in good], settings)
        except ConewiseError as error:
            number = re.search(r"note (\d+)", error.where)
            at = int(number[1]) - (0 if words[0] == "start" else 1) - 1 if number else -1
            if not 0 < at < len(good):
                raise
            problems.append(NoteProblem(line=good[at][0], message=error.message, hint=error.hint))
            good = good[:at]
        else:
            told = tuple(sorted(problems, key=lambda problem: problem.line))
            return AsTyped(course=course, problems=told, is_complete=is_whole and not problems)


def _course(name: str, notes: Sequence[str], settings: dict[str, str]) -> Course:
    """The course of these notes, with a start before them and a finish behind them where they have none."""
    first = [] if notes[0].lower().startswith("start") else ["start"]
    last = [] if any(note.lower().startswith("finish") for note in notes) else [f"finish after {_OPEN_END:g} m"]
    body = "\n".join(note.replace("\\", " ").replace('"', " ") for note in (*first, *notes, *last))
    fields = "".join(f"{key} = {toml_string(value)}\n" for key, value in settings.items() if value.strip())
    text = f'name = {toml_string(name)}\n\n[walk]\n{fields}notes = """\n{body}\n"""\n'
    return read_toml(text, file="notes")
