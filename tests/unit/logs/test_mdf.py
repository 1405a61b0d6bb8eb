"""ASAM MDF 4: channels written by the reference library come back; damage and missing parts are said."""

from __future__ import annotations

import sys

import numpy as np
import pytest

from conewise.logs import mdf
from conewise.logs.mdf_blocks import broken_block
from conewise.logs.mdf_process import answer_for
from conewise.logs.readers import read_log
from tests.recorded import recorded

asammdf = pytest.importorskip("asammdf")

TIME = np.arange(500) * 0.01 + 3.0


@pytest.fixture(scope="module")
def physical(tmp_path_factory):
    """A file of channels that carry quantities themselves, in two groups with clocks of their own."""
    path = tmp_path_factory.mktemp("mdf") / "physical.mf4"
    with asammdf.MDF(version="4.10") as recording:
        fast = [
            asammdf.Signal(8.0 * np.sin(TIME), TIME, name="Accelerometer X", unit="m/s2"),
            asammdf.Signal((100.0 * np.clip(np.sin(TIME), 0, 1)).astype(np.uint8), TIME, name="Throttle", unit="%"),
        ]
        slow = [asammdf.Signal(36.0 + 18.0 * np.sin(TIME[::10]), TIME[::10], name="Vehicle Speed", unit="km/h")]
        recording.append(fast)
        recording.append(slow)
        recording.save(path, overwrite=True)
    return path


def test_physical_channels(physical):
    log = read_log(physical)
    assert log.channels["sensor_acceleration_x"].value == pytest.approx(8.0 * np.sin(TIME))
    assert log.channels["throttle"].value.max() == pytest.approx(1.0, abs=0.011)  # whole per cent
    assert log.channels["speed"].value == pytest.approx(10.0 + 5.0 * np.sin(TIME[::10]))
    assert log.channels["speed"].time == pytest.approx(TIME[::10] - 3.0)
    assert log.duration == pytest.approx(4.99)


def test_the_other_process_says_what_it_sees(physical, tmp_path):
    answer, arrays = answer_for(str(physical), "")
    assert answer["status"] == "ok"
    assert [column["name"] for column in answer["columns"]] == ["Accelerometer X", "Throttle", "Vehicle Speed"]
    assert len([name for name in arrays if name.startswith("t")]) == 2  # one clock for each group
    frames, dbc = recorded("mdf4_can", "drive.mf4"), recorded("mdf4_can", "gps_imu.dbc")
    assert answer_for(str(frames), "")[0]["status"] == "frames-only"
    assert answer_for(str(frames), str(dbc))[0]["status"] == "ok"
    other = tmp_path / "other.dbc"
    other.write_text('VERSION ""\n\nBU_:\n\nBO_ 77 other: 8 X\n SG_ A : 0|8@1+ (1,0) [0|0] "" X\n', encoding="utf-8")
    assert answer_for(str(frames), str(other))[0]["status"] == "dbc"
    spoilt = tmp_path / "spoilt.mf4"
    spoilt.write_bytes(b"MDF     4.11    " + b"\x00" * 300)
    assert mdf._answer(spoilt, None)[0]["status"] == "damaged"


def test_whole_blocks_are_found_whole_and_broken_ones_broken(physical):
    content = physical.read_bytes()
    assert broken_block(content) is None
    assert broken_block(content[: len(content) // 2]).problem == "it is cut off"
    assert broken_block(content[:70]).problem == "it is cut off"
    assert broken_block(content[:64] + b"??XX" + content[68:]).problem == "a link leads to no block"


def test_more_records_than_data_are_noticed(physical):
    content = bytearray(physical.read_bytes())
    group = content.index(b"##CG")
    n_links = int.from_bytes(content[group + 16 : group + 24], "little")
    cycles = group + 24 + 8 * n_links + 8
    content[cycles : cycles + 8] = (10**9).to_bytes(8, "little")
    assert (
        "more records than data" in broken_block(bytes(content)).problem
        or "unpacks" in broken_block(bytes(content)).problem
    )


def test_older_versions_are_named(tmp_path):
    path = tmp_path / "old.mdf"
    path.write_bytes(b"MDF     3.30    " + b"\x00" * 300)
    with pytest.raises(mdf.MdfError, match=r"version 3\.30"):
        read_log(path)


def test_a_process_that_falls_is_a_damaged_file(physical, monkeypatch):
    monkeypatch.setattr(sys, "executable", "/bin/false")
    with pytest.raises(mdf.MdfError, match="contradict"):
        read_log(physical)


def test_a_process_that_takes_too_long_is_stopped(physical, monkeypatch):
    monkeypatch.setattr(mdf, "_LONGEST", 0.001)
    with pytest.raises(mdf.MdfError, match="longer than"):
        read_log(physical)


def test_the_missing_part_is_named_with_its_command(physical, monkeypatch):
    monkeypatch.setattr(mdf, "find_spec", lambda _: None)
    with pytest.raises(mdf.MdfPartMissingError) as caught:
        read_log(physical)
    assert "conewise[mdf]" in caught.value.hint


def test_a_description_that_is_not_there(physical, tmp_path):
    with pytest.raises(mdf.NeedsDbcError, match="no such description"):
        read_log(physical, dbc=tmp_path / "none.dbc")
