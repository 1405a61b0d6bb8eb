"""Course files in and out: `read_course` and `write_course` choose the format by the file's name."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.errors import ByFace, ConflictError, InputError, NotFoundError, no_such_file
from conewise.toml_source import plain_text, text_problem

if TYPE_CHECKING:
    from pathlib import Path

    from conewise.course.layout import Course

READS = (".toml", ".csv", ".geojson", ".json", ".gpx")
WRITES = (".toml", ".csv", ".geojson", ".json")

_WRITTEN = (
    "Courses are written as .toml (everything), .geojson (everything, for maps) or .csv (cones and features); "
    "conewise course show --svg draws the plan."
)
_MAX_BYTES = 50_000_000


class CourseFileMissingError(NotFoundError):
    """There is no such course file."""

    code = "course-file-missing"

    def __init__(self, path: Path) -> None:
        sentence, folder = no_such_file(path, "course file")
        near = sorted(p.name for p in folder.glob("*") if p.suffix in READS) if folder.is_dir() else []
        super().__init__(
            sentence,
            where=str(path),
            hint=f"Course files there: {', '.join(near[:8])}." if near else "Check the spelling and the folder.",
        )


class NotACourseFileError(InputError):
    """The file is empty, not text, too large, or of a kind that is not read."""

    code = "course-file"
    default_hint = ByFace(
        "Give a course as .toml, .csv, .geojson or .gpx, or draw it here.",
        typed="Give a course as .toml, .csv, .geojson or .gpx; `conewise course new` writes one to start from.",
    )

    def __init__(self, problem: str, path: Path, *, hint: str = "") -> None:
        super().__init__(problem, where=str(path), hint=hint)


class CourseFileUnwritableError(InputError):
    """The file to be written cannot be written there."""

    code = "course-file-unwritable"
    default_hint = "Name a file in a folder that exists and that you may write to."

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(f"The file cannot be written: {reason}.", where=str(path))


class CourseFileExistsError(ConflictError):
    """The file to be written is already there."""

    code = "course-file-exists"

    def __init__(self, path: Path) -> None:
        super().__init__(f"'{path.name}' is already there and stays as it is.", where=str(path))


def read_course(path: Path) -> Course:
    """Course of a file in TOML, CSV, GeoJSON or GPX.

    Parameters
    ----------
    path : Path
        The file; its ending names the format.

    Returns
    -------
    Course
        In plan metres; `source` is the path.

    Raises
    ------
    CourseFileMissingError
        If there is no such file.
    NotACourseFileError
        If it is empty, not text, or of another kind.
    InputError
        If its content cannot be used; file, line, feature and field are named.
    """
    return course_of(_text(path), path)


def course_of(text: str, file: Path) -> Course:
    """Course of a text; the ending of the file's name says in which format it is.

    Parameters
    ----------
    text : str
    file : Path
        The name, for the format and for messages; it is not opened.

    Raises
    ------
    NotACourseFileError
        If courses are not read from such a file.
    InputError
        If the content cannot be used; file, line, feature and field are named.
    """
    suffix = file.suffix.lower()
    if suffix == ".toml":
        from conewise.course.toml_file import read_toml

        return read_toml(text, file=str(file))
    if suffix == ".csv":
        from conewise.course.table_file import read_csv

        return read_csv(text, file=str(file))
    if suffix in {".geojson", ".json"}:
        from conewise.course.geojson import read_geojson

        return read_geojson(text, file=str(file))
    if suffix == ".gpx":
        from conewise.course.gpx import read_gpx

        return read_gpx(text, file=str(file))
    raise NotACourseFileError(f"A course is not read from a '{suffix or 'nameless'}' file.", file)


def course_of_bytes(content: bytes, file: Path) -> Course:
    """Course of a file's content as somebody sent it; see `course_of`.

    Raises
    ------
    NotACourseFileError
        If it is empty, not text, or too large.
    """
    return course_of(_plain(content, file), file)


def write_course(course: Course, path: Path, *, force: bool = False) -> list[str]:
    """Write a course in the format that the file's ending names.

    Parameters
    ----------
    course : Course
        What to write.
    path : Path
        The file; `.toml` keeps everything, `.geojson` too (to 1 mm), `.csv` cones and features.
    force : bool, default False
        Whether a file that is there may be replaced.

    Returns
    -------
    list of str
        What the format left out, in words; empty where nothing was.

    Raises
    ------
    CourseFileExistsError
        If the file is there and `force` is not said.
    NotACourseFileError
        If courses are not written in that format.
    NotAnchoredError
        If GeoJSON is asked for and the site has no anchor.
    """
    text, left_out = text_of(course, path)
    write_text(text, path, force=force)
    return left_out


def text_of(course: Course, file: Path) -> tuple[str, list[str]]:
    """A course as the text of a file, in the format that its ending names, and what that leaves out, in words.

    Raises
    ------
    NotACourseFileError
        If courses are not written in that format.
    NotAnchoredError
        If GeoJSON is asked for and the site has no anchor.
    """
    suffix = file.suffix.lower()
    if suffix not in WRITES:
        raise NotACourseFileError(f"A course is not written to a '{suffix or 'nameless'}' file.", file, hint=_WRITTEN)
    if suffix == ".toml":
        from conewise.course.toml_text import course_text

        return course_text(course), []
    if suffix == ".csv":
        from conewise.course.table_file import csv_text, left_out_of_csv

        return csv_text(course), left_out_of_csv(course)
    from conewise.course.geojson import geojson_text

    return geojson_text(course), []


def write_text(text: str, path: Path, *, force: bool) -> None:
    """Write a text as UTF-8 with plain line ends; a file that is there stays unless `force` is said.

    Raises
    ------
    CourseFileExistsError
        If the file is there and `force` is not said.
    CourseFileUnwritableError
        If its folder is not there, or the system refuses.
    """
    if not path.parent.is_dir():
        raise CourseFileUnwritableError(path, "its folder does not exist")
    try:
        with path.open("w" if force else "x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        raise CourseFileExistsError(path) from None
    except OSError as error:
        raise CourseFileUnwritableError(path, error.strerror or "the system refuses") from None


def _text(path: Path) -> str:
    """The file's text, whatever line ends and byte-order mark it has."""
    if not path.is_file():
        raise CourseFileMissingError(path)
    with path.open("rb") as file:
        return _plain(file.read(_MAX_BYTES + 1), path)


def _plain(content: bytes, file: Path) -> str:
    """The text of a file's content, whatever line ends and byte-order mark it has."""
    if len(content) > _MAX_BYTES:
        raise NotACourseFileError(f"'{file.name}' has more than 50 MB; a course is a small text.", file)
    text = plain_text(content)
    if problem := text_problem(text):
        raise NotACourseFileError(f"'{file.name}' {problem}.", file)
    return text
