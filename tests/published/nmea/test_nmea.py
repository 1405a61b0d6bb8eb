"""Sentences of NMEA 0183 with known checksums and meanings; see CITATION.md."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import reduce

import numpy as np
import pytest

from conewise.logs.nmea import NoEpochError, read_nmea

GGA = "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47"
RMC = "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A"
PUBLISHED = [
    GGA,
    RMC,
    "$GPGSA,A,3,04,05,,09,12,,,24,,,,,2.5,1.3,2.1*39",
    "$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K*48",
    "$GPGLL,4916.45,N,12311.12,W,225444,A,*1D",
    "$GPRMC,225446,A,4916.45,N,12311.12,W,000.5,054.7,191194,020.3,E*68",
]


def sentence(body):
    """A sentence with its checksum."""
    return f"${body}*{reduce(lambda a, b: a ^ b, body.encode()):02X}"


def recording(*lines):
    return read_nmea("\r\n".join(lines).encode(), file="a.nmea")


def later(line, clock):
    """The same sentence at another time of day."""
    body = line[1:].partition("*")[0].split(",")
    return sentence(",".join([body[0], clock, *body[2:]]))


@pytest.mark.parametrize("line", PUBLISHED, ids=lambda line: line[3:6])
def test_published_checksums_are_right_and_any_other_is_refused(line):
    body, _, checksum = line[1:].partition("*")
    assert sentence(body) == line
    log = recording(GGA, line, later(GGA, "123520"))
    assert "sentence-broken" not in {finding.code for finding in log.findings}
    wrong = f"${body}*{int(checksum, 16) ^ 1:02X}"
    log = recording(GGA, wrong, later(GGA, "123520"))
    assert [(f.code, f.where) for f in log.findings if f.code == "sentence-broken"] == [("sentence-broken", "line 2")]


def test_the_published_fix_is_where_and_when_it_says():
    log = recording(GGA, RMC, later(GGA, "123520"))
    assert log.start == datetime(1994, 3, 23, 12, 35, 19, tzinfo=UTC)
    assert log.channels["latitude"].value[0] == pytest.approx(48.11730000, abs=1e-9)
    assert log.channels["longitude"].value[0] == pytest.approx(11.51666667, abs=1e-8)  # given to 8 digits
    assert log.channels["speed"].value[0] == pytest.approx(11.52356, abs=1e-5)  # 22.4 kn, given to 5 digits
    assert log.channels["course"].value[0] == pytest.approx(np.radians(84.4), rel=1e-12)
    assert log.channels["altitude"].value[0] == 545.4
    assert log.channels["hdop"].value[0] == 0.9
    assert log.channels["satellites"].value[0] == 8.0


def test_south_and_west_are_negative():
    log = recording(PUBLISHED[5], later(PUBLISHED[5].replace(",N,", ",S,"), "225447"))
    assert log.channels["longitude"].value == pytest.approx([-(123 + 11.12 / 60)] * 2, abs=1e-9)
    assert log.channels["latitude"].value == pytest.approx([49 + 16.45 / 60, -(49 + 16.45 / 60)], abs=1e-9) or (
        "hemisphere" in {finding.code for finding in log.findings}
    )


def test_a_clock_that_passes_midnight_runs_on():
    log = recording(
        later(RMC, "235959.50"), later(GGA, "235959.50"), later(GGA, "000000.00"),
        later(RMC.replace("230394", "240394"), "000000.00"), later(GGA, "000000.50"),
    )  # fmt: skip
    assert log.channels["latitude"].time == pytest.approx([0.0, 0.5, 1.0], abs=1e-6)
    assert log.start == datetime(1994, 3, 23, 23, 59, 59, 500000, tzinfo=UTC)


def test_without_any_date_midnight_is_passed_as_well():
    log = recording(later(GGA, "235959"), later(GGA, "000000"), later(GGA, "000001"))
    assert log.channels["latitude"].time == pytest.approx([0.0, 1.0, 2.0])
    assert log.start is None


def test_speed_and_course_come_from_vtg_where_there_is_no_rmc():
    log = recording(GGA, PUBLISHED[3], later(GGA, "123520"), PUBLISHED[3])
    assert log.channels["speed"].value == pytest.approx([5.5 * 1852 / 3600] * 2, rel=1e-12)
    assert log.channels["course"].value == pytest.approx([np.radians(54.7)] * 2, rel=1e-12)


def test_dilution_comes_from_gsa_where_gga_has_none():
    bare = GGA.replace(",0.9,", ",,")
    log = recording(later(bare, "123519"), PUBLISHED[2], later(bare, "123520"), PUBLISHED[2])
    assert log.channels["hdop"].value == pytest.approx([1.3, 1.3])


def test_of_two_talkers_the_combined_one_counts():
    combined = sentence(GGA[1:].partition("*")[0].replace("GPGGA", "GNGGA").replace("4807.038", "4807.040"))
    log = recording(GGA, combined, later(GGA, "123520"))
    assert log.channels["latitude"].value == pytest.approx([48 + 7.040 / 60, 48 + 7.038 / 60], abs=1e-9)
    assert [f.where for f in log.findings if f.code == "epoch-doubled"] == ["line 2"]


def test_sentences_without_a_fix_place_nothing():
    void = sentence("GPGGA,123519,4807.038,N,01131.000,E,0,00,99.9,,M,,M,,")
    with pytest.raises(NoEpochError):
        recording(sentence("GPGGA,,,,,,0,00,99.99,,,,,,"), sentence("GPRMC,,V,,,,,,,,,,N"))
    log = recording(void, later(GGA, "123520"), later(GGA, "123521"))
    assert log.channels["latitude"].value.size == 2
    assert log.channels["fix_quality"].value == pytest.approx([0.0, 1.0, 1.0])


def test_a_recording_without_any_checksum_is_taken_as_it_is_and_said():
    bare = [line.partition("*")[0] for line in (GGA, RMC, later(GGA, "123520"))]
    log = recording(*bare)
    assert log.channels["latitude"].value.size == 2
    assert "no-checksum" in {finding.code for finding in log.findings}


def test_sentences_may_stand_behind_something_else():
    log = recording(f"12:35:19.100 {GGA}", "# a remark", f"12:35:20.100 {later(GGA, '123520')}")
    assert log.channels["latitude"].value.size == 2
