"""How often the interval of a proof holds the truth, on seasons that know it: the table of docs/models/proof.md.

`python bench/study_proof.py [N]`: N seasons of each kind, 1,000 where left out; the seed is fixed.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from conewise.proof.comparison import question_of
from conewise.proof.effect import Effect, effect_of
from tests.seasons import COURSE_TIME, SCENARIOS, drawn, times_of

SEED = 20310410
LEVEL = 0.9


def study(season, n_seasons, rng):
    """Shares of seasons whose truth lies inside, below and above; median width [s]; how often a side was right."""
    below = above = told = 0
    widths, probabilities = [], []
    for _ in range(n_seasons):
        times = times_of(drawn(season, rng))
        found = effect_of(times, question_of(times), level=LEVEL)
        if not isinstance(found, Effect):
            continue
        told += 1
        low, high = found.share.interval(LEVEL)
        below += season.effect < low
        above += season.effect > high
        widths.append((high - low) * COURSE_TIME)
        probabilities.append(found.probability)
    return told, 1.0 - (below + above) / told, below / told, above / told, np.median(widths), np.mean(probabilities)


if __name__ == "__main__":
    n_seasons = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    inside = all_told = 0
    print(f"{'seasons of the kind':<24}{'told':>6}{'inside':>9}{'below':>8}{'above':>8}{'width s':>9}{'ms':>6}")
    for number, (name, season) in enumerate(SCENARIOS.items()):
        start = time.process_time()
        told, share, below, above, width, _ = study(season, n_seasons, np.random.default_rng([SEED, number]))
        took = 1e3 * (time.process_time() - start) / n_seasons
        inside, all_told = inside + share * told, all_told + told
        print(f"{name:<24}{told:6d}{share:9.3f}{below:8.3f}{above:8.3f}{width:9.2f}{took:6.0f}", flush=True)
    print(f"{'all':<24}{all_told:6d}{inside / all_told:9.3f}")
