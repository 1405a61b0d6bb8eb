"""Invented seasons with a known truth: what drivers gain by a change, beside everything else that moves their times."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

COURSE_TIME = 48.0  # of a middling driver [s]


@dataclass(frozen=True, kw_only=True)
class Season:
    """How a season is made. Times and their scatter are shares of the course's time.

    orders: one word a day for the driver who tests, A before and B after, one letter a run; a blank: a day off
    others: drivers who change nothing
    """

    orders: tuple[str, ...]
    testers: int = 1
    others: int = 0
    effect: float = -0.006
    effect_sd: float = 0.0  # from day to day
    scatter: float = 0.008
    unequal: float = 0.0  # standard deviation of the logarithm of the drivers' scatter
    learning: float = 0.015
    learning_sd: float = 0.008
    shape: str = "exponential"  # or "power": how learning fades
    rate: float = 0.5
    drift_sd: float = 0.0003  # per run, of the day: surface, temperature of the driver
    outliers: float = 0.0  # share of runs that went wrong
    warming: float = 0.0  # of the surface a run [K]
    per_kelvin: float = 0.0
    passenger: float = 0.0  # what one costs; every third run then has one
    day_sd: float = 0.004  # of a driver's day about the usual gap to the others
    progress: float = 0.0  # of all drivers over the season
    progress_sd: float = 0.0  # of one driver


def with_learning(season, **changes):
    return replace(season, **changes)


def drawn(season, rng):
    """Columns of a times file, by name, in driving order."""
    columns = {name: [] for name in ("date", "event", "driver", "run", "raw_time_s", "setup", "passenger", "surface_c")}
    n_days, n_drivers = len(season.orders), season.testers + season.others
    pace = rng.normal(0.0, 0.03, n_drivers)
    own_scatter = season.scatter * (np.exp(rng.normal(0.0, season.unequal, n_drivers)) if season.unequal>=0 else np.where(np.arange(n_drivers)<season.testers,1.0,0.4 if season.unequal==-1 else 2.5))
    progress = season.progress + rng.normal(0.0, season.progress_sd, n_drivers)
    for day, word in enumerate(season.orders):
        course = COURSE_TIME * np.exp(rng.normal(0.0, 0.15))
        drift = rng.normal(0.0, season.drift_sd)
        warm = 25.0 + rng.normal(0.0, 5.0)
        effect = season.effect + rng.normal(0.0, season.effect_sd)
        for driver in range(n_drivers):
            level = pace[driver] + rng.normal(0.0, season.day_sd) - progress[driver] * day / max(1, n_days - 1)
            gain = season.learning + rng.normal(0.0, season.learning_sd)
            is_tester = driver < season.testers
            for k, letter in enumerate(word):
                fade = season.rate**k if season.shape == "exponential" else (k + 1.0) ** -season.rate
                surface = warm + season.warming * k + rng.normal(0.0, 1.0)
                has_passenger = season.passenger != 0.0 and rng.random() < 1 / 3
                share = level + gain * fade + drift * k + season.per_kelvin * (surface - warm)
                share += season.passenger * has_passenger + own_scatter[driver] * rng.normal()
                share += effect * (is_tester and letter == "B")
                if rng.random() < season.outliers:
                    share += rng.gamma(2.0, 0.03)
                row = (f"2031-{4 + day // 28:02d}-{1 + day % 28:02d}", f"day {day + 1}", f"driver {driver + 1}", k + 1)
                row += (course * np.exp(share), {"A": "before", "B": "after"}[letter] if is_tester else "", has_passenger)
                for name, value in zip(columns, (*row, surface if season.warming else np.nan), strict=True):
                    columns[name].append(value)
    return columns
