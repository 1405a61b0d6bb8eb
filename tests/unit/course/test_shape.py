"""A drawing against the shape of a course."""

from functools import lru_cache

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import procrustes

from conewise.course.reference import lay_out
from conewise.course.shape import DrawingError, resampled, shape_score, similarity
from tests.solved import demo_course


@lru_cache(maxsize=1)
def course():
    return lay_out(demo_course("harbour-yard"))


@lru_cache(maxsize=1)
def way():
    points = course().path.at(np.linspace(0.0, course().path.length, 300))
    return np.column_stack([points.x, points.y])


def moved(line, *, angle=0.0, scale=1.0, shift=(0.0, 0.0)):
    c, s = np.cos(angle), np.sin(angle)
    return scale * line @ np.array([[c, s], [-s, c]]) + np.asarray(shift)


@given(st.floats(-3.1, 3.1), st.floats(0.01, 50.0), st.floats(-1e3, 1e3))
@settings(max_examples=10, deadline=None)
def test_turn_size_and_place_of_a_drawing_do_not_matter(angle, scale, shift):
    found = shape_score(course(), moved(way(), angle=angle, scale=scale, shift=(shift, -shift)))
    assert found.verdict == "good"
    assert found.distance < 0.01  # share: resampling at other places is all that is left


def test_the_fit_is_that_of_a_reference_library():
    """scipy.spatial.procrustes allows a mirror image and normalises; without noise both are exact."""
    rng = np.random.default_rng(3)
    drawn = moved(way(), angle=0.7, scale=0.02) + rng.normal(scale=0.02, size=way().shape)
    fitted = similarity(drawn, way())
    _, _, disparity = procrustes(way(), drawn)
    spread = ((way() - way().mean(axis=0)) ** 2).sum()
    assert ((fitted - way()) ** 2).sum() / spread == pytest.approx(disparity, rel=1e-9)


def test_the_distance_is_never_below_that_of_the_best_pairing():
    """shapely's discrete Frechet distance: the smallest greatest distance of any pairing in order."""
    bent = way() + 6.0 * np.column_stack([np.sin(np.linspace(0, 9, 300)), np.cos(np.linspace(0, 7, 300))])
    found = shape_score(course(), bent)
    points = course().path.at(np.linspace(0.0, course().path.length, 200))
    wanted = np.column_stack([points.x, points.y])
    best = shapely.frechet_distance(shapely.LineString(found.fitted), shapely.LineString(wanted))
    away = np.hypot(*(found.fitted - wanted).T)
    assert best <= away.max() + 1e-9
    assert found.worst_distance <= best + 6.0  # m: the mean of the worst feature cannot be far beyond it


def test_a_mirror_image_is_told():
    found = shape_score(course(), way() * np.array([1.0, -1.0]))
    assert found.is_mirrored
    assert found.verdict == "mirrored"


def test_a_part_left_out_is_named():
    """The driver forgets the way round the first hairpin and draws straight on past it."""
    spans = {span.id: span for span in course().spans}
    third = spans[demo_course("harbour-yard").features[8].id]
    station = np.linspace(0.0, course().path.length, 300)
    kept = (station < third.start - 5.0) | (station > third.end + 5.0)
    found = shape_score(course(), way()[kept])
    ids = [f.id for f in demo_course("harbour-yard").features]
    assert abs(ids.index(found.worst_feature) - 8) <= 1
    assert found.distance > shape_score(course(), way()).distance


def test_a_circle_is_off():
    angle = np.linspace(0.0, 2 * np.pi, 80)
    assert shape_score(course(), np.column_stack([np.cos(angle), np.sin(angle)])).verdict == "off"


@pytest.mark.parametrize("points", [[], [[0, 0], [1, 1]], [[1, 1]] * 5, [[0, 0], [np.nan, 1], [2, 2]], [[1, 2, 3]] * 4])
def test_what_is_no_line_is_refused(points):
    with pytest.raises(DrawingError):
        shape_score(course(), np.array(points, dtype=float))


def test_resampling_keeps_ends_and_spacing():
    line = resampled(np.array([[0.0, 0.0], [0.0, 0.0], [3.0, 0.0], [3.0, 1.0]]), 5)
    assert line[[0, -1]] == pytest.approx(np.array([[0.0, 0.0], [3.0, 1.0]]))
    assert np.hypot(*np.diff(line, axis=0).T) == pytest.approx(1.0)
