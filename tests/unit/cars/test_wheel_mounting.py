"""Bolt patterns, threads and seats: what is read, what is refused, what is the same."""

import pytest

from conewise.cars.wheel_mounting import (
    BoltPatternError,
    SeatError,
    ThreadError,
    bolt_pattern,
    bolt_thread,
    least_engagement,
    seat_of,
)


@pytest.mark.parametrize("text", ["5x114.3", "5 x 114.3 mm", "5×114,3", "5x4.5", '5x4.5"', "5/114.3", "5-114.3"])
def test_spellings_of_one_pattern(text):
    pattern = bolt_pattern(text)
    assert str(pattern) == "5x114.3"
    assert pattern.fits(bolt_pattern("5x114.3"))


@pytest.mark.parametrize("other", ["4x114.3", "5x112", "5x114", "5x115"])
def test_near_is_not_the_same(other):
    assert not bolt_pattern("5x114.3").fits(bolt_pattern(other))


@pytest.mark.parametrize(
    ("text", "words"), [("", "number x"), ("114.3", "number x"), ("12x100", "3 to 8"), ("5x300", "90 to 210")]
)
def test_impossible_patterns_are_refused(text, words):
    with pytest.raises(BoltPatternError, match=words):
        bolt_pattern(text)


@pytest.mark.parametrize(
    ("text", "diameter_mm", "pitch_mm"),
    # ISO 261 and ASME B1.1 threads; an inch is 25.4 mm
    [("M12x1.5", 12.0, 1.5), ("m14 x 1.25", 14.0, 1.25), ("1/2-20", 12.7, 1.27), ('7/16"-20', 11.1125, 1.27)],
)
def test_threads(text, diameter_mm, pitch_mm):
    thread = bolt_thread(text)
    assert (thread.diameter * 1e3, thread.pitch * 1e3) == pytest.approx((diameter_mm, pitch_mm))


def test_turns_of_the_rule_of_one_diameter():
    # worked example of a car owners' page on thread engagement: M12x1.5 needs 8 turns for steel nuts, 12 for alloy ones
    thread = bolt_thread("M12x1.5")
    assert thread.least_turns() == pytest.approx(8.0)
    assert thread.least_turns(is_alloy=True) == pytest.approx(12.0)
    assert thread.engaged(8.0) == pytest.approx(least_engagement(thread))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "diameter x pitch"),
        ("12", "diameter x pitch"),
        ("M50x1.5", "diameter x|9 to 25"),
        ("M12x5", "pitch of 5"),
        ("1/0-20", "diameter x"),
    ],
)
def test_impossible_threads_are_refused(text, words):
    with pytest.raises(ThreadError, match=words):
        bolt_thread(text)


def test_seats():
    assert seat_of(" Ball ") == "ball"
    with pytest.raises(SeatError) as caught:
        seat_of("square", where="--seat")
    assert "cone" in caught.value.hint
