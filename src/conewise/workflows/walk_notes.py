"""Notes taken on a walk of a course, typed one after the other; a second walk corrects the first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.course.files import CourseFileExistsError, CourseFileMissingError, write_text
from conewise.course.toml_file import read_toml
from conewise.course.walk_notes import read_note, split_notes
from conewise.reports.files import refuse_unwritable, write_whole
from conewise.toml_writing import toml_string

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from conewise.course.layout import Course
    from conewise.course.walk_notes import Note


def understood(line: str, *, number: int) -> list[Note]:
    """The notes of one typed line.

    Raises
    ------
    WalkNoteError
        If one of them is not understood; nothing of the line counts then.
    """
    return [read_note(piece, where=f"note {number + k}") for k, (_, piece) in enumerate(split_notes(line))]


def refuse_target(path: Path, *, again: bool, force: bool) -> None:
    """Say before the first note that the file cannot take them.

    Raises
    ------
    CourseFileExistsError
        If it is there, is not to be walked again, and `force` is not said.
    CourseFileMissingError
        If it is to be walked again and is not there.
    FileEndingError, UnwritableFileError
        If its name does not end in .toml, or it cannot be written.
    """
    refuse_unwritable(path, "A course", ".toml")
    if again and not path.is_file():
        raise CourseFileMissingError(path)
    if path.exists() and not again and not force:
        raise CourseFileExistsError(path)


def write_walk(path: Path, notes: Sequence[str], *, name: str = "", pace: str = "", force: bool = False) -> Course:
    """A new course file of these notes; it is read before it is written.

    Parameters
    ----------
    path : Path
    notes : sequence of str
        One note each.
    name : str, default the name of the file
    pace : str, default ""
        Length of a pace with its unit.

    Raises
    ------
    ConewiseError
        If the notes make no course, or the file cannot be written; nothing is written then.
    """
    title = name or path.stem.replace("-", " ").replace("_", " ").capitalize()
    text = f"name = {toml_string(title)}\n\n[walk]\n{_walk(notes, pace)}"
    course = read_toml(text, file=str(path))
    write_text(text, path, force=force)
    return course


def add_walk(path: Path, notes: Sequence[str], *, pace: str = "") -> Course:
    """Another walk of the course of a file, added to it; it is read before it is written.

    Raises
    ------
    ConewiseError
        If the file is no walked course, the walks do not tell the same course, or it cannot be written; the file
        stays as it is then.
    """
    before = path.read_text(encoding="utf-8-sig")
    text = f"{before.rstrip()}\n\n[[walk.again]]\n{_walk(notes, pace)}"
    course = read_toml(text, file=str(path))
    write_whole(path, text.encode())
    return course


def _walk(notes: Sequence[str], pace: str) -> str:
    """The keys of one walk. Notes hold no quotation marks or backslashes: no word of theirs does."""
    body = "\n".join(note.replace("\\", " ").replace('"', " ") for note in notes)
    return (f"pace = {toml_string(pace)}\n" if pace else "") + f'notes = """\n{body}\n"""\n'
