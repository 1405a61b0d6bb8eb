"""How often the interval of a proof holds the truth, on seasons that know it: the table of docs/models/proof.md.

`python bench/study_proof.py [N] [--into FILE]`: N seasons of each kind, 1,000 where left out; the seed is fixed. With a
file what is done is kept, so that a study that was stopped goes on.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path

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


def told(row):
    """One line of the table."""
    numbers = f"{row['inside']:9.3f}{row['below']:8.3f}{row['above']:8.3f}{row['width']:9.2f}{row['ms']:6.0f}"
    return f"{row['kind']:<24}{row['told']:6d}{numbers}"


def main():
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("n_seasons", type=int, nargs="?", default=1000)
    asked.add_argument("--into", type=Path, help="keep every kind that is done here, and go on with the others")
    given = asked.parse_args()
    kept = json.loads(given.into.read_text()) if given.into and given.into.is_file() else []
    done = {row["kind"]: row for row in kept if row["n_seasons"] == given.n_seasons}
    print(f"{'seasons of the kind':<24}{'told':>6}{'inside':>9}{'below':>8}{'above':>8}{'width s':>9}{'ms':>6}")
    for number, (name, season) in enumerate(SCENARIOS.items()):
        if name not in done:
            start = time.process_time()
            n_told, inside, below, above, width, _ = study(
                season, given.n_seasons, np.random.default_rng([SEED, number])
            )
            ms = 1e3 * (time.process_time() - start) / given.n_seasons
            done[name] = {"kind": name, "n_seasons": given.n_seasons, "told": n_told, "inside": inside,
                          "below": below, "above": above, "width": float(width), "ms": ms}  # fmt: skip
            if given.into:
                given.into.write_text(json.dumps(list(done.values()), indent=1))
        print(told(done[name]), flush=True)
    n_told = sum(row["told"] for row in done.values())
    print(f"{'all':<24}{n_told:6d}{sum(row['inside'] * row['told'] for row in done.values()) / n_told:9.3f}")


if __name__ == "__main__":
    main()
