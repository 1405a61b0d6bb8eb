"""Times files as people write them, and what is said of those that cannot be read."""

from __future__ import annotations

import numpy as np
import pytest

from conewise.proof.times_file import TimesFileError, TimesFileMissingError, read_times, times_of

HEAD = "date,event,driver,run,raw_time_s,cones,outcome,setup,passenger,surface_c\n"
ROW = "2031-05-10,spring,Ash,1,47.310,1,finished,old,yes,21.5\n"


def codes(times):
    return [finding.code for finding in times.findings]


def read(rows, head=HEAD):
    return times_of(head + rows, file="t.csv")


def test_every_column():
    times = read(ROW)
    assert (times.raw_time[0], times.cones[0], times.setup[0], times.surface[0]) == (47.31, 1.0, "old", 21.5)
    assert bool(times.passenger[0])
    assert times.findings == ()


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("1:02.345", 62.345), ("1:02,345", 62.345), ("62.345", 62.345), ("47,31", 47.31), ("47", 47.0), ("47.3 s", 47.3)],
)
def test_times_in_many_forms(text, seconds):
    assert times_of(f"raw_time_s;setup\n{text};old\n", file="t").raw_time[0] == pytest.approx(seconds)


@pytest.mark.parametrize("text", ["-47.3", "1:75.0", "1.02.345", "4731", "47.3.1", "fast", "4.9", "nan", "1,234.5"])
def test_times_that_cannot_be_are_findings_with_their_line(text):
    times = times_of(f"raw_time_s;setup\n47.3;old\n{text};new\n", file="t.csv")
    assert "row-unread" in codes(times)
    (finding,) = [finding for finding in times.findings if finding.code == "row-unread"]
    assert finding.where == "t.csv, line 3"
    assert times.raw_time.size == 1


def test_semicolons_decimal_commas_marks_and_wide_text(tmp_path):
    text = "Setup;Raw time s;Run\r\nalt;47,310;1\r\nneu;46,9;2\r\n"
    for encoding in ("utf-8-sig", "utf-16"):
        path = tmp_path / "t.csv"
        path.write_bytes(text.encode(encoding))
        assert read_times(path).raw_time == pytest.approx([47.31, 46.9])


def test_a_decimal_comma_between_commas_is_not_guessed():
    times = read(ROW + "2031-05-10,spring,Ash,2,47,31,0,finished,old,,21\n")
    assert codes(times) == ["row-unread"]
    assert "quotation marks" in times.findings[0].message
    assert read('2031-05-10,spring,Ash,1,"47,31",0,finished,old,,21\n').raw_time[0] == 47.31


def test_what_became_of_a_run():
    times = read(ROW + "2031-05-10,spring,Ash,2,,,DNF,old,,\n2031-05-10,spring,Ash,3,48.0,,re-run,old,,\n")
    assert times.outcome.tolist() == ["finished", "dnf", "rerun"]
    assert times.is_timed.tolist() == [True, False, False]
    assert np.isnan(times.cones[1])


def test_cones_behind_the_time():
    times = times_of("raw_time_s,setup\n46.02+2,old\n", file="t")
    assert (times.raw_time[0], times.cones[0]) == (46.02, 2.0)


def test_doubled_rows_count_once_and_contradicting_ones_not_at_all():
    times = read(ROW + ROW + ROW.replace(",1,47", ",2,47") + ROW.replace(",1,47.310", ",2,48.000"))
    assert times.run.tolist() == [1]
    assert codes(times) == ["row-doubled", "row-contradicted"]
    assert times.findings[1].where == "t.csv, line 4, 5"


def test_an_event_of_two_days_is_two_events():
    times = read(ROW + ROW.replace("05-10", "05-11"))
    assert times.event.tolist() == ["spring, 2031-05-10", "spring, 2031-05-11"]


def test_dates_that_may_mean_two_days_are_refused():
    rows = "{},e,Ash,1,47.0,,,old,,\n{},e,Ash,2,47.0,,,old,,\n"
    assert codes(read(ROW + rows.format("03/04/2031", "04/04/2031"))) == ["row-unread"] * 2
    assert codes(read(rows.format("03/04/2031", "13/04/2031"))) == []
    assert codes(read(rows.format("03.04.2031", "04.04.2031"))) == []


def test_runs_come_in_driving_order_whatever_the_order_of_the_rows():
    later = ROW.replace("05-10", "06-10").replace("spring", "summer")
    times = read(later + ROW.replace(",1,47", ",2,47") + ROW)
    assert list(zip(times.event.tolist(), times.run.tolist(), strict=True)) == [
        ("spring", 1),
        ("spring", 2),
        ("summer", 1),
    ]


def test_fahrenheit():
    times = times_of("raw_time_s,setup,surface_f\n46.02,old,77\n", file="t")
    assert times.surface[0] == pytest.approx(25.0)


@pytest.mark.parametrize(
    ("column", "cell", "celsius"),
    [("surface_c", "86 F", 30.0), ("surface_c", "86°F", 30.0), ("surface_f", "25 C", 25.0)],
)
def test_a_unit_behind_a_temperature_goes_before_that_of_its_column(column, cell, celsius):
    times = times_of(f"raw_time_s,setup,{column}\n46.02,old,{cell}\n", file="t")
    assert times.surface[0] == pytest.approx(celsius)
    (finding,) = [one for one in times.findings if one.code == "surface-unit"]
    assert (finding.where, finding.severity) == ("t, line 2", "warning")
    assert f"'{cell}' in the column {column}: taken as {celsius:.1f} °C." in finding.message


@pytest.mark.parametrize(("column", "cell"), [("surface_c", "30 C"), ("surface_f", "86 F"), ("surface_c", "30")])
def test_a_unit_that_is_the_column_s_is_no_finding(column, cell):
    times = times_of(f"raw_time_s,setup,{column}\n46.02,old,{cell}\n", file="t")
    assert times.surface[0] == pytest.approx(30.0)
    assert "surface-unit" not in codes(times)


def test_fahrenheit_in_a_column_of_celsius_is_named():
    rows = "46.02,old,30\n46.01,old,86\n"
    times = times_of(f"raw_time_s,setup,surface_c\n{rows}", file="t")
    assert times.raw_time.tolist() == [46.02]
    (finding,) = [one for one in times.findings if one.code == "row-unread"]
    assert finding.where == "t, line 3"
    assert "86 °C is no temperature of a surface; -30 to 75 °C are; °F stand in a column surface_f" in finding.message


@pytest.mark.parametrize("cell", ["run", "cones", "passenger", "surface_c", "outcome"])
def test_a_cell_that_is_not_understood_is_a_finding(cell):
    cells = dict(zip(HEAD.strip().split(","), ROW.strip().split(","), strict=True)) | {cell: "?!"}
    times = read(ROW.replace(",1,47", ",2,47") + ",".join(cells.values()) + "\n")
    assert codes(times) == ["row-unread"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is empty"),
        ("\x89PNG\x00\x01\x02", "not a text file"),
        ("a,b\n1,2\n", "'raw_time_s' is missing"),
        ("raw_time_s,raw_time,setup\n1,2,3\n", "two columns"),
        (HEAD, "No run can be used"),
        (HEAD + "2031-05-10,spring,Ash,1,-3,1,finished,old,yes,21.5\n", "No run can be used"),
    ],
)
def test_files_that_cannot_be_used(tmp_path, text, words):
    path = tmp_path / "t.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(TimesFileError, match=words):
        read_times(path)


def test_a_missing_file(tmp_path):
    with pytest.raises(TimesFileMissingError):
        read_times(tmp_path / "none.csv")


def test_many_bad_rows_are_counted():
    times = read(ROW + "2031-05-10,spring,Ash,2,x,1,finished,old,yes,21.5\n" * 50)
    assert len(times.findings) == 21
    assert "30 more" in times.findings[-1].message


def test_unknown_columns_are_said():
    times = times_of("raw_time_s,setup,tyre_pressure\n46.02,old,2.1\n", file="t")
    assert "column-unused" in codes(times)


@pytest.mark.parametrize(("text", "said"), [(" \n\t\n", "is empty"), ("\x89PNG\x00\x01", "not a text file")])
def test_a_text_that_came_without_a_file_is_checked_too(text, said):
    with pytest.raises(TimesFileError, match=said):
        times_of(text, file="photo.csv")
