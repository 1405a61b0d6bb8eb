"""Values that a table repeats until the next one comes: what was measured slower than the table runs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.logs.columns import Array

_MOSTLY = 0.67  # a column of which more rows differ from the row before is not held
_SLACK = 0.5  # of the interval: nearer to the next fix than this no fix is made up
_LONGEST = 2.5  # longest interval between fixes that is taken for a rate [s]

Rows = np.ndarray[tuple[int], np.dtype[np.intp]]


def new_values(time: Array, columns: Sequence[Array], *, interval: float) -> Rows:
    """Rows on which any of the columns changed, and every interval while none did: a car that stands is measured too.

    Parameters
    ----------
    time : Array, shape (n_rows,)
        Never falling. [s]
    columns : sequence of Array, shape (n_rows,)
        Columns that are measured together, such as latitude and longitude.
    interval : float
        Time between fixes. [s]
    """
    new = _changes(columns)
    rows = np.arange(time.size)
    last = np.maximum.accumulate(np.where(new, rows, 0))
    changes = np.append(time[new], np.inf)
    until_next = changes[np.searchsorted(changes, time, side="right")] - time
    count = np.floor((time - time[last]) / interval + 1e-6)
    counted = np.diff(count, prepend=0.0) > 0.0
    return np.flatnonzero(new | (counted & (until_next > _SLACK * interval)))


def fix_interval(time: Array, groups: Sequence[Sequence[Array]]) -> float | None:
    """Usual time between new values of the group that changes most often; None where nothing is held.

    Notes
    -----
    The most frequent distance in rows: standing still makes long distances, never short ones.
    """
    usual = float(np.median(np.diff(time))) if time.size > 1 else 0.0
    counts = [_changes(group) for group in groups]
    most = max(counts, key=lambda new: int(new.sum()), default=None)
    if most is None or usual <= 0.0 or most.sum() < 3 or most.mean() > _MOSTLY:
        return None
    moments = time[np.flatnonzero(most)]
    distance = np.rint(np.diff(moments) / usual).astype(int)
    distance = distance[(distance > 0) & (distance * usual < _LONGEST)]
    if distance.size == 0:
        return None
    middle = int(np.argmax(np.bincount(distance)))
    near = distance[np.abs(distance - middle) <= max(1, middle // 4)]
    return float(near.mean()) * usual


def _changes(columns: Sequence[Array]) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Whether any of the columns differs from the row before."""
    new = np.zeros(columns[0].size, dtype=bool)
    new[:1] = True
    for column in columns:
        new[1:] |= np.diff(column) != 0.0
    return new
