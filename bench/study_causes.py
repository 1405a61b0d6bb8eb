"""Planted causes and what the debrief makes of them: a confusion table for three levels of noise, and clean drivers.

The rules were settled on the courses and seeds of `tests/planted.py`; this study takes others. The breakdown is that of
quasi-steady runs on the recorded line and on the best line, not of the transient solver.

With `--untold` the recordings cannot tell line from speed, and are held against the fastest run on their bend.

    python -m bench.study_causes [cases] [--untold]
"""

from __future__ import annotations

import sys
from collections import Counter
from time import perf_counter

from conewise.logs.causes import focuses
from conewise.logs.focus import Cause
from tests.planted import CAUSES, EQUIVALENT, NOISES, held_by_bend, planted_run

COURSES = tuple(range(101, 131))
FIRST_SEED = 1000
UNTOLD = "--untold"
SURE = 0.15  # a focus of a clean driver that costs more is a false one [s]


def found(cause, *, seed, noise):
    run = planted_run(cause, seed=seed, noise=noise, courses=COURSES)
    if UNTOLD in sys.argv:
        return run, focuses(**held_by_bend(run))
    answer = focuses(run.breakdown, driven=run.driven, on_line=run.on_line, best=run.best, measures=run.measures)
    return run, answer


def study(level, n_cases):
    """Confusion of one level: rows planted, columns named first; a star where the feature is another."""
    table = {cause: Counter() for cause in CAUSES}
    strict = right = seen = off = 0
    for case in range(n_cases):
        cause = CAUSES[case % len(CAUSES)]
        run, answer = found(cause, seed=FIRST_SEED + case, noise=NOISES[level])
        if not answer:
            table[cause]["none"] += 1
            continue
        first = answer[0]
        here = first.feature in run.features
        table[cause][first.cause.value + ("" if here else "*")] += 1
        strict += here and first.cause is cause
        right += here and EQUIVALENT[first.cause] == EQUIVALENT[cause]
        seen += any(f.feature in run.features and EQUIVALENT[f.cause] == EQUIVALENT[cause] for f in answer)
        off += abs(first.seconds - run.cost)
    print(
        f"\n{level}: {right} of {n_cases} right, {strict} without the equivalence, {seen} among the first three;",
        end=" ",
    )
    print(f"mean error of the seconds {off / n_cases:.3f} s")
    print_table(table)


def print_table(table):
    names = [*(cause.value for cause in CAUSES), "none"]
    print("| planted | " + " | ".join(names) + " | elsewhere |")
    print("|---" * (len(names) + 2) + "|")
    for cause, row in table.items():
        elsewhere = sum(count for name, count in row.items() if name.endswith("*"))
        cells = [str(row[name] or "") for name in names] + [str(elsewhere or "")]
        print(f"| {cause.value} | " + " | ".join(cells) + " |")


def clean(level, n_cases):
    """Drivers without a fault."""
    false = Counter()
    for case in range(n_cases):
        _, answer = found(None, seed=FIRST_SEED + case, noise=NOISES[level])
        if answer and max(focus.seconds for focus in answer) > SURE:
            false[answer[0].cause.value] += 1
    print(f"{level}: {sum(false.values())} of {n_cases} clean drivers with a focus above {SURE} s", dict(false))


def main():
    n_cases = int(next((word for word in sys.argv[1:] if word != UNTOLD), 200))
    for level in NOISES:
        began = perf_counter()
        study(level, n_cases)
        clean(level, n_cases)
        print(f"{perf_counter() - began:.0f} s", flush=True)


if __name__ == "__main__":
    assert set(CAUSES) == set(Cause)
    main()
