"""How the limits of a field are told."""

import pytest

from conewise.cars.fields import _plain


@pytest.mark.parametrize(
    ("number", "text"),
    [(7800.0, "7800"), (999.7, "1000"), (0.5, "0.5"), (1e-5, "0.00001"), (-1234.5, "-1234")],
)
def test_limits_are_written_as_people_write_them(number, text):
    assert _plain(number) == text
