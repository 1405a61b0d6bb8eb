"""The search over clicks on made-up times whose best point is known by counting out the whole grid."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from conewise.advisor.click_search import Bound, Search, Solved

TOLERANCE = 0.004


def bowl(rng, n, last):
    """A random convex time with its lowest place anywhere on the grid or a little outside."""
    root = rng.normal(size=(n, n))
    curvature = root @ root.T * 0.01 / n + 0.002 * np.eye(n)
    lowest = np.array(last) * rng.uniform(-0.2, 1.2, n)

    def time(at):
        off = np.array(at) - lowest
        return 40.0 + 0.5 * float(off @ curvature @ off)

    def evaluate(points):
        return [Solved(at=at, time=time(at), slope=curvature @ (np.array(at) - lowest)) for at in points]

    return time, evaluate


def grid(last):
    return itertools.product(*(range(end + 1) for end in last))


def test_the_best_of_the_whole_grid_is_found_within_the_tolerance(rng):
    gaps = []
    for _ in range(60):
        last = tuple(int(v) for v in rng.integers(2, 7, int(rng.integers(2, 5))))
        time, evaluate = bowl(rng, len(last), last)
        start = tuple(int(rng.integers(0, end + 1)) for end in last)
        slope, room = rng.normal(size=len(last)), float(rng.uniform(0.0, 2.0))
        kept = Bound(name="line", reserve=lambda at, s=slope, r=room, o=start: r + float(s @ (np.array(at) - o)))
        search = Search(last=last, evaluate=evaluate, bounds=[kept], tolerance=TOLERANCE)
        best = search.run(start).best
        assert kept.holds(best.at)
        assert best.time <= time(start) + 1e-12
        assert all(time(near) >= best.time - TOLERANCE for near in search.neighbours(best.at))
        gaps.append(best.time - min(time(at) for at in grid(last) if kept.holds(at)))
        assert len(search.known) <= 40
    # a step that promises less than the tolerance is not taken; a slanted bound may hide a way of three settings
    assert np.mean(np.array(gaps) <= TOLERANCE) >= 0.9
    assert max(gaps) < 5 * TOLERANCE


def test_no_point_that_breaks_a_bound_is_ever_solved(rng):
    last = (6, 6, 6)
    _, evaluate = bowl(rng, 3, last)
    kept = Bound(name="ball", reserve=lambda at: 9.0 - sum((v - 3) ** 2 for v in at))
    search = Search(last=last, evaluate=evaluate, bounds=[kept])
    search.run((3, 3, 3))
    assert all(kept.holds(at) for at in search.known)


def test_a_start_outside_a_bound_moves_by_the_fewest_clicks():
    search = Search(last=(9, 9), evaluate=lambda _points: [], bounds=[Bound(name="b", reserve=lambda at: at[1] - 4)])
    assert search.allowed_start((5, 1)) == (5, 4)
    assert search.allowed_start((5, 6)) == (5, 6)


def test_where_nothing_is_allowed_there_is_no_start():
    search = Search(last=(3, 3), evaluate=lambda _points: [], bounds=[Bound(name="b", reserve=lambda _at: -1.0)])
    assert search.allowed_start((1, 1)) is None


def test_three_settings_are_brought_inside_together():
    lack = Bound(name="sum", reserve=lambda at: sum(at) - 12.0)
    search = Search(last=(5, 5, 5), evaluate=lambda _points: [], bounds=[lack])
    found = search.allowed_start((0, 0, 0))
    assert found is not None
    assert sum(found) >= 12


def test_a_run_that_was_not_found_is_passed_by():
    def evaluate(points):
        return [
            Solved(at=at, time=np.inf if at == (2,) else 40.0 + 0.02 * abs(at[0] - 3), slope=np.array([-0.02]))
            for at in points
        ]

    best = Search(last=(3,), evaluate=evaluate).run((1,)).best
    assert best.at in {(1,), (3,)}
    assert np.isfinite(best.time)


def test_a_wrong_slope_does_not_make_it_slower():
    def evaluate(points):
        return [Solved(at=at, time=40.0 + 0.01 * at[0], slope=np.array([-0.05])) for at in points]

    assert Search(last=(8,), evaluate=evaluate).run((0,)).best.at == (0,)


@pytest.mark.parametrize("seed", range(3))
def test_the_same_question_has_the_same_answer(seed):
    last = (5, 4, 6)
    answers = []
    for _ in range(2):
        _, evaluate = bowl(np.random.default_rng(seed), 3, last)
        answers.append(Search(last=last, evaluate=evaluate).run((2, 2, 2)).best.at)
    assert answers[0] == answers[1]
