"""A second walk corrects the first: means weighed by their variance, differences that nothing explains refused."""

import numpy as np
import pytest

from conewise.course.files import read_course
from conewise.course.walk_again import WalkAgainError, leg_of_all, of_all
from conewise.course.walk_layout import Layout, Walker
from conewise.course.walk_track import Leg

FILE = """\
name = "Lot"
[walk]
pace = "0.80 m"
notes = \"\"\"
start
slalom 3 cones every {every} paces first to your {side} after {after} paces
{more}
finish after {end} paces
\"\"\"
"""
AGAIN = """
[[walk.again]]
pace = "{pace}"
notes = \"\"\"
start
slalom 3 cones every {every} paces first to your {side} after {after} paces
{more}
finish after {end} paces
\"\"\"
"""
SAME = {"every": 20, "after": 25, "side": "left", "more": "straight 2 m", "end": 30}


def course(tmp_path, *, again=None, **first):
    text = FILE.format(**SAME | first)
    if again is not None:
        text += AGAIN.format(**SAME | {"pace": "0.80 m"} | again)
    path = tmp_path / "lot.toml"
    path.write_text(text)
    return read_course(path)


def places(found):
    return np.array([(cone.x, cone.y) for cone in found.cones])


def surer(once, twice):
    """Standard uncertainties of the cones after two walks over those after one, where the walk decides them."""
    pairs = zip(once.cones, twice.cones, strict=True)
    found = [b.position_sd / a.position_sd for a, b in pairs if a.position_sd > 0.05]
    assert found
    return found


def test_the_same_walk_again_moves_nothing_and_makes_it_surer(tmp_path):
    """Two calibrations that differ by a hair: the standard uncertainty of a mean of two."""
    once, twice = course(tmp_path), course(tmp_path, again={"pace": "0.800001 m"})
    assert places(twice) == pytest.approx(places(once), abs=1e-3)  # m: written to the millimetre
    assert np.array(surer(once, twice)) == pytest.approx(1.0 / np.sqrt(2.0), rel=0.02)


def test_one_calibration_is_no_surer_for_two_walks(tmp_path):
    """The error of a pace length is that of both walks; only what differs from pace to pace gets less."""
    shares = surer(course(tmp_path), course(tmp_path, again={}))
    assert all(1.0 / np.sqrt(2.0) + 0.02 < share < 1.0 for share in shares[-2:])


def test_the_pace_of_the_surer_walk_counts_more():
    """Weights 0.9 and 0.1, paces known to 2 % each: sqrt(0.81 + 0.01) of 2 %, and all of it for one calibration."""
    legs = [Leg(forward=10.0, is_paced=True, length_sd=sd) for sd in (0.1, 0.3)]
    layouts = [
        Layout(Walker(pace=pace, pace_sd=0.02 * pace), legs=[leg], leg_notes=["a note"])
        for leg, pace in zip(legs, (0.8, 0.9), strict=True)
    ]
    assert of_all(layouts)[1] == pytest.approx(0.02 * np.sqrt(0.82))
    layouts[1].walker = layouts[0].walker
    assert of_all(layouts)[1] == pytest.approx(0.02)


def test_two_walks_that_differ_meet_half_way(tmp_path):
    short, long = course(tmp_path, every=19), course(tmp_path, every=21)
    both = course(tmp_path, every=19, again={"every": 21})
    middle = (places(short) + places(long)) / 2.0
    # m: a leg of 21 paces has a variance 21/19 times as large, and counts that much less
    assert places(both) == pytest.approx(middle, abs=0.2)


def test_a_long_and_a_short_pace_measure_the_same_course(tmp_path):
    """20 paces of 0.80 m are 16 paces of 1.00 m."""
    both = course(tmp_path, again={"pace": "1.00 m", "every": 16, "after": 20, "end": 24})
    lengths = np.hypot(*np.diff(places(both)[2:5], axis=0).T)
    assert lengths == pytest.approx(16.0, abs=0.01)


@pytest.mark.parametrize(
    ("again", "words"),
    [
        ({"side": "right"}, "sides at 'slalom 1'"),
        ({"more": "gate"}, "a gate where the first has 'finish"),
        ({"more": "straight 2 m\nstraight 2 m"}, "legs"),
        ({"after": 60}, "60"),
    ],
)
def test_another_course_is_refused(tmp_path, again, words):
    if "after" in again:
        words = "48.0"  # m: 60 paces of 0.80 m
    with pytest.raises(WalkAgainError) as raised:
        course(tmp_path, again=again)
    assert words in raised.value.message


def test_a_leg_is_the_weighed_mean():
    """Two measurements 10 +- 0.3 and 10.4 +- 0.1: mean (10/0.09 + 10.4/0.01)/(1/0.09 + 1/0.01) = 10.36, sd 0.0949."""
    found = leg_of_all([Leg(forward=10.0, length_sd=0.3), Leg(forward=10.4, length_sd=0.1)], [0.0, 0.0], where="a note")
    assert found.forward == pytest.approx(10.36)
    assert found.length_sd == pytest.approx(0.09487, rel=1e-4)
