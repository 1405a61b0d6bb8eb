"""Places for labels: never on each other, on a cone, on the line or off the sheet."""

from __future__ import annotations

import itertools

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from conewise.reports.labels import Label, Sheet, text_width

SIZE = 14.0
places = st.tuples(st.floats(0, 400), st.floats(0, 300))


def edges(spot):
    return spot.x - spot.width / 2, spot.x + spot.width / 2, spot.y - spot.height / 2, spot.y + spot.height / 2


def meets(a, b):
    return a[0] < b[1] and b[0] < a[1] and a[2] < b[3] and b[2] < a[3]


def sheet_with(line=(), taken=()):
    return Sheet(
        400, 300, size=SIZE, line=np.array(line, float).reshape(-1, 2), taken=np.array(taken, float).reshape(-1, 2)
    )


@settings(max_examples=40, deadline=None)
@given(st.lists(places, min_size=2, max_size=25), st.lists(places, max_size=30))
def test_labels_keep_clear(wanted, cones):
    line = [(x, 150 + 60 * np.sin(x / 40)) for x in range(0, 400, 5)]
    labels = [Label(text=str(i), x=x, y=y, kind="speed") for i, (x, y) in enumerate(wanted)]
    placed = sheet_with(line, cones).place(labels)
    boxes = [edges(spot) for spot in placed]
    assert not any(meets(a, b) for a, b in itertools.combinations(boxes, 2))
    for left, right, top, bottom in boxes:
        assert left >= 0
        assert top >= 0
        assert right <= 400
        assert bottom <= 300
        assert not any(left < x < right and top < y < bottom for x, y in [*line, *cones])


def test_a_lone_label_is_near_its_point_and_needs_no_tie():
    (spot,) = sheet_with().place([Label(text="43", x=200, y=150, kind="speed")])
    assert np.hypot(spot.x - 200, spot.y - 150) < 3 * SIZE
    assert not spot.is_tied


def crowded():
    grid = [(x, y) for x in range(0, 401, 6) for y in range(0, 301, 6)]
    return sheet_with(line=grid)


def test_without_room_a_label_is_left_out_and_a_needed_one_is_not():
    label = Label(text="43", x=200, y=150, kind="speed")
    needed = Label(text="Start", x=200, y=150, kind="end", is_needed=True)
    assert [spot.label for spot in crowded().place([label, needed])] == [needed]


def test_a_close_label_would_rather_not_be_there_than_far_away():
    close = Label(text="43", x=200, y=150, kind="passing", is_close=True)
    ring = [(200 + dx, 150 + dy) for dx in range(-40, 41, 5) for dy in range(-40, 41, 5)]
    assert sheet_with(taken=ring).place([close]) == []


def test_wide_letters_count_more():
    assert text_width("WWW", SIZE) > text_width("iii", SIZE)
