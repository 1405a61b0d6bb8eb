"""Places for the labels of a map, so that none lies on another, on a cone or on the line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

Array = NDArray[np.float64]

_DIRECTIONS = 16
_DISTANCES = (0.8, 1.1, 1.6, 2.3, 3.2, 4.4)  # from the point to the nearest edge of the box, in text heights
_GAP = 2.0  # kept free around a box [px]
_LEADER_FROM = 1.2  # a box farther away than this, in text heights, is tied to its point by a line


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A short text that belongs to a point of the drawing."""

    text: str
    x: float  # of the point [px]
    y: float
    kind: str
    is_needed: bool = False  # rather on the line than nowhere
    is_close: bool = False  # rather nowhere than far from its point


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A label with the centre of its box."""

    label: Label
    x: float  # [px]
    y: float
    width: float
    height: float
    is_tied: bool  # drawn with a line to its point


def text_width(text: str, size: float) -> float:
    """Upper estimate of the width of a text in a plain sans serif. [px]"""
    return sum(0.34 if letter in ".,:;il'| " else 0.86 if letter in "MWmw@" else 0.66 for letter in text) * size


class Sheet:
    """A drawing that knows what is taken.

    Parameters
    ----------
    width, height : float
        Size of the area for labels. [px]
    size : float
        Text size. [px]
    line : Array, shape (n, 2)
        Points along the line, closer together than a text is high. [px]
    taken : Array, shape (m, 2)
        Centres of glyphs that must stay readable. [px]
    """

    def __init__(self, width: float, height: float, *, size: float, line: Array, taken: Array) -> None:
        self.width = width
        self.height = height
        self.size = size
        self._line = line
        self._taken = taken
        self._boxes: list[tuple[float, float, float, float]] = []

    def place(self, labels: Sequence[Label]) -> list[Placed]:
        """Labels with their places, in the order of their weight; those without room are left out."""
        placed = []
        for label in labels:
            found = next((spot for spot in self._spots(label) if self._is_free(spot, on_line=False)), None)
            if found is None and label.is_needed:
                found = next((spot for spot in self._spots(label) if self._is_free(spot, on_line=True)), None)
            if found is None:
                continue
            left, top = found.x - found.width / 2, found.y - found.height / 2
            self._boxes.append((left, top, left + found.width, top + found.height))
            placed.append(found)
        return placed

    def _spots(self, label: Label) -> Iterator[Placed]:
        """Candidates around the point, near ones first."""
        pad = self.size * 0.3
        width, height = text_width(label.text, self.size) + 2 * pad, self.size * 1.3
        for distance in _DISTANCES:
            reach = distance * self.size
            if label.is_close and distance > _LEADER_FROM:
                return
            for step in range(_DIRECTIONS):
                angle = 2 * np.pi * ((step * 7) % _DIRECTIONS) / _DIRECTIONS
                dx, dy = np.cos(angle), np.sin(angle)
                yield Placed(
                    label=label,
                    x=float(label.x + dx * (reach + width / 2 * abs(dx))),
                    y=float(label.y + dy * (reach + height / 2 * abs(dy))),
                    width=width,
                    height=height,
                    is_tied=distance > _LEADER_FROM,
                )

    def _is_free(self, spot: Placed, *, on_line: bool) -> bool:
        left, right = spot.x - spot.width / 2 - _GAP, spot.x + spot.width / 2 + _GAP
        top, bottom = spot.y - spot.height / 2 - _GAP, spot.y + spot.height / 2 + _GAP
        if left < 0 or top < 0 or right > self.width or bottom > self.height:
            return False
        if any(left < b[2] and b[0] < right and top < b[3] and b[1] < bottom for b in self._boxes):
            return False
        if _any_inside(self._taken, (left - 4, top - 4, right + 4, bottom + 4)):
            return False
        if not on_line and _any_inside(self._line, (left - 3, top - 3, right + 3, bottom + 3)):
            return False
        return not spot.is_tied or self._sees(spot)

    def _sees(self, spot: Placed) -> bool:
        """Whether the line from the box to its point crosses no other label."""
        for share in np.linspace(0.0, 1.0, 12):
            x = spot.label.x + share * (spot.x - spot.label.x)
            y = spot.label.y + share * (spot.y - spot.label.y)
            if any(b[0] <= x <= b[2] and b[1] <= y <= b[3] for b in self._boxes):
                return False
        return True


def _any_inside(pairs: Array, box: tuple[float, float, float, float]) -> bool:
    if not pairs.size:
        return False
    x, y = pairs[:, 0], pairs[:, 1]
    return bool(np.any((x > box[0]) & (x < box[2]) & (y > box[1]) & (y < box[3])))
