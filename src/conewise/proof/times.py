"""Runs by the clock: who drove when on which set-up, the raw time, and what became of the run."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Iterable

    from conewise.findings import Finding

Array = NDArray[np.float64]
Indices = NDArray[np.intp]
Words = NDArray[np.str_]

FINISHED, DNF, RERUN = "finished", "dnf", "rerun"


@dataclass(frozen=True, slots=True, kw_only=True)
class Times:
    """Runs in driving order: by day, event, driver and number. Arrays have shape (n_runs,).

    line: line of the file
    date: days since a fixed day; NaN where none is given
    event, driver, setup: names; a set-up that is not noted is ""
    run: number of the run among those of this driver at this event, from 1; every attempt counts
    raw_time: without penalties [s]; NaN where there is none that counts
    cones: standing cones knocked over or moved; NaN where not noted
    outcome: "finished", "dnf" or "rerun" (granted a new run: its time does not count)
    passenger: whether one was aboard
    surface: temperature of the surface [°C]; NaN where not noted
    """

    line: Indices
    date: Array
    event: Words
    driver: Words
    run: Indices
    raw_time: Array
    cones: Array
    outcome: Words
    setup: Words
    passenger: NDArray[np.bool_]
    surface: Array
    file: str = ""
    findings: tuple[Finding, ...] = ()

    @property
    def is_timed(self) -> NDArray[np.bool_]:
        """Whether a run has a raw time that counts."""
        return np.asarray((self.outcome == FINISHED) & np.isfinite(self.raw_time), dtype=np.bool_)

    def where(self, rows: NDArray[np.bool_] | Indices) -> Times:
        """The same with some of the runs only, or in another order."""
        arrays = {name: getattr(self, name)[rows] for name in _ARRAYS}
        return replace(self, **arrays)

    @property
    def setups(self) -> tuple[str, ...]:
        """Names of the set-ups in the order in which they were first driven."""
        found = dict.fromkeys(str(name) for name in self.setup if name)
        return tuple(found)

    @property
    def entries(self) -> Indices:
        """Number of the entry (one driver at one event) of each run, from 0, in driving order."""
        return _codes(zip(self.event.tolist(), self.driver.tolist(), strict=True))

    @property
    def events(self) -> Indices:
        """Number of the event of each run, from 0, in driving order."""
        return _codes(self.event.tolist())


def _codes(names: Iterable[object]) -> Indices:
    """Numbers for names, from 0, in the order in which they come."""
    codes: dict[object, int] = {}
    return np.array([codes.setdefault(name, len(codes)) for name in names], dtype=np.intp)


_ARRAYS = tuple(name for name in Times.__dataclass_fields__ if name not in {"file", "findings"})
