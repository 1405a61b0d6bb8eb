"""Codes of tyres and wheels: what is read, what is refused; sizes are tested against tables in tests/published."""

import pytest

from conewise.cars.tyre_size import TyreCodeError, WheelCodeError, tyre_size, wheel_size


@pytest.mark.parametrize(
    "code",
    ["265/35R18", "265/35 R18", "265/35ZR18", "P265/35R18", "265/35r18 97Y", "265/35ZR18 (97Y) XL", " 265/35R18 97 "],
)
def test_spellings_of_one_size(code):
    size = tyre_size(code)
    assert (round(size.section_width * 1e3), size.aspect, round(size.rim_diameter / 0.0254)) == (265, 0.35, 18)


@pytest.mark.parametrize("code", ["205/50R15 86V", "265/35R18", "195/60R14 86H"])
def test_a_code_is_written_as_it_was_read(code):
    assert str(tyre_size(code)) == code


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("", "width/aspect"),
        ("wide", "width/aspect"),
        ("205-50-15", "width/aspect"),
        ("33x12.5R15", "width/aspect"),
        ("955/50R15", "125 to 375"),
        ("205/95R15", "20 to 85"),
        ("205/50R30", "10 to 24"),
        ("207/50R15", "steps of 5 mm"),
        ("205/50R15 12V", "60 to 115"),
        ("205/50R15 86X", "speed symbol X"),
    ],
)
def test_impossible_tyres_are_refused(code, words):
    with pytest.raises(TyreCodeError, match=words) as caught:
        tyre_size(code, where="car.toml, line 4, front.tyre.size")
    assert caught.value.where == "car.toml, line 4, front.tyre.size"
    assert "205/50R15" in caught.value.hint


@pytest.mark.parametrize("code", ["18x9.5 +38", "18x9.5J +38", "18 x 9.5 ET38", "18X9.5 38", "18×9.5 +38mm"])
def test_spellings_of_one_wheel(code):
    assert str(wheel_size(code)) == "18x9.5 +38"


def test_an_offset_may_be_left_out_or_negative():
    assert wheel_size("15x7").offset is None
    assert str(wheel_size("15x7")) == "15x7"
    assert wheel_size("15x10 -25").offset == -0.025


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("", "diameter x"),
        ("nice", "diameter x"),
        ("48x9", "10 to 24"),
        ("18x95", "3 to 15"),
        ("18x9 +250", "-100 to 100"),
    ],
)
def test_impossible_wheels_are_refused(code, words):
    with pytest.raises(WheelCodeError, match=words):
        wheel_size(code)
