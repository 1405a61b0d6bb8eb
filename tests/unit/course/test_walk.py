"""Walk notes: what the words mean, where the cones stand, how a known point spreads the error."""

from __future__ import annotations

import math

import numpy as np
import pytest

from conewise.course.layout import FeatureKind
from conewise.course.toml_file import read_toml
from conewise.course.toml_table import CourseFieldError
from conewise.course.walk_layout import WalkClosureError, WalkError
from conewise.course.walk_notes import WORDS, WalkNoteError, read_note, split_notes
from conewise.course.walk_track import Known, Leg, walk_track
from conewise.errors import ConewiseError
from conewise.quantities import UnitError

OPENING = 6.0 + 0.28  # between the centres of a gate's cones: 6 m between the bases [m]


def walked(notes, more=""):
    return read_toml(f'name = "Walk"\n[walk]\n{more}\nnotes = """\n{notes}\n"""\n', file="walk.toml")


def places(course, name):
    feature = next(f for f in course.features if f.id == name)
    return [(course.cone(c).x, course.cone(c).y) for c in feature.cone_ids]


def sides(course, name):
    feature = next(f for f in course.features if f.id == name)
    return [p.pass_side.value for crossing in feature.crossings for p in crossing]


def near(*points):
    return [pytest.approx(point, abs=0.002) for point in points]  # cones are set to the millimetre


def between(*features):
    return "\n".join(["start", *features, "finish after 10 m"])


def test_the_notes_of_a_whole_walk():
    course = walked(
        "start\nstraight 20 m, slalom 5 cones every 18 m first to your left\nright 180 degrees radius 15 m\n"
        "offset gate 4 m left after 24 m\nfinish after 20 m\nstop lane 30 m"
    )
    assert [f.id for f in course.features] == ["start", "slalom 1", "hairpin 1", "offset gate 1", "finish"]
    assert places(course, "start") == near((0, OPENING / 2), (0, -OPENING / 2))
    assert places(course, "slalom 1") == near(*((20 + 18 * i, 0) for i in range(5)))
    assert sides(course, "slalom 1") == ["right", "left", "right", "left", "right"]
    # Half a turn of radius 15 m to the right ends 30 m to the right, the other way round.
    assert places(course, "hairpin 1")[-2:] == near((92, -30 - OPENING / 2), (92, -30 + OPENING / 2))
    # Heading west, 4 m to the left is 4 m to the south.
    assert np.mean(places(course, "offset gate 1"), axis=0) == pytest.approx((68, -34), abs=0.002)
    assert (course.stop.kind, course.stop.length) == ("lane", 30.0)


@pytest.mark.parametrize(
    ("note", "kind", "expected", "passed"),
    [
        ("gate 5 m wide after 10 m", "gate 1", [(10, 2.64), (10, -2.64)], ["right", "left"]),
        ("cone to your right 2 m away after 15 m", "cone 1", [(15, -2)], ["left"]),
        ("cone on your left after 15 m", "cone 1", [(15, 3)], ["right"]),
        ("cone either side after 15 m", "cone 1", [(15, 0)], ["either"]),
        (
            "wall 3 cones every 10 ft to your right after 10 m",
            "wall 1",
            [(10, -3), (13.048, -3), (16.096, -3)],
            ["left"] * 3,
        ),
        ("slalom 2 cones every 18 m either side after 5 m", "slalom 1", [(5, 0), (23, 0)], ["either"] * 2),
        (
            "slalom 2 cones every 60 ft first cone to your right after 5 m",
            "slalom 1",
            [(5, 0), (23.288, 0)],
            ["left", "right"],
        ),
        (
            "split gate 5 m apart first to your right after 10 m",
            "split gate 1",
            [(10, -3.14), (15, 3.14)],
            ["left", "right"],
        ),
        ("box 12 m long 5 m wide", "box 1", [(0, 2.64), (0, -2.64), (12, 2.64), (12, -2.64)], ["right", "left"] * 2),
        ("hairpin left radius 8 m around one cone", "hairpin 1", [(0, 8)], ["right"]),
    ],
)
def test_what_a_note_sets_out(note, kind, expected, passed):
    course = walked(between(note))
    assert places(course, kind) == near(*expected)
    assert sides(course, kind) == passed


def test_bends_are_named_by_their_angle_and_bounded_by_gates():
    course = walked(between("left 90 degrees radius 20 m", "straight 20 m", "left 160 degrees radius 12 m"))
    assert [f.kind for f in course.features[1:3]] == [FeatureKind.SWEEPER, FeatureKind.HAIRPIN]
    middles = np.mean(np.reshape(places(course, "sweeper 1"), (-1, 2, 2)), axis=1)
    # The entry gate is the start line itself; then every 45 degrees of an arc about (0, 20).
    assert middles == pytest.approx(
        np.array([[20 * math.sin(a), 20 - 20 * math.cos(a)] for a in (math.pi / 4, math.pi / 2)]), abs=2e-3
    )
    assert len(course.features[2].crossings) == 4  # entry, and every 53.3 degrees


def test_a_bend_after_a_straight_has_an_entry_gate():
    assert len(walked(between("straight 20 m", "left 60 degrees radius 20 m")).features[1].crossings) == 2


def test_bear_turns_on_the_spot():
    course = walked(between("straight 10 m", "bear left 90 degrees", "gate after 10 m"))
    assert np.mean(places(course, "gate 1"), axis=0) == pytest.approx((10, 10), abs=2e-3)


def test_a_pointer_lies_on_the_far_side_with_its_tip_towards_its_cone():
    """Common practice, no source: the standing cone is between car and pointer."""
    course = walked(between("cone to your right 2 m away after 15 m with a pointer"))
    pointer = next(cone for cone in course.cones if not cone.is_standing)
    cone = course.cone(pointer.points_to)
    assert (cone.x, cone.y) == pytest.approx((15, -2))
    assert pointer.x == pytest.approx(15)
    assert pointer.y < cone.y


def test_words_may_come_in_any_order_and_case():
    one = read_note("Slalom 5 cones every 18 m first to your left", where="")
    other = read_note("slalom, FIRST left, every 18 metres, with 5 cones", where="")
    assert (one.count, one.side, one.lengths) == (other.count, other.side, other.lengths)


def test_notes_are_split_at_lines_semicolons_and_commas_before_a_known_word():
    text = "start\n straight 20 m; gate, slalom 3 cones every 18 m, first left  # tight\n\n# only a remark\nfinish."
    assert split_notes(text) == [
        (0, "start"),
        (1, "straight 20 m"),
        (1, "gate"),
        (1, "slalom 3 cones every 18 m first left"),
        (4, "finish"),
    ]


def test_every_example_of_the_hints_is_understood():
    for word, entry in WORDS.items():
        assert read_note(entry.example, where="").word == word


def test_the_start_may_lie_anywhere_and_head_anywhere():
    course = walked(between("gate after 10 m"), 'start = ["10 m", 20]\nheading = "90 deg"\ngate_width = "5 m"')
    assert places(course, "gate 1") == near((10 - 2.64, 30), (10 + 2.64, 30))


# Paces


def test_paces_are_calibrated_by_the_totals():
    course = walked(
        between("gate after 20 paces"),
        'calibration = [{ paces = 66, length = "50 m" }, { paces = 64, length = "50 m" }]',
    )
    assert places(course, "gate 1")[0][0] == pytest.approx(20 * 100 / 130, abs=1e-3)


def test_a_pace_may_be_given():
    assert places(walked(between("gate after 20 paces"), 'pace = "30 in"'), "gate 1")[0][0] == pytest.approx(20 * 0.762)


def test_longer_walks_are_less_certain():
    course = walked(
        between("gate after 20 paces", "gate after 20 paces", "left 90 degrees radius 20 m", "gate after 20 m"),
        'pace = "0.76 m"',
    )
    sd = [course.cone(f.cone_ids[0]).position_sd for f in course.features]
    assert sd[0] == 0.0
    assert sd == sorted(sd)
    assert 0.1 < sd[-1] < 3.0


def test_the_pace_length_is_one_error_common_to_all_legs():
    """Single paces aside, an error of the mean pace grows with the way, not with its root."""
    legs = [Leg(forward=10.0, is_paced=True) for _ in range(9)]
    track = walk_track(legs, [], start=(0, 0), heading=0.0, heading_sd=0.0, pace_sd=0.02)
    assert np.sqrt(track.covariances[:, 0, 0]) == pytest.approx(0.02 * 10.0 * np.arange(10))


# Closing to a known point


def gauss_markov(length_sd, known_sd, at, walked_to):
    """Corrections of a straight walk's legs by least squares with one condition, solved directly."""
    variance = np.array(length_sd) ** 2
    return variance * (at - walked_to) / (variance.sum() + known_sd**2)


def test_a_straight_walk_closes_like_least_squares_with_a_condition():
    """Adjustment with a condition equation: Mikhail and Ackermann, Observations and Least Squares, 1976 (memory)."""
    lengths, sds = [20.0, 10.0, 40.0, 5.0], [0.3, 0.1, 0.4, 0.2]
    legs = [Leg(forward=n, length_sd=sd) for n, sd in zip(lengths, sds, strict=True)]
    known = [Known(stop=4, at=(76.2, 0.0), sd=0.05)]
    track = walk_track(legs, known, start=(0, 0), heading=0.0, heading_sd=0.0, pace_sd=0.0)
    expected = np.cumsum(np.array(lengths) + gauss_markov(sds, 0.05, 76.2, 75.0))
    assert track.states[1:, 0] == pytest.approx(expected, abs=1e-9)


def test_errors_that_grow_with_the_way_are_spread_in_proportion_to_the_legs():
    """The rule of N. Bowditch (The Analyst, 1808; from memory): each leg takes a share in proportion to its length."""
    lengths = np.array([12.0, 30.0, 8.0])
    legs = [Leg(forward=n, length_sd=0.1 * math.sqrt(n)) for n in lengths]
    track = walk_track(
        legs, [Known(stop=3, at=(51.5, 0.0), sd=1e-6)], start=(0, 0), heading=0.0, heading_sd=0.0, pace_sd=0.0
    )
    assert np.diff(track.states[:, 0]) - lengths == pytest.approx(1.5 * lengths / lengths.sum(), abs=1e-6)


def test_a_walk_with_turns_closes_like_least_squares_over_all_its_errors():
    """A batch adjustment of every length and angle, linearised at the notes, moves the stops alike."""
    legs = [
        Leg(forward=30.0, length_sd=0.3),
        Leg(forward=15.0, left=15.0, turn=math.pi / 2, length_sd=0.2, turn_sd=0.05),
        Leg(forward=25.0, length_sd=0.25, is_paced=True),
        Leg(forward=0.0, turn=0.3, turn_sd=0.02),
        Leg(forward=20.0, length_sd=0.2, is_paced=True),
    ]

    def stops(errors):
        x, y, heading, out = 0.0, 0.0, errors[0], [(0.0, 0.0)]
        for leg, along, turn in zip(legs, errors[2::2], errors[3::2], strict=True):
            distance = math.hypot(leg.forward, leg.left)
            factor = (1.0 + errors[1] * leg.is_paced) + (along / distance if distance else 0.0)
            cos, sin = math.cos(heading), math.sin(heading)
            x += factor * (leg.forward * cos - leg.left * sin)
            y += factor * (leg.forward * sin + leg.left * cos)
            heading += leg.turn + turn
            out.append((x, y))
        return np.array(out)

    sds = np.array([0.03, 0.02, *(sd for leg in legs for sd in (leg.length_sd, leg.turn_sd))])
    free = stops(np.zeros(len(sds)))
    step = 1e-6
    jacobian = np.array([(stops(step * unit) - free).ravel() / step for unit in np.eye(len(sds))]).T
    at = free[-1] + [0.4, -0.3]
    to_last = jacobian[-2:]
    gain = (sds**2)[:, None] * to_last.T @ np.linalg.inv(to_last * sds**2 @ to_last.T + 1e-4 * np.eye(2))
    expected = free + (jacobian @ gain @ [0.4, -0.3]).reshape(-1, 2)
    spread = np.diag(sds**2) - gain @ to_last * sds**2

    track = walk_track(
        legs, [Known(stop=5, at=tuple(at), sd=0.01)], start=(0, 0), heading=0.0, heading_sd=0.03, pace_sd=0.02
    )
    assert track.states[:, :2] == pytest.approx(expected, abs=2e-5)  # finite differences
    variances = np.diag(jacobian @ spread @ jacobian.T).reshape(-1, 2)
    assert np.diagonal(track.covariances, axis1=1, axis2=2)[:, :2] == pytest.approx(variances, abs=1e-5)


MARKED = between("gate after 40 paces", "mark light pole", "gate after 40 paces")
PACE = 'pace = "0.75 m"\nheading_sd = "2 deg"'


def test_a_known_mark_pulls_the_whole_walk():
    free = walked(MARKED, PACE)
    closed = walked(MARKED, PACE + '\nknown = [{ mark = "light pole", at = [31, 0.5] }]')
    middle = np.mean(places(closed, "gate 1"), axis=0)
    assert middle == pytest.approx((31, 0.5), abs=0.01)
    # the pace was short: what comes after is longer too
    assert np.mean(places(closed, "gate 2"), axis=0)[0] > np.mean(places(free, "gate 2"), axis=0)[0] + 1.2
    assert closed.cone("c3").position_sd < free.cone("c3").position_sd


def test_a_gap_that_no_error_explains_is_a_wrong_note():
    with pytest.raises(WalkClosureError, match=r"'light pole' .* m from where") as caught:
        walked(MARKED, PACE + '\nknown = [{ mark = "light pole", at = [0, 40] }]')
    assert "line 9, note 3" in caught.value.where


# Mistakes


@pytest.mark.parametrize(
    ("note", "said"),
    [
        ("zigzag 5 cones", "no known word"),
        ("slalom 5 cones every 18 m", "'first to your left'"),
        ("slalom cones every 18 m first left", "a number of cones"),
        ("slalom 0 cones every 18 m first left", "no cones"),
        ("straight", "a length"),
        ("straight 20 furlongs", "'furlongs' means nothing here"),
        ("straight 20 m quickly", "'quickly' means nothing here"),
        ("straight 0 m", "a length of nothing"),
        ("straight 9000 m", "a course reaches 5000 m"),
        ("left 9000 degrees radius 20 m", "720 degrees at the most"),
        ("slalom 100000 cones every 18 m either side", "1000 cones at the most"),
        ("left 90 degrees", "'radius' and a length"),
        ("offset gate 4 m after 20 m", "a length and 'left' or 'right'"),
        ("hairpin either radius 8 m", "a bend goes left or right"),
        ("bear either 20 degrees", "one bears left or right"),
        ("cone either side with a pointer", "one side"),
        ("mark", "a mark needs a name"),
        ("stop box 30 m", "after the finish"),
    ],
)
def test_a_note_that_is_not_understood_is_quoted_with_its_line(note, said):
    with pytest.raises(WalkNoteError) as caught:
        walked(between("straight 20 m", note))
    assert f'"{note}"' in caught.value.message
    assert said in caught.value.message
    assert "walk.toml, line 7, note 3" in caught.value.where
    assert caught.value.hint


def test_the_way_before_a_bend_is_a_note_of_its_own():
    with pytest.raises(WalkNoteError) as caught:
        walked(between("left 90 degrees radius 20 m after 15 m"))
    assert "'after 15 m' means nothing here" in caught.value.message
    assert caught.value.hint.endswith('Way before it is a note of its own, such as "straight 20 m".')


@pytest.mark.parametrize(
    ("note", "meant"),
    [
        ("slalm 5 cones every 18 m first to your left", "slalom"),
        ("zigzag 5 cones every 18 m first left", "slalom"),
        ("hair pin right radius 8 m", "hairpin"),
        ("ofset gate 4 m left after 20 m", "offset gate"),
    ],
)
def test_the_nearest_notes_are_proposed(note, meant):
    with pytest.raises(WalkNoteError) as caught:
        walked(between(note))
    proposed = [word for word, entry in WORDS.items() if f'"{entry.example}"' in caught.value.hint]
    assert meant in proposed
    assert len(proposed) == 3


@pytest.mark.parametrize(
    ("notes", "more", "kind", "said"),
    [
        (between("gate after 20 paces"), "", WalkError, "length of a pace is not given"),
        (between("gate after 20 paces"), 'pace = "3 m"', CourseFieldError, "not plausible"),
        (between("gate after 20 paces"), "calibration = []", CourseFieldError, "no entries"),
        (
            between("gate after 2 paces"),
            'calibration = [{ paces = 0, length = "5 m" }]',
            CourseFieldError,
            "say nothing",
        ),
        (between("left 90 degrees radius 3 m"), "", WalkError, "no room for gates"),
        (between("gate"), 'known = [{ mark = "tree", at = [0, 0] }]', WalkError, 'No note says "mark tree"'),
        (between("mark a", "mark a"), "", WalkNoteError, "noted twice"),
        ("gate\nfinish", "", ConewiseError, "no start"),
        ("finish\nstart", "", ConewiseError, "start comes after the finish"),
        ("start\nstraight 20 m\nfinish", 'start = ["5 psi", 0]', UnitError, "psi"),
        ("start\nfinish after 20 m", 'gate_wdith = "5 m"', CourseFieldError, "gate_wdith"),
    ],
)
def test_a_walk_that_makes_no_course(notes, more, kind, said):
    with pytest.raises(kind) as caught:
        walked(notes, more)
    assert said in caught.value.message
    assert "walk.toml" in caught.value.where
    assert caught.value.hint


@pytest.mark.parametrize(
    ("notes", "line"),
    [
        ("notes = '''start\nzigzag'''", 4),
        ('\n\nnotes = """\nstart\n\n# remark\nzigzag"""', 9),
        ('notes = "start, zigzag"', 3),
        ("notes = [\n  'start',\n  'straight 2 m',\n  'zigzag']", 6),
    ],
)
def test_the_line_of_a_note_in_every_way_to_write_it(notes, line):
    with pytest.raises(WalkNoteError) as caught:
        read_toml(f'name = "x"\n[walk]\n{notes}\n', file="walk.toml")
    assert f"line {line}," in caught.value.where


def test_notes_that_are_no_text():
    with pytest.raises(CourseFieldError, match="not text"):
        read_toml('name = "x"\n[walk]\nnotes = 5\n', file="walk.toml")


def test_notes_may_be_a_list():
    course = read_toml('name = "x"\n[walk]\nnotes = ["start", "straight 20 m", "finish"]\n', file="walk.toml")
    assert len(course.features) == 2


def test_cones_beside_notes_are_refused():
    with pytest.raises(CourseFieldError, match="either"):
        read_toml('name = "x"\n[cones]\n[walk]\nnotes = "start, straight 9 m, finish"\n', file="walk.toml")
