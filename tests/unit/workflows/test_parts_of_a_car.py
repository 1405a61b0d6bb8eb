"""Sheets and mass budget as they are asked for."""

import pytest

from conewise.quantities import UnitError
from conewise.workflows.parts_of_a_car import SHEETS, NothingMovedError, answer_mass, part_sheet, sheet_dict, table_rows
from tests.cars import DEMO

CAR = DEMO / "marigold.toml"
CHANGES = DEMO.parent / "changes" / "winter.toml"


@pytest.mark.parametrize("part", SHEETS)
def test_a_sheet_for_people_and_for_programs(part):
    sheet = part_sheet(CAR, part)
    told = sheet_dict(sheet)
    assert told["part"] == part
    assert [row["name"] for row in told["table"]["rows"]] == [row[0] for row in table_rows(sheet.table, "metric")]


def test_what_is_not_a_number_is_left_empty():
    last = table_rows(part_sheet(CAR, "gearing").table, "us")[-1]
    assert last[-1] == ""
    assert last[1].endswith("mph")


def test_a_budget_of_changes_and_a_passenger():
    answer = answer_mass(CAR, changes=CHANGES, passenger_mass="165 lb")
    assert [row.name for row in answer.rows][-1] == "passenger"
    added = sum(row.mass for row in answer.rows)
    assert answer.rows[-1].after.mass == pytest.approx(answer.start.mass + added, rel=1e-12)
    assert answer.as_dict()["items"][-1]["after"]["left_shift_m"] < 0  # the driver sits on the left


def test_an_empty_budget_is_said():
    with pytest.raises(NothingMovedError):
        answer_mass(CAR)
    with pytest.raises(NothingMovedError):
        answer_mass(CAR, passenger_mass="-75 kg")
    with pytest.raises(UnitError):
        answer_mass(CAR, passenger_mass="75")
