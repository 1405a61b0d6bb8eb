"""Makes the times of the examples: an invented driver tests a bar on two days, two others change nothing.

Writes src/conewise/demo/times/harbour-yard-bar-test.csv; the seed is fixed.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

import conewise.demo
from tests.seasons import Season, csv_text, drawn

SEED = 2031
TRUTH = Season(orders=("AABBBBAA", "BBAAAABB"), others=2, effect=-0.012, learning=0.02, warming=0.8, per_kelvin=0.0003)
NAMES = {
    "before": "standard rear bar", "after": "stiff rear bar",
    "driver 1": "Ash", "driver 2": "Birch", "driver 3": "Cedar",
    "day 1": "Harbour Yard, first evening", "day 2": "Harbour Yard, second evening",
}  # fmt: skip
CONES_A_RUN = 0.25
TARGET = Path(conewise.demo.__file__).parent / "times" / "harbour-yard-bar-test.csv"


def demo_times():
    """The file's text."""
    columns = drawn(TRUTH, np.random.default_rng(SEED))
    cones = np.random.default_rng(SEED + 1).poisson(CONES_A_RUN, len(columns["run"])).tolist()
    for name in ("event", "driver", "setup"):
        columns[name] = [f'"{NAMES[value]}"' if value else "" for value in columns[name]]
    return csv_text(columns | {"cones": cones, "outcome": ["finished"] * len(cones)})


if __name__ == "__main__":
    TARGET.parent.mkdir(exist_ok=True)
    TARGET.write_text(demo_times(), encoding="utf-8")
    print(f"{TARGET}: the bar is worth {TRUTH.effect:.1%} of the time")
