"""Reading and writing by the file's name; what is no course file at all."""

from __future__ import annotations

import zlib

import pytest

from conewise.course.files import (
    CourseFileExistsError,
    CourseFileMissingError,
    CourseFileUnwritableError,
    NotACourseFileError,
    read_course,
    write_course,
    write_text,
)
from conewise.course.layout import Cone, ConePass, Course, CourseFeature, FeatureKind, PassSide
from conewise.errors import ConewiseError


def gate(name, kind, left, right):
    passed = (
        ConePass(cone=left, pass_side=PassSide.RIGHT),
        ConePass(cone=right, pass_side=PassSide.LEFT),
    )
    return CourseFeature(id=name, kind=kind, crossings=(passed,))


def short_course():
    cones = [("a", 0, 3), ("b", 0, -3), ("c", 40, 3), ("d", 40, -3)]
    return Course(
        name="Short",
        cones=tuple(Cone(id=i, x=x, y=y) for i, x, y in cones),
        features=(gate("start", FeatureKind.START, "a", "b"), gate("finish", FeatureKind.FINISH, "c", "d")),
    )


def png():
    """One grey pixel, after the PNG specification (ISO/IEC 15948): signature, header, data, end."""

    def chunk(kind, data):
        return len(data).to_bytes(4, "big") + kind + data + zlib.crc32(kind + data).to_bytes(4, "big")

    header = chunk(b"IHDR", bytes([0, 0, 0, 1, 0, 0, 0, 1, 8, 0, 0, 0, 0]))
    return b"\x89PNG\r\n\x1a\n" + header + chunk(b"IDAT", zlib.compress(b"\x00\x80")) + chunk(b"IEND", b"")


JPEG = bytes.fromhex("ffd8ffe000104a46494600010101006000600000ffdb004300") + bytes(range(256))  # JFIF 1.02 header


@pytest.mark.parametrize("suffix", [".toml", ".csv", ".geojson", ".json", ".gpx"])
@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is empty"),
        (b" \r\n\t\n", "is empty"),
        (b"\xef\xbb\xbf", "is empty"),
        (png(), "not a text file"),
        (JPEG, "not a text file"),
        (b"PK\x03\x04\x14\x00\x00\x00", "not a text file"),
        ("name = 'Küste'".encode("latin-1"), "not in UTF-8"),
    ],
)
def test_what_is_no_course_file_is_told(tmp_path, suffix, content, said):
    path = tmp_path / f"course{suffix}"
    path.write_bytes(content)
    with pytest.raises(NotACourseFileError, match=said) as caught:
        read_course(path)
    assert caught.value.where == str(path)
    assert ".toml" in caught.value.hint


@pytest.mark.parametrize("suffix", [".toml", ".csv", ".geojson", ".gpx"])
@pytest.mark.parametrize(
    "text", ["hello", "[[[[", "{}", "<gpx", "a,b,c\n1,2,3", "\x7f\x1b[31m", "=" * 10_000, "[" * 100_000]
)
def test_any_text_ends_in_an_error_of_ours(tmp_path, suffix, text):
    path = tmp_path / f"course{suffix}"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ConewiseError) as caught:
        read_course(path)
    assert "course" in caught.value.where
    assert caught.value.hint


def test_a_file_that_is_not_there_names_those_that_are(tmp_path):
    write_course(short_course(), tmp_path / "short.toml")
    with pytest.raises(CourseFileMissingError) as caught:
        read_course(tmp_path / "shrot.toml")
    assert "short.toml" in caught.value.hint
    assert caught.value.exit_code == 3


def test_a_folder_is_no_file(tmp_path):
    with pytest.raises(CourseFileMissingError):
        read_course(tmp_path)


def test_other_endings_are_refused(tmp_path):
    path = tmp_path / "course.txt"
    path.write_text("x", encoding="utf-8")
    with pytest.raises(NotACourseFileError, match=r"'\.txt'"):
        read_course(path)
    with pytest.raises(NotACourseFileError, match=r"'\.gpx'"):
        write_course(short_course(), tmp_path / "course.gpx")


@pytest.mark.parametrize("suffix", [".toml", ".csv"])
def test_nothing_is_replaced_unless_said(tmp_path, suffix):
    path = tmp_path / f"course{suffix}"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(CourseFileExistsError, match="already there") as caught:
        write_course(short_course(), path)
    assert path.read_text(encoding="utf-8") == "mine"
    assert caught.value.exit_code == 4
    assert "--force" in caught.value.as_typed()["hint"]
    write_course(short_course(), path, force=True)
    assert read_course(path).features == short_course().features


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(CourseFileUnwritableError):
        write_course(short_course(), tmp_path / "no" / "course.toml")


def test_endings_in_capitals_and_old_line_ends(tmp_path):
    path = tmp_path / "COURSE.TOML"
    write_course(short_course(), path)
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    assert read_course(path).cones == short_course().cones


def test_file_in_a_missing_folder_or_in_place_of_a_folder_says_so(tmp_path):
    for target in (tmp_path / "none" / "a.toml", tmp_path):
        with pytest.raises(CourseFileUnwritableError) as caught:
            write_text("x", target, force=True)
        assert caught.value.exit_code == 2
        assert caught.value.where == str(target)
