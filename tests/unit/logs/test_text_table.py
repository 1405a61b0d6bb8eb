"""Delimited text: layouts, spellings, damage."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from conewise.logs.text_table import NotATableError, read_text_table

ROWS = [(0.0, 1.25, 48.5), (0.1, 1.5, 48.6), (0.2, 1.75, 48.7), (0.3, 2.0, 48.8)]
NAMES = ("time", "speed", "latitude")


def table(text, encoding="utf-8"):
    return read_text_table(text.encode(encoding), file="a.csv")


def codes(read):
    return [finding.code for finding in read.findings]


def laid_out(delimiter, decimal, *, header=True):
    rows = [delimiter.join(str(value).replace(".", decimal) for value in row) for row in ROWS]
    return "\n".join([delimiter.join(NAMES), *rows] if header else rows) + "\n"


@pytest.mark.parametrize(
    ("delimiter", "decimal"),
    [(",", "."), (";", "."), (";", ","), ("\t", "."), ("\t", ","), ("|", "."), (" ", "."), (" ", ",")],
)
@pytest.mark.parametrize("header", [True, False])
def test_any_delimiter_and_decimal_sign(delimiter, decimal, header):
    read = table(laid_out(delimiter, decimal, header=header))
    assert pytest.approx(np.array(ROWS)) == np.array([column.values for column in read.columns]).T
    assert [column.name for column in read.columns] == (list(NAMES) if header else ["column 1", "column 2", "column 3"])


def test_runs_of_blanks_are_one_delimiter():
    read = table("  time   speed\n  0.0    1.0\n  0.1   12.0\n  0.2  112.0\n")
    assert read.columns[1].values == pytest.approx([1.0, 12.0, 112.0])


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends(encoding, end):
    read = table(end.join(["time;angle (°)", "0,0;1,5", "0,1;2,5", "0,2;3,5", ""]), encoding)
    assert [(column.name, column.unit) for column in read.columns] == [("time", ""), ("angle", "°")]
    assert read.columns[1].values == pytest.approx([1.5, 2.5, 3.5])


@pytest.mark.parametrize(
    "header",
    [
        "Time [s],Speed [km/h],Lat (deg)",
        "Time (s),Speed (km/h),Lat <deg>",
        "Time {s},Speed km/h,Lat_deg",
        "Time (s),Speed.km/h,Lat deg",
        "Time,Speed,Lat\ns,km/h,deg",
        "Time,Speed,Lat\n(s),(km/h),(deg)",
        '"Time [s]","Speed [km/h]","Lat [deg]"',
    ],
)
def test_units_in_the_header_or_below_it(header):
    read = table(f"{header}\n0,36,48.1\n1,37,48.2\n2,38,48.3\n")
    names_and_units = [(column.name, column.unit) for column in read.columns]
    assert names_and_units == [("Time", "s"), ("Speed", "km/h"), ("Lat", "deg")]


def test_lines_above_the_table_are_passed_over_and_tell_the_start():
    text = "Recorder 7\nDriver: somebody\nStarted: 2024-05-17 10:15:00.250\n\nTime,Speed\ns,m/s\n\n0,1\n1,2\n2,3\n"
    read = table(text)
    assert [column.name for column in read.columns] == ["Time", "Speed"]
    assert read.start == datetime(2024, 5, 17, 10, 15, 0, 250000, tzinfo=UTC)
    assert read.place(0) == "line 8"


MOMENT = datetime(2024, 5, 17, 10, 15, 30, 500000, tzinfo=UTC).timestamp()


@pytest.mark.parametrize(
    ("written", "form", "value"),
    [
        ("2024-05-17T10:15:30.5Z", "datetime", MOMENT),
        ("2024-05-17 10:15:30.500", "datetime", MOMENT),
        ("2024-05-17T12:15:30.5+02:00", "datetime", MOMENT),
        ("2024-05-17T04:45:30.5-0530", "datetime", MOMENT),
        ("2024/05/17 10:15:30,5", "datetime", MOMENT),
        ("17.05.2024 10:15:30.5", "datetime", MOMENT),
        ("05/17/2024 10:15:30.5 AM", "datetime", MOMENT),
        ("05/17/2024 10:15:30.5 PM", "datetime", MOMENT + 43200.0),
        ("05/06/2024 10:15:30.5", "clock", 36930.5),  # the fifth of June or the sixth of May
        ("10:15:30.5", "clock", 36930.5),
        ("12:15:30.5 AM", "clock", 930.5),
        ("02:30.25", "clock", 150.25),
        ("2024-05-17", "date", MOMENT - 36930.5),
        ("17.05.2024", "date", MOMENT - 36930.5),
        ("57.8 km/h", "number", 57.8),
        ("48.1173 N", "number", 48.1173),
        ("48.1173 S", "number", -48.1173),
        ("11.5° W", "number", -11.5),
    ],
)
def test_text_that_is_a_value(written, form, value):
    read = table("n;v\n" + "".join(f"{n};{written}\n" for n in range(5)))
    assert read.columns[1].form == form
    assert read.columns[1].values == pytest.approx([value] * 5, abs=1e-6)


def test_a_letter_of_the_hemisphere_in_a_column_of_its_own():
    read = table("t,lat,ns,lon,ew\n" + "".join(f"{n},48.5,S,11.5,{'W' if n else 'E'}\n" for n in range(4)))
    assert read.columns[1].values == pytest.approx([-48.5] * 4)
    assert read.columns[3].values == pytest.approx([11.5, -11.5, -11.5, -11.5])


def test_words_are_no_values():
    read = table("t,note\n0,start\n1,\n2,cone\n3,\n")
    assert read.columns[1].form == "text"
    assert read.columns[1].is_empty


def test_a_time_without_a_zone_is_said_to_be_taken_as_utc():
    rows = "".join(f"2024-05-17 10:15:3{n};1\n" for n in range(4))
    assert codes(table("t;v\n" + rows)) == ["no-time-zone"]
    assert codes(table("t;v\n" + rows.replace(";", "Z;"))) == []


def test_columns_of_one_name_are_told_apart():
    read = table("t,v,v,\n0,1,2,3\n1,1,2,3\n2,1,2,3\n")
    assert [column.name for column in read.columns] == ["t", "v", "v (2)", "column 4"]


def test_a_row_that_is_cut_off_is_left_out():
    read = table("t,a,b\n0,1,2\n1,1,2\n2,1,2\n3,1")
    assert codes(read) == ["truncated"]
    assert read.findings[0].where == "line 5"
    assert read.columns[0].values == pytest.approx([0, 1, 2])


def test_rows_with_too_few_and_too_many_fields_are_said_with_their_line():
    read = table("t,a,b\n0,1,2\n1,1\n2,1,2\n3,1,2,9\n4,1,2\n" + "".join(f"{n},1,2\n" for n in range(5, 20)))
    assert codes(read) == ["ragged-rows"]
    assert read.findings[0].where == "line 3"
    assert read.columns[0].values == pytest.approx(np.arange(20))
    assert np.isnan(read.columns[2].values[1])


def test_fields_that_are_no_numbers_are_empty():
    read = table("t,a\n" + "".join(f"{n},{'n/a' if n == 3 else n}\n" for n in range(30)))
    assert np.flatnonzero(np.isnan(read.columns[1].values)).tolist() == [3]


@pytest.mark.parametrize("text", ["only words here\nand here\n", "1\n2\n3\n", "{}", ";;;;\n;;;;\n", "a,b\nc,d\n"])
def test_text_without_a_table_is_refused(text):
    with pytest.raises(NotATableError):
        table(text)
