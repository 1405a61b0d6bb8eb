"""How far a recording's positions are off within one run: what stays, what changes, and how soon that is forgotten."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from conewise.logs.placement import Placement
    from conewise.logs.track import Track

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class WithinRun:
    """What changes of a position's error within a run, about its mean over the run.

    variance: of each component, over the run, shape (2,) [m2]
    told: the same of the whole error, as the recording tells it, shape (2,) [m2]
    memory: time after which the correlation has fallen to a half [s]
    """

    variance: Array
    told: Array
    memory: float

    @classmethod
    def of(cls, track: Track, samples: slice, drawn: Array) -> WithinRun:
        """By paths drawn from the recording, shape (count, n_samples, 2)."""
        off = drawn[:, samples] - np.column_stack([track.x, track.y])[samples]
        off = off - off.mean(axis=1)[:, None]
        told = np.mean(track.position_covariance[samples], axis=0)
        step = float(np.median(np.diff(track.time)))
        return cls(
            variance=np.mean(off**2, axis=(0, 1)),
            told=np.diag(told),
            memory=half_memory(np.concatenate([off[:, :, 0], off[:, :, 1]]), step),
        )

    def surer(self, track: Track, shift: Placement) -> Track:
        """The track with the covariance that its positions have once the shift is known as well as it is.

        Notes
        -----
        A sample of which the recording tells more than of the run is as much more unsure: what the run has in common
        is not. One of which it tells less is surer by the same share.
        """
        own = track.position_covariance[:, [0, 1], [0, 1]]
        share = self.variance / np.maximum(self.told, 1e-12)
        changes = self.variance + (own - self.told) * np.where(own > self.told, 1.0, share)
        left = changes[:, :, None] * np.eye(2) + np.array(shift.shift_covariance)
        return replace(track, position_covariance=left)


def half_memory(values: Array, step: float) -> float:
    """Distance over which the correlation of rows falls to a half, in the unit of the step."""
    variance = np.mean(values**2)
    for lag in range(1, values.shape[1] // 2):
        if np.mean(values[:, lag:] * values[:, :-lag]) < 0.5 * variance:
            return float(lag * step)
    return float(values.shape[1] // 2 * step)
