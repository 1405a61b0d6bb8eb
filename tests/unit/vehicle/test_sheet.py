"""Sheets of parts: every row has a number for every column, every value is a number, every name stands once."""

import numpy as np
import pytest

from conewise.vehicle.brake_sheet import brake_sheet
from conewise.vehicle.gearing import gearing_sheet
from conewise.vehicle.suspension_sheet import suspension_sheet
from tests.cars import DEMO_NAMES, demo_car


@pytest.mark.parametrize("name", DEMO_NAMES)
@pytest.mark.parametrize("of", [brake_sheet, suspension_sheet, gearing_sheet])
def test_a_sheet_is_whole(name, of):
    sheet = of(demo_car(name))
    assert sheet.table.rows
    assert all(len(numbers) == len(sheet.table.columns) for _, numbers in sheet.table.rows)
    assert all(np.isfinite(value.value) for value in sheet.values)
    names = [value.name for value in sheet.values]
    assert len(set(names)) == len(names)
