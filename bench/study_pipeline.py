"""Planted causes through the whole debrief, from a recorded file to the focus, every run solved as there.

A driver has a line of his own (0.05 to 0.3 m of room at every cone, drawn), uses 0.97 of the grip, and makes one
mistake that costs 0.3 to 0.6 s: his speed is lower by a smooth hill about one corner, or he leaves one cone 0.9 m of
room. What is worked out is kept in a folder, line by line; the table is of all that is there.

    python -m bench.study_pipeline FOLDER SENSORS CAUSE SEED [SEED ...]
    python -m bench.study_pipeline FOLDER
"""

from __future__ import annotations

import json
import pickle
import sys
from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np

import conewise.demo
from conewise.course.earth import LocalPlane
from conewise.logs.export import csv_text
from conewise.logs.simulated import SensorNoise, motion_of, simulated_log
from conewise.logs.three_runs import three_runs
from conewise.solver.gear_search import followed
from conewise.solver.on_line import ROUGH, run_on_line
from conewise.solver.problem import NEAR
from conewise.solver.solution import transient_solution
from conewise.workflows.debrief import DebriefQuestion, answer_debrief
from conewise.workflows.traces import predicted_trace
from tests.cars import DEMO_NAMES, demo_car

DEMO = Path(conewise.demo.__file__).parent
PACE, ROOM, WIDE = 0.97, (0.05, 0.3), 0.9
COSTS = (0.3, 0.6)  # of what is planted in the speed [s]
SENSORS = {
    "25hz-2cm": SensorNoise(receiver_rate=25.0, slow_position=0.02, white_position=0.01, delay=0.05),
    "10hz-50cm": SensorNoise(),
    "1hz-2m": SensorNoise(receiver_rate=1.0, slow_position=2.0, correlation_time=60.0),
}
# Hills in the speed: where they begin, are highest and end, beside the braking point and the slow point [m]
HILLS = {
    "slow-entry": lambda brake, low: (brake, low, low + 45.0),
    "early-lift": lambda brake, low: (brake - 35.0, brake, low),
    "late-power": lambda _brake, low: (low, low + 25.0, low + 60.0),
}
SAME = {"coasting": "early-lift"}


@dataclass(frozen=True)
class Place:
    """Where something is planted: the feature, and what the hills need. [m]"""

    feature: str
    braking: float
    slowest: float


def corners(free):
    """Corners of the best run that it brakes for, away from both ends."""
    trace = predicted_trace(transient_solution(free), free.problem.geometry, name="best")
    spans = [SimpleNamespace(id=s.id, start=s.start, end=s.end, kind=s.kind.value) for s in free.problem.geometry.spans]
    runs = three_runs(SimpleNamespace(features=spans), driven=trace, on_line=trace, best=trace)
    return [
        Place(one.feature, float(runs.station[one.braking]), float(runs.station[one.slowest]))
        for one in runs.corners
        if one.braking < one.slowest and 60.0 < runs.station[one.slowest] < runs.station[-1] - 70.0
    ]


def hill(station, begin, top, end):
    """A smooth hill of height one."""
    share = np.interp(station, [begin, top, end], [0.0, 1.0, 0.0])
    return share**2 * (3.0 - 2.0 * share)


def slowed(run, *, shape, cost):
    """The same places later: slower by a hill whose height makes it cost the wanted time."""
    step = np.diff(run.elapsed)
    middle = (shape[1:] + shape[:-1]) / 2.0
    low, high = 0.0, 0.6
    for _ in range(40):
        height = (low + high) / 2.0
        more = float(np.sum(step / (1.0 - height * middle) - step))
        low, high = (height, high) if more < cost else (low, height)
    elapsed = run.elapsed[0] + np.concatenate([[0.0], np.cumsum(step / (1.0 - low * middle))])
    return SimpleNamespace(elapsed=elapsed, x=run.x, y=run.y, heading=run.heading)


def planted(free, cause, rng):
    """A driven run with one mistake, and the feature in which it is; "" for a clean driver."""
    geometry = free.problem.geometry
    room, feature = rng.uniform(*ROOM, len(geometry.passes)), ""
    if cause == "wide-at-cone":
        near = np.flatnonzero(
            [not c.is_guard and 60.0 < c.station < geometry.path.length - 60.0 for c in geometry.passes]
        )
        price = np.array([abs(geometry.passes[k].offset) for k in near])
        chosen = near[np.argsort(price)[int(rng.integers(len(near) // 2))]]
        room[chosen], feature = WIDE, geometry.passes[chosen].feature
    problem = free.problem.changed(margins=room)
    _, wide = problem.cold(free.point.z, followed(free.settings), options=replace(NEAR, tolerance=ROUGH.tolerance))
    calm = replace(free.problem.p, friction_share=PACE)
    run = transient_solution(run_on_line(free, wide.variables["lateral_offset"], p=calm, is_rough=True))
    if cause not in HILLS:
        return run, feature
    there = corners(free)
    place = there[int(rng.integers(len(there)))]
    shape = hill(run.station, *HILLS[cause](place.braking, place.slowest))
    return slowed(run, shape=shape, cost=rng.uniform(*COSTS)), place.feature


def one(folder, sensors, *, cause, seed):
    """One case; what came of it as plain data."""
    free = pickle.loads((folder / "free.pkl").read_bytes()).run()
    rng = np.random.default_rng([seed, sum(map(ord, cause))])
    run, feature = planted(free, cause, rng)
    site = free.problem.geometry.course.site
    plane = LocalPlane(site.anchor, site.heading_to_north)
    log = simulated_log(motion_of(run), rng=rng, noise=SENSORS[sensors], plane=plane)
    file = folder / f"{sensors}-{cause}-{seed}.csv"
    file.write_text(csv_text(log), encoding="utf-8")
    question = DebriefQuestion(
        log=file, course=DEMO / "courses" / "harbour-yard.toml", car=DEMO / "cars" / "marigold.toml", workers=1
    )
    answer = answer_debrief(question, progress=lambda _words: None)
    return {
        "sensors": sensors, "planted": cause, "seed": seed, "feature": feature, "n_paths": answer.breakdown.n_paths,
        "gap": answer.breakdown.gap, "codes": [finding.code for finding in answer.findings],
        "found": [[f.cause.value, f.feature, round(f.seconds, 3)] for f in answer.focuses],
    }  # fmt: skip


def report(rows):
    names = list(dict.fromkeys(row["planted"] for row in rows))
    for sensors in dict.fromkeys(row["sensors"] for row in rows):
        print(f"\n{sensors}\n| planted | cases | right | right among three | named first (* elsewhere) |")
        print("|---|---|---|---|---|")
        for cause in names:
            mine = [row for row in rows if (row["sensors"], row["planted"]) == (sensors, cause)]
            if not mine:
                continue

            def is_right(focus, row, cause=cause):
                return SAME.get(focus[0], focus[0]) == cause and focus[1] == row["feature"]

            first = sum(bool(row["found"]) and is_right(row["found"][0], row) for row in mine)
            seen = sum(any(is_right(focus, row) for focus in row["found"]) for row in mine)
            said = Counter(
                "none"
                if not row["found"]
                else row["found"][0][0] + ("" if row["found"][0][1] == row["feature"] else "*")
                for row in mine
            )
            print(f"| {cause} | {len(mine)} | {first} | {seen} | {', '.join(f'{k} {v}' for k, v in said.items())} |")


def main():
    folder = Path(sys.argv[1])
    kept = folder / "pipeline.jsonl"
    rows = [json.loads(line) for line in kept.read_text().splitlines()] if kept.exists() else []
    if len(sys.argv) > 2:
        from bench.study_breakdown import free_base
        from bench.study_breakdown import kept as kept_free

        kept_free(folder / "free.pkl", lambda: free_base(demo_car(DEMO_NAMES[0])))
        sensors, cause, *seeds = sys.argv[2:]
        for seed in map(int, seeds):
            if any((r["sensors"], r["planted"], r["seed"]) == (sensors, cause, seed) for r in rows):
                continue
            row = one(folder, sensors, cause=cause, seed=seed)
            with kept.open("a") as file:
                file.write(json.dumps(row) + "\n")
            print(row, flush=True)
        return
    report(rows)


if __name__ == "__main__":
    main()
