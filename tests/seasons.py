"""Invented seasons with a known truth: what a change is worth, beside everything else that moves the times."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from conewise.proof.times import Times

COURSE_TIME = 48.0  # of a middling driver [s]
BEFORE, AFTER = "before", "after"


@dataclass(frozen=True, kw_only=True)
class Season:
    """How a season is made. Effects and scatter are shares of the course's time.

    orders: one word a day, one letter a run of those who test: A before the change, B after it
    others: drivers who change nothing
    """

    orders: tuple[str, ...]
    testers: int = 1
    others: int = 0
    effect: float = -0.006
    effect_sd: float = 0.0  # from day to day
    scatter: float = 0.008  # of a run
    tester_scatter: float = 1.0  # of those who test, over that of the others
    unequal: float = 0.0  # standard deviation of the logarithm of a driver's scatter
    learning: float = 0.015
    learning_sd: float = 0.008
    shape: str = "exponential"  # or "power": how learning fades
    rate: float = 0.5
    drift_sd: float = 0.0003  # per run, of the day
    outliers: float = 0.0  # share of the runs that went wrong
    warming: float = 0.0  # of the surface a run [K]
    per_kelvin: float = 0.0
    passenger: float = 0.0  # what one costs; every third run then has one
    day_sd: float = 0.004  # of a driver's day about the usual gap to the others
    progress: float = 0.0  # of all drivers over the season
    progress_sd: float = 0.0  # of one driver


def drawn(season, rng):
    """Columns of a times file by name, in driving order."""
    columns = {name: [] for name in ("date", "event", "driver", "run", "raw_time_s", "setup", "passenger", "surface_c")}
    n_days, n_drivers = len(season.orders), season.testers + season.others
    pace = rng.normal(0.0, 0.03, n_drivers)
    own = season.scatter * np.exp(rng.normal(0.0, season.unequal, n_drivers))
    own[: season.testers] *= season.tester_scatter
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
                share += season.passenger * has_passenger + own[driver] * rng.normal()
                share += effect * (is_tester and letter == "B")
                if rng.random() < season.outliers:
                    share += rng.gamma(2.0, 0.03)
                row = (
                    f"2031-{4 + day // 28:02d}-{1 + day % 28:02d}", f"day {day + 1}", f"driver {driver + 1}", k + 1,
                    course * np.exp(share), {"A": BEFORE, "B": AFTER}[letter] if is_tester else "", has_passenger,
                    surface if season.warming else np.nan,
                )  # fmt: skip
                for name, value in zip(columns, row, strict=True):
                    columns[name].append(value)
    return columns


def times_of(columns):
    """The columns as the reader would give them."""
    n_runs = len(columns["run"])
    return Times(
        line=np.arange(n_runs) + 2,
        date=np.array([float(name.split()[1]) for name in columns["event"]]),
        event=np.array(columns["event"]),
        driver=np.array(columns["driver"]),
        run=np.array(columns["run"]),
        raw_time=np.array(columns["raw_time_s"]),
        cones=np.zeros(n_runs),
        outcome=np.full(n_runs, "finished"),
        setup=np.array(columns["setup"]),
        passenger=np.array(columns["passenger"], dtype=bool),
        surface=np.array(columns["surface_c"], dtype=float),
    )


def csv_text(columns):
    """A times file of the columns."""
    rows = [",".join(columns)]
    for index in range(len(columns["run"])):
        cells = {name: values[index] for name, values in columns.items()}
        cells["raw_time_s"] = f"{cells['raw_time_s']:.3f}"
        cells["passenger"] = "yes" if cells["passenger"] else ""
        cells["surface_c"] = "" if np.isnan(cells["surface_c"]) else f"{cells['surface_c']:.1f}"
        rows.append(",".join(map(str, cells.values())))
    return "\n".join(rows) + "\n"


# What the intervals are held to: each is a way in which a real test may be.
SCENARIOS = {
    "few runs": Season(orders=("ABBBAA",)),
    "one day": Season(orders=("AABBBBAA",)),
    "outliers": Season(orders=("AABBBBAA", "BBAAAABB"), outliers=0.08),
    "learning": Season(orders=("AABBAABB", "BBAABBAA"), learning=0.04, learning_sd=0.015, shape="power"),
    "drift": Season(orders=("AABBBBAA",), drift_sd=0.001),
    "unequal drivers": Season(orders=("ABBAAB",) * 2, testers=3, unequal=0.5),
    "temperature": Season(orders=("ABBAABBA", "BAABBAAB"), warming=1.5, per_kelvin=0.0006),
    "passenger": Season(orders=("ABBAABBA", "BAABBAAB"), passenger=0.01),
    "season": Season(orders=("ABBA", "BAAB", "ABBA", "BAAB", "ABBA"), effect_sd=0.003),
    "others show the order": Season(orders=("AAABBB",), others=5),
    "others show the days": Season(orders=("AAAA",) * 3 + ("BBBB",) * 3, others=5),
    "others progress too": Season(orders=("AAAA", "BBBB") * 3, others=5, progress=0.01, progress_sd=0.004),
}
