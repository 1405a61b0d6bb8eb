"""A course drawn by hand against the course: turned, scaled and shifted to fit, then compared along the way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.errors import InputError

if TYPE_CHECKING:
    from conewise.course.geometry import CourseGeometry

Array = NDArray[np.float64]

N_POINTS = 200  # at which two lines are compared
ROUNDS = 12  # of pairing points and fitting again
SLACK = 0.12  # a hand stretches one part and squeezes another by so much of the whole length
MIRRORED = 0.7  # a mirror image that fits better than this share was drawn the wrong way round
GOOD, FAIR = 0.06, 0.12  # rms distance over the size of the course; common practice, no source


class DrawingError(InputError):
    """A drawing that is no line."""

    code = "drawing"
    default_hint = "Draw one line from start to finish without lifting the pen."

    def __init__(self, problem: str) -> None:
        super().__init__(problem, where="drawing")


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapeScore:
    """How well a drawing has the shape of a course."""

    distance: float  # rms distance after the fit, over the rms size of the course [-]
    is_mirrored: bool  # drawn the wrong way round: a mirror image fits far better
    worst_feature: str  # where the drawing is farthest off
    worst_distance: float  # mean distance there, in metres of the course [m]
    fitted: Array  # the drawing on the plan, shape (N_POINTS, 2) [m]

    @property
    def verdict(self) -> str:
        """In one word."""
        if self.is_mirrored:
            return "mirrored"
        return "good" if self.distance <= GOOD else "fair" if self.distance <= FAIR else "off"


def similarity(source: Array, target: Array, *, mirror: bool = False) -> Array:
    """Points of shape (n, 2), turned, scaled and shifted onto others of the same shape with least squares.

    `mirror` fits the mirror image instead.

    References
    ----------
    Umeyama, Least-squares estimation of transformation parameters between two point patterns, IEEE Transactions on
    Pattern Analysis and Machine Intelligence 13 (4), 1991, equations 40 to 42 (numbers from memory).
    """
    flip = np.array([1.0, -1.0 if mirror else 1.0])
    start, middle = (source - source.mean(axis=0)) * flip, target.mean(axis=0)
    u, d, vt = np.linalg.svd((target - middle).T @ start)
    sign = np.array([1.0, np.sign(np.linalg.det(u @ vt)) or 1.0])
    rotation = (u * sign) @ vt
    scale = float((d * sign).sum() / (start**2).sum())
    return np.asarray(scale * start @ rotation.T + middle)


def resampled(line: Array, n: int = N_POINTS) -> Array:
    """A line of shape (m, 2) at equal distances along it, shape (n, 2)."""
    steps = np.hypot(*np.diff(line, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    at = np.linspace(0.0, along[-1], n)
    keep = np.concatenate([[True], steps > 0.0])
    return np.column_stack([np.interp(at, along[keep], line[keep, k]) for k in (0, 1)])


def shape_score(geometry: CourseGeometry, drawing: Array) -> ShapeScore:
    """A drawing against the reference path of a course.

    Parameters
    ----------
    geometry : CourseGeometry
    drawing : Array, shape (m, 2)
        Points in the order in which they were drawn, in any unit; y counts upwards.

    Raises
    ------
    DrawingError
        If there are fewer than three points, or they all lie on one spot, or one is no number.
    """
    drawing = np.asarray(drawing, dtype=float)
    if drawing.ndim != 2 or drawing.shape[0] < 3 or drawing.shape[1] != 2:
        msg = "The drawing has fewer than three points."
        raise DrawingError(msg)
    if not np.all(np.isfinite(drawing)):
        msg = "The drawing has a point that is not a number."
        raise DrawingError(msg)
    if np.hypot(*np.diff(drawing, axis=0).T).sum() <= 1e-9 * max(1.0, float(np.abs(drawing).max())):
        msg = "The drawing is a single spot."
        raise DrawingError(msg)
    station = np.linspace(0.0, geometry.path.length, N_POINTS)
    points = geometry.path.at(station)
    wanted = np.column_stack([points.x, points.y])
    size = float(np.sqrt(((wanted - wanted.mean(axis=0)) ** 2).sum(axis=1).mean()))
    plain, turned_over = (_fitted(resampled(drawing), wanted, mirror=mirror) for mirror in (False, True))
    away = _distances(plain, wanted)
    distance = float(np.sqrt((away**2).mean()))
    other = float(np.sqrt((_distances(turned_over, wanted) ** 2).mean()))
    means = {span.id: away[(station >= span.start) & (station <= span.end)] for span in geometry.spans}
    worst = max((name for name, own in means.items() if own.size), key=lambda name: float(means[name].mean()))
    return ShapeScore(
        distance=distance / size,
        is_mirrored=other < MIRRORED * distance and distance / size > GOOD,
        worst_feature=worst,
        worst_distance=float(means[worst].mean()),
        fitted=plain,
    )


def _fitted(drawn: Array, wanted: Array, *, mirror: bool) -> Array:
    """The drawing laid on the course; pairs of points and the fit take turns."""
    pairs = np.arange(len(wanted))
    for _ in range(ROUNDS):
        laid = similarity(drawn[pairs], wanted, mirror=mirror)
        whole = _carried(drawn, drawn[pairs], laid)
        again = _paired(whole, wanted)
        if np.array_equal(again, pairs):
            break
        pairs = again
    return _carried(drawn, drawn[pairs], similarity(drawn[pairs], wanted, mirror=mirror))


def _carried(points: Array, source: Array, laid: Array) -> Array:
    """Points moved by the similarity that took `source` to `laid`."""
    ones = np.column_stack([source, np.ones(len(source))])
    matrix, *_ = np.linalg.lstsq(ones, laid, rcond=None)
    return np.asarray(np.column_stack([points, np.ones(len(points))]) @ matrix)


def _paired(drawn: Array, wanted: Array) -> NDArray[np.int64]:
    """For every point of the course the point of the drawing that belongs to it; neither line turns back.

    Dynamic time warping (Sakoe and Chiba, Dynamic programming algorithm optimization for spoken word recognition, IEEE
    Transactions on Acoustics, Speech, and Signal Processing 26 (1), 1978), in a band of `SLACK` about the diagonal.
    """
    n = len(wanted)
    band = round(SLACK * n)
    square = ((wanted[:, None, :] - drawn[None, :, :]) ** 2).sum(axis=2)
    far = np.abs(np.arange(n)[:, None] - np.arange(n)[None, :]) > band
    cost = np.where(far, np.inf, square)
    total = np.full((n, n), np.inf)
    total[0] = np.cumsum(cost[0])
    for i in range(1, n):
        before = np.minimum(total[i - 1], np.concatenate([[np.inf], total[i - 1, :-1]]))
        for j in range(max(0, i - band), min(n, i + band + 1)):
            sideways = total[i, j - 1] if j else np.inf
            total[i, j] = cost[i, j] + min(before[j], sideways)
    pairs = np.zeros(n, dtype=np.int64)
    i, j = n - 1, n - 1
    pairs[i] = j
    while i > 0 or j > 0:
        options = [(total[i - 1, j - 1], i - 1, j - 1)] if i and j else []
        options += [(total[i - 1, j], i - 1, j)] if i else []
        options += [(total[i, j - 1], i, j - 1)] if j else []
        _, i, j = min(options)
        pairs[i] = j
    return pairs


def _distances(drawn: Array, wanted: Array) -> Array:
    """Distance of every point of the course from its partner in a drawing already laid on it. [m]"""
    return np.asarray(np.hypot(*(drawn[_paired(drawn, wanted)] - wanted).T))
