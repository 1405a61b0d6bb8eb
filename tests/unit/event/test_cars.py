"""Cars: the torque as the maker writes it, and the week in which a tyre was made."""

from __future__ import annotations

from datetime import date

import pytest
from pydantic import ValidationError

from conewise.event.cars import TyreState, WheelTorque


def test_a_torque_is_read_with_its_unit():
    """1 lb ft is 1.3558179483 N m, by the definitions of foot, pound and standard gravity."""
    assert WheelTorque(written="80 lb ft").value == pytest.approx(108.4654359)
    assert WheelTorque(written="110 N m").value == 110.0


@pytest.mark.parametrize("written", ["98", "98 psi", "0 N m", "-90 N m", "tight"])
def test_a_torque_without_a_unit_is_refused(written):
    with pytest.raises(ValidationError, match=r"written|torque"):
        WheelTorque(written=written)


def test_the_week_of_a_date_code():
    """ISO 8601: week 1 of 2020 begins on Monday 30 December 2019, week 53 of 2020 on 28 December."""
    assert TyreState(axle="front", date_code="0120").made == date(2019, 12, 30)
    assert TyreState(axle="front", date_code="5320").made == date(2020, 12, 28)
    assert TyreState(axle="front").made is None


@pytest.mark.parametrize("code", ["0020", "5420", "123", "12345", "ab20"])
def test_what_is_no_date_code_is_refused(code):
    with pytest.raises(ValidationError):
        TyreState(axle="rear", date_code=code)
