"""The change within days: both set-ups on one course, by one driver, beside what the order of the runs did."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.proof.regression import Design
from conewise.proof.weighing import Setting

if TYPE_CHECKING:
    from conewise.proof.comparison import Compared

Array = NDArray[np.float64]

# By what factor the time that a driver still has to find shrinks from run to run; 0.25 is a cold first run.
FADE_RATES = (0.25, 0.5, 0.7, 0.85)

# How much a coefficient differs from day to day and driver to driver, over the scatter of a run: grid, and scale
# of its half-Cauchy prior. Estimates, chosen so that intervals hold on simulated seasons: docs/models/proof.md.
_LEARNING = (np.array([0.25, 0.5, 1.0, 2.0, 4.0]), 1.0)
_DRIFT = (np.array([0.015, 0.05, 0.15, 0.4]), 0.08)  # per run
_CHANGE = (np.array([0.1, 0.3, 0.6, 1.2]), 0.4)
DAYS_FOR_SPREAD = 3  # with fewer days on both set-ups nothing tells how much the change differs from day to day

CHANGE, LEARNING, DRIFT, PASSENGER, SURFACE = "change", "learning", "drift", "passenger", "surface"


def terms_of(compared: Compared, *, with_surface: bool) -> tuple[str, ...]:
    """What the model has beside the level of each driver's day: the change first."""
    n_entries = int(compared.entry.max()) + 1
    found = [CHANGE, LEARNING]
    if n_entries > 1:
        found.append(DRIFT)
    if varies_within(compared.passenger, compared.entry):
        found.append(PASSENGER)
    if with_surface and has_surface(compared):
        found.append(SURFACE)
    return tuple(found)


def has_surface(compared: Compared) -> bool:
    """Whether the temperature of the surface is known of every run and differs within days."""
    return bool(np.isfinite(compared.surface).all()) and varies_within(compared.surface, compared.entry)


def varies_within(values: Array, group: NDArray[np.intp]) -> bool:
    """Whether values, shape (n_runs,), differ within any group."""
    low, high = np.full(group.max() + 1, np.inf), np.full(group.max() + 1, -np.inf)
    np.minimum.at(low, group, values)
    np.maximum.at(high, group, values)
    return bool(np.any(high > low))


def columns_of(compared: Compared, terms: tuple[str, ...], rate: float) -> Array:
    """The columns of the terms, shape (n_runs, n_terms)."""
    known = {
        CHANGE: compared.is_after,
        LEARNING: rate**compared.position,
        DRIFT: compared.position - compared.position.mean(),
        PASSENGER: compared.passenger,
        SURFACE: compared.surface - np.mean(compared.surface),
    }
    return np.column_stack([known[term] for term in terms])


def same_day_settings(compared: Compared, terms: tuple[str, ...]) -> tuple[Setting, ...]:
    """The model for every rate at which learning may fade.

    Parameters
    ----------
    compared : Compared
        The runs.
    terms : tuple of str
        See `terms_of`.

    Notes
    -----
    log t = level of the entry + change + (learning + own) q^k + (drift + own) k + passenger + surface + scatter, k the
    number of attempts before. Learning and warming tyres both follow the order of the runs: it stands for their sum.
    """
    return tuple(_setting(compared, terms, rate) for rate in FADE_RATES)


def _setting(compared: Compared, terms: tuple[str, ...], rate: float) -> Setting:
    columns = columns_of(compared, terms, rate)
    varying, grids = [compared.position - compared.position.mean()], [_DRIFT]
    if compared.entry.max() > 0:
        varying.append(rate**compared.position)
        grids.append(_LEARNING)
    if CHANGE in terms and n_days_on_both(compared) >= DAYS_FOR_SPREAD:
        varying.append(compared.is_after)
        grids.append(_CHANGE)
    design = Design(response=compared.log_time, columns=columns, group=compared.entry, varying=np.column_stack(varying))
    return Setting(design=design, spreads=spread_grid(*grids)[0], log_prior=spread_grid(*grids)[1])


def spread_grid(*grids: tuple[Array, float]) -> tuple[Array, Array]:
    """Every combination of the grids' values, shape (n, n_grids), and the logarithm of its prior, shape (n,).

    References
    ----------
    Gelman, Prior Distributions for Variance Parameters in Hierarchical Models, Bayesian Analysis 1(3), 2006, section
    3.2 (the half-Cauchy prior).
    """
    priors = [np.log(np.gradient(values) / (1.0 + (values / scale) ** 2)) for values, scale in grids]
    spreads = np.array(list(product(*(values for values, _ in grids))))
    return spreads, np.array(list(product(*priors))).sum(axis=1)


def n_days_on_both(compared: Compared) -> int:
    """Entries with runs on both set-ups."""
    return int(np.unique(compared.entry[on_both(compared)]).size)


def on_both(compared: Compared) -> NDArray[np.bool_]:
    """Runs of entries with runs on both set-ups, shape (n_runs,)."""
    n_runs = np.bincount(compared.entry)
    n_after = np.bincount(compared.entry, compared.is_after)
    return np.asarray(((n_after > 0) & (n_after < n_runs))[compared.entry])
