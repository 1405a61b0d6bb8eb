"""Where the point mass may go: a corridor along a reference path, given directly or read off a course."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from conewise.errors import InputError

Array = NDArray[np.float64]

LEAST_WIDENING = 0.3  # least 1 - n curvature: below it the corridor folds over itself
FREE_OFFSET = 30.0  # bound of the search where nothing bounds the offset [m]


class CorridorError(InputError):
    """A corridor given directly cannot be used."""

    code = "corridor"
    default_hint = "Every segment needs a length above 0, and n_min below n_max on both sides of each break."

    def __init__(self, what: str, segment: int) -> None:
        super().__init__(f"The corridor has {what}.", where=f"segment {segment + 1}")


@dataclass(frozen=True, slots=True, kw_only=True)
class CorridorSegment:
    """A piece of line or arc with its own limits of the lateral offset."""

    length: float  # along the reference path [m]
    curvature: float = 0.0  # left positive [1/m]
    n_min: float = -FREE_OFFSET  # right limit [m]
    n_max: float = FREE_OFFSET  # left limit [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class CorridorMesh:
    """A corridor on nodes. Arrays have shape (n_nodes,), `curvature` (n_nodes - 1,)."""

    station: Array  # along the reference path [m]
    curvature: Array  # mean of each interval, left positive [1/m]
    n_min: Array  # [m]
    n_max: Array  # [m]
    x: Array  # reference path, east [m]
    y: Array  # reference path, north [m]
    heading: Array  # of the reference path [rad]

    def plan(self, lateral_offset: Array) -> tuple[Array, Array]:
        """East and north of a path given by its offsets. [m]"""
        return (
            self.x - lateral_offset * np.sin(self.heading),
            self.y + lateral_offset * np.cos(self.heading),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class CorridorPath:
    """A reference path of arcs and lines from a start point, with the limits along it."""

    segments: tuple[CorridorSegment, ...]
    x: float = 0.0  # start, east [m]
    y: float = 0.0  # start, north [m]
    heading: float = 0.0  # at the start [rad]

    @classmethod
    def of_width(cls, pieces: tuple[tuple[float, float], ...], half_width: float) -> CorridorPath:
        """A corridor of one width from (length, curvature) of each piece. [m], [1/m]"""
        return cls(
            segments=tuple(
                CorridorSegment(length=length, curvature=curvature, n_min=-half_width, n_max=half_width)
                for length, curvature in pieces
            )
        )

    def mesh(self, step: float) -> CorridorMesh:
        """Nodes at most `step` apart with one at every break.

        Parameters
        ----------
        step : float
            Greatest distance between nodes. [m]

        Returns
        -------
        CorridorMesh
            At a break the tighter limits of both sides hold.

        Raises
        ------
        CorridorError
            Where a segment has no length, folds over itself, or leaves no room.
        """
        self._check()
        counts = [max(1, int(np.ceil(segment.length / step - 1e-9))) for segment in self.segments]
        spread = np.repeat(np.arange(len(counts)), counts)
        lengths = np.array([segment.length for segment in self.segments])
        curvature, low, high = (
            np.array([getattr(segment, name) for segment in self.segments])[spread]
            for name in ("curvature", "n_min", "n_max")
        )
        steps = (lengths / counts)[spread]
        x, y, heading = _laid_out((self.x, self.y, self.heading), steps, curvature)
        return CorridorMesh(
            station=np.concatenate([[0.0], np.cumsum(steps)]),
            curvature=curvature,
            n_min=np.maximum(np.append(low, low[-1]), np.insert(low, 0, low[0])),
            n_max=np.minimum(np.append(high, high[-1]), np.insert(high, 0, high[0])),
            x=x,
            y=y,
            heading=heading,
        )

    def _check(self) -> None:
        if not self.segments:
            raise CorridorError("no segment", 0)
        for i, segment in enumerate(self.segments):
            numbers = (segment.length, segment.curvature, segment.n_min, segment.n_max)
            if not np.isfinite(numbers).all():
                raise CorridorError("a value that is not a number", i)
            if segment.length <= 0.0:
                raise CorridorError(f"a length of {segment.length:g} m", i)
            before = self.segments[max(i - 1, 0)]
            if max(segment.n_min, before.n_min) >= min(segment.n_max, before.n_max):
                raise CorridorError("no room between its limits", i)
            inner = segment.n_max if segment.curvature > 0.0 else segment.n_min
            if 1.0 - inner * segment.curvature < LEAST_WIDENING:
                raise CorridorError(
                    f"an inner limit {abs(inner):g} m from an arc of {abs(1.0 / segment.curvature):g} m radius", i
                )


def _laid_out(start: tuple[float, float, float], steps: Array, curvature: Array) -> tuple[Array, Array, Array]:
    """Nodes of a chain of arcs: each chord is turned by half of its arc."""
    turns = steps * curvature
    heading = start[2] + np.concatenate([[0.0], np.cumsum(turns)])
    chord = steps * np.sinc(turns / (2.0 * np.pi))
    along = heading[:-1] + turns / 2.0
    x = start[0] + np.concatenate([[0.0], np.cumsum(chord * np.cos(along))])
    y = start[1] + np.concatenate([[0.0], np.cumsum(chord * np.sin(along))])
    return x, y, heading
