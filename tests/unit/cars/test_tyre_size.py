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


def test_marks_beside_the_size():
    assert str(tyre_size("LT225/75R16 115/112Q")) == "225/75R16 115Q"  # single before dual
    assert str(tyre_size("205/50VR15")) == "205/50R15"
    assert tyre_size("205/50VR15").speed_symbol == "V"


@pytest.mark.parametrize("code", ["205/50R15 86V", "265/35R18", "195/60R14 86H"])
def test_a_code_is_written_as_it_was_read(code):
    assert str(tyre_size(code)) == code


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("", "width/aspect"),
        ("wide", "width/aspect"),
        ("205-50-15", "width/aspect"),
        ("33x12.5R15", "flotation"),
        ("31X10.50R15LT", "flotation"),
        ("10.0/20.0-13", "racing size"),
        ("205/510-13", "overall diameter in mm"),
        ("175R14", "aspect ratio is missing"),
        ("6.00-16", "aspect ratio is missing"),
        ("955/50R15", "125 to 375"),
        ("205/95R15", "20 to 85"),
        ("205/50R30", "10 to 24"),
        ("207/50R15", "steps of 5 mm"),
        ("205/50R15 12V", "50 to 130"),
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


def test_a_backspacing_is_an_offset():
    # 9.5 in wide with 6.75 in: +38 mm in wheel makers' tables (from memory): (9.5 + 1) / 2 in to the rim's edge
    wheel = wheel_size("18x9.5 bs 6.75 in")
    assert wheel.is_from_backspacing
    assert wheel.offset == pytest.approx(0.0381, abs=1e-6)
    assert wheel_size("18x9.5 backspacing 171.45mm").offset == pytest.approx(wheel.offset)


@pytest.mark.parametrize(
    ("code", "words", "hint"),
    [
        ("18x9.5 +1.5in", "in inches", "18x9.5 +38"),
        ('18x9.5 6.75"', "in inches", "bs 6.75 in"),
        ("18x9.5 5.5", "may be an offset in mm or a backspacing", "+5.5 mm"),
        ("18x9.5 bs 12 in", "-100 to 100", "offset in millimetres"),
    ],
)
def test_an_offset_in_inches_is_refused_with_a_way_out(code, words, hint):
    with pytest.raises(WheelCodeError, match=words) as caught:
        wheel_size(code)
    assert hint in caught.value.hint
