"""The change between days: a driver's gap to those who changed nothing, before and after."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.proof.comparison import numbered
from conewise.proof.regression import Design
from conewise.proof.same_day import CHANGE, FADE_RATES, columns_of, same_day_settings, spread_grid, terms_of
from conewise.proof.weighing import Setting, weighed_fit

if TYPE_CHECKING:
    from conewise.proof.comparison import Compared
    from conewise.proof.weighing import Weighed

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

# How much drivers differ in what they gain over the whole season, over the scatter of one day; as in `same_day`.
_PROGRESS = (np.array([0.1, 0.5, 1.0, 2.0, 4.0]), 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Days:
    """One row an entry. Arrays have shape (n_entries,).

    level: logarithm of the entry's time in seconds, at the middle of the order of its runs
    """

    level: Array
    is_after: Array
    is_tester: NDArray[np.bool_]
    unit: Indices
    event: Indices

    @property
    def progress(self) -> Array:
        """How far the season has come, from -0.5 to 0.5."""
        return np.asarray(self.event / max(1, int(self.event.max())) - 0.5)


def steady_entries(compared: Compared) -> Compared:
    """The runs of entries on one set-up only."""
    n_runs, n_after = np.bincount(compared.entry), np.bincount(compared.entry, compared.is_after)
    is_steady = (n_after == 0) | (n_after == n_runs)
    return compared.where(is_steady[compared.entry])


def run_model(compared: Compared) -> tuple[Weighed, tuple[str, ...]] | None:
    """What the order of the runs did within entries; None where no entry has runs enough."""
    terms = tuple(term for term in terms_of(compared, with_surface=True) if term != CHANGE)
    if compared.log_time.size < len(terms) + int(compared.entry.max()) + 2:
        return None
    return weighed_fit(same_day_settings(compared, terms), compared.unit), terms


def days_of(compared: Compared, model: tuple[Weighed, tuple[str, ...]] | None) -> Days:
    """The level of every entry.

    Parameters
    ----------
    compared : Compared
        Runs of steady entries.
    model : tuple, optional
        See `run_model`; what it says of order, passenger and surface is taken off the times.
    """
    adjusted = compared.log_time
    if model is not None:
        weighed, terms = model
        best = weighed.best
        rate_index = [found is best for found in weighed.fits].index(True)
        columns = columns_of(compared, terms, FADE_RATES[rate_index])
        coefficients = best.fit.coefficients[int(best.fit.weight.argmax())]
        adjusted = adjusted - (columns - columns.mean(axis=0)) @ coefficients
    first = np.unique(compared.entry, return_index=True)[1]
    level = np.array([np.median(adjusted[compared.entry == entry]) for entry in range(first.size)])
    return Days(
        level=level,
        is_after=compared.is_after[first],
        is_tester=compared.is_tester[first],
        unit=numbered(compared.unit[first]),
        event=numbered(compared.event[first]),
    )


def day_to_day_setting(days: Days) -> Setting:
    """The model of the entries' levels.

    Notes
    -----
    level = event + driver + change + (progress of the driver) (season) + scatter of the day. What all drivers gain over
    the season is in the events; how much one gains more than others is known only from how much the others differ.
    """
    events = (days.event[:, None] == np.arange(1, days.event.max() + 1)).astype(float)
    spreads, log_prior = spread_grid(_PROGRESS)
    design = Design(
        response=days.level,
        columns=np.column_stack([days.is_after, events]),
        group=days.unit,
        varying=days.progress[:, None],
    )
    return Setting(design=design, spreads=spreads, log_prior=log_prior)
