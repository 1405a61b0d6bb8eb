"""What a path asks for: bends, hairpins and slaloms, told from its curvature."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.course.layout import FeatureKind

if TYPE_CHECKING:
    from conewise.course.geometry import ReferencePath

Array = NDArray[np.float64]

# Common practice, no source
WIDEST_BEND = 60.0  # radius of a bend, at most [m]
LEAST_BEND = np.radians(8.0)  # turn of a bend, at least
LEAST_SWEEPER = np.radians(20.0)  # a bend that turns less belongs to a straight
LEAST_HAIRPIN = np.radians(120.0)
SLALOM_TURN = np.radians(70.0)  # of one cone of a slalom, at most
SLALOM_GAP = (6.0, 35.0)  # from cone to cone [m]
SLALOM_CONES = 3  # at least
_STEP = 0.5  # [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A part of a path that is no straight.

    kind: slalom, sweeper or hairpin
    start, end: stations [m]
    apexes: where the path bends most: one, or one for each cone of a slalom [m]
    sides: +1 where the inside is on the left
    """

    kind: FeatureKind
    start: float
    end: float
    apexes: tuple[float, ...]
    sides: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bend:
    start: float
    end: float
    apex: float
    turn: float  # left positive [rad]


def stretches(path: ReferencePath) -> tuple[Stretch, ...]:
    """The bends of a path in order; three or more that alternate, none of them sharp, are one slalom."""
    answers: list[Stretch] = []
    row: list[_Bend] = []
    for bend in _bends(path):
        if row and not _goes_on(row[-1], bend):
            answers += _told(row)
            row = []
        row.append(bend)
    return tuple(answers + _told(row))


def _bends(path: ReferencePath) -> list[_Bend]:
    station = np.linspace(0.0, path.length, int(path.length / _STEP) + 1)
    points = path.at(station)
    sign = np.where(np.abs(points.curvature) > 1.0 / WIDEST_BEND, np.sign(points.curvature), 0.0)
    borders = np.concatenate([[0], np.flatnonzero(np.diff(sign)) + 1, [sign.size]])
    answers = []
    for a, b in pairwise(borders.tolist()):
        turn = float(points.heading[b - 1] - points.heading[a])
        if sign[a] == 0.0 or abs(turn) < LEAST_BEND:
            continue
        apex = a + int(np.argmax(np.abs(points.curvature[a:b])))
        answers.append(_Bend(start=float(station[a]), end=float(station[b - 1]), apex=float(station[apex]), turn=turn))
    return answers


def _goes_on(last: _Bend, bend: _Bend) -> bool:
    """Whether a bend follows another as one slalom cone follows the next."""
    gap = bend.apex - last.apex
    both_gentle = max(abs(last.turn), abs(bend.turn)) < SLALOM_TURN
    return last.turn * bend.turn < 0.0 and both_gentle and SLALOM_GAP[0] <= gap <= SLALOM_GAP[1]


def _told(row: list[_Bend]) -> list[Stretch]:
    """A row of alternating bends: a slalom where there are enough, else each for itself."""
    if len(row) >= SLALOM_CONES:
        return [_stretch(FeatureKind.SLALOM, row)]
    return [
        _stretch(FeatureKind.HAIRPIN if abs(bend.turn) > LEAST_HAIRPIN else FeatureKind.SWEEPER, [bend])
        for bend in row
        if abs(bend.turn) >= LEAST_SWEEPER
    ]


def _stretch(kind: FeatureKind, row: list[_Bend]) -> Stretch:
    return Stretch(
        kind=kind,
        start=row[0].start,
        end=row[-1].end,
        apexes=tuple(bend.apex for bend in row),
        sides=tuple(1 if bend.turn > 0.0 else -1 for bend in row),
    )
