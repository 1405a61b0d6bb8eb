"""Planted causes through the whole debrief, from a recorded file to the focus, and clean drivers beside them.

A driver has a line of his own (0.05 to 0.3 m of room at every cone, drawn), uses 0.97 of the grip, and makes one
mistake: his speed is lower by a smooth hill about one corner, which costs 0.3 to 0.6 s, or he leaves one cone 0.9 m of
room. A clean driver makes none; nor does a calm one, who uses 0.85 of the grip and leaves 0.1 to 0.6 m. File, fusion,
friction, the lines and their solves are those of a user's debrief; the best run of the course is solved once, and
sides that were not driven are left out: the focus does not look at them.

What is worked out is kept in a folder, so that a study that was stopped goes on; the tables are of all that is there.
With `--again` the rules alone look again at the debriefs that are kept, which takes seconds.

    python -m bench.study_pipeline --into FOLDER [--sensors NAME ...] [--planted CAUSE ...] [--seeds FIRST LAST]
    python -m bench.study_pipeline --into FOLDER --again
"""

from __future__ import annotations

import argparse
import json
import pickle
from collections import Counter
from contextlib import ExitStack
from dataclasses import dataclass, replace
from pathlib import Path
from time import process_time
from types import SimpleNamespace
from unittest.mock import patch

import numpy as np
from bench.study_breakdown import free_base, share
from bench.study_breakdown import kept as kept_in

import conewise.demo
from conewise.course.earth import LocalPlane
from conewise.logs import causes
from conewise.logs.export import csv_text
from conewise.logs.simulated import SensorNoise, motion_of, simulated_log
from conewise.logs.three_runs import three_runs
from conewise.logs.where import standing_out
from conewise.solver.gear_search import followed
from conewise.solver.on_line import ROUGH, run_on_line
from conewise.solver.problem import NEAR
from conewise.solver.solution import transient_solution
from conewise.workflows import debrief_runs, debrief_sides
from conewise.workflows.debrief import DebriefQuestion, answer_debrief
from conewise.workflows.traces import predicted_trace
from tests.cars import DEMO_NAMES, demo_car

DEMO = Path(conewise.demo.__file__).parent
PACE, ROOM, WIDE = 0.97, (0.05, 0.3), 0.9
CALM_PACE, CALM_ROOM = 0.85, (0.1, 0.6)
COSTS = (0.3, 0.6)  # of what is planted in the speed [s]
SENSORS = {
    "25hz-2cm": SensorNoise(receiver_rate=25.0, slow_position=0.02, white_position=0.01, delay=0.05),
    "10hz-50cm": SensorNoise(),
    "1hz-2m": SensorNoise(receiver_rate=1.0, slow_position=2.0, correlation_time=60.0),
    "1hz-2m-alone": SensorNoise(receiver_rate=1.0, slow_position=2.0, correlation_time=60.0, inertial_rate=0.0),
}
# Hills in the speed: where they begin, are highest and end, beside the braking point and the slow point [m]
HILLS = {
    "slow-entry": lambda brake, low: (brake, low, low + 45.0),
    "early-lift": lambda brake, low: (brake - 35.0, brake, low),
    "late-power": lambda _brake, low: (low, low + 25.0, low + 60.0),
}
SAME = {"coasting": "early-lift"}
CLEAN = ("none", "calm")
PLANTED = (*CLEAN, *HILLS, "wide-at-cone")
DEAR = 0.15  # a focus of a clean driver that costs more is a false one [s]
SURE = 0.8  # a focus is told with at least this chance to count in the table of chances


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
    pace, range_of_room = (CALM_PACE, CALM_ROOM) if cause == "calm" else (PACE, ROOM)
    room, feature = rng.uniform(*range_of_room, len(geometry.passes)), ""
    if cause == "wide-at-cone":
        near = np.flatnonzero(
            [not c.is_guard and 60.0 < c.station < geometry.path.length - 60.0 for c in geometry.passes]
        )
        price = np.array([abs(geometry.passes[k].offset) for k in near])
        chosen = near[np.argsort(price)[int(rng.integers(len(near) // 2))]]
        room[chosen], feature = WIDE, geometry.passes[chosen].feature
    problem = free.problem.changed(margins=room)
    _, wide = problem.cold(free.point.z, followed(free.settings), options=replace(NEAR, tolerance=ROUGH.tolerance))
    calm = replace(free.problem.p, friction_share=pace)
    run = transient_solution(run_on_line(free, wide.variables["lateral_offset"], p=calm, is_rough=True))
    if cause not in HILLS:
        return run, feature
    there = corners(free)
    place = there[int(rng.integers(len(there)))]
    shape = hill(run.station, *HILLS[cause](place.braking, place.slowest))
    return slowed(run, shape=shape, cost=rng.uniform(*COSTS)), place.feature


def driver(folder, free, *, cause, seed):
    """A driven run and the feature in which its mistake is; solved once, whatever records it."""

    def made():
        run, feature = planted(free, cause, np.random.default_rng([seed, sum(map(ord, cause))]))
        return SimpleNamespace(elapsed=run.elapsed, x=run.x, y=run.y, heading=run.heading), feature

    return kept_in(folder / f"driver-{cause}-{seed}.pkl", made)


def debriefed(file, free):
    """What the rules are given in the debrief of a file: the arguments of `causes.focuses`."""
    given, solve = [], debrief_runs.free_run

    def noted(breakdown, **others):
        given.append((breakdown, others))
        return ()

    def solved(laid, car, *, surface, start=None):
        if start is None and surface == 1.0 and laid.geometry.choices == free.problem.geometry.choices:
            along = debrief_runs._laid_on(laid, free.problem.geometry)
            return debrief_runs.FreeRun(run=free, laid=along, car=car)
        return solve(laid, car, surface=surface, start=start)

    question = DebriefQuestion(
        log=file, course=DEMO / "courses" / "harbour-yard.toml", car=DEMO / "cars" / "marigold.toml", workers=1
    )
    none = debrief_sides.OtherSides(surface=1.0, count=0, found=iter(()))
    with ExitStack() as stack:
        stack.enter_context(patch.object(causes, "focuses", noted))
        stack.enter_context(patch.object(debrief_runs, "free_run", solved))
        stack.enter_context(patch.object(debrief_sides, "other_sides", lambda *_, **__: none))
        answer_debrief(question, progress=lambda _words: None)
    return given[0]


def one(folder, free, case):
    """One case; what the rules are given and where the mistake is."""
    sensors, cause, seed = case
    run, feature = driver(folder, free, cause=cause, seed=seed)
    site = free.problem.geometry.course.site
    plane = LocalPlane(site.anchor, site.heading_to_north)
    rng = np.random.default_rng([seed, *map(ord, sensors)])
    file = folder / f"{sensors}-{cause}-{seed}.csv"
    log = simulated_log(motion_of(run), rng=rng, noise=SENSORS[sensors], plane=plane)
    file.write_text(csv_text(log), encoding="utf-8")
    given = debriefed(file, free)
    file.unlink()
    return given, feature


def row_of(given, case, feature):
    """What the rules say, as plain data."""
    breakdown, runs = given
    found = causes.focuses(breakdown, **runs)
    where = None if found or breakdown.tells_line else standing_out(breakdown, runs["measures"])
    sensors, cause, seed = case
    return {
        "sensors": sensors, "planted": cause, "seed": seed, "feature": feature, "gap": round(breakdown.gap, 3),
        "found": [[f.cause.value, f.feature, round(f.seconds, 3), round(f.chance, 4)] for f in found],
        "where": None if where is None else [where.feature, round(where.seconds, 3), round(where.more, 3)],
    }  # fmt: skip


def is_right(focus, row):
    return SAME.get(focus[0], focus[0]) == row["planted"] and focus[1] == row["feature"]


def report(rows):
    for sensors in dict.fromkeys(row["sensors"] for row in rows):
        mine = [row for row in rows if row["sensors"] == sensors]
        print(f"\n{sensors}\n| planted | cases | place and cause right | place right | nothing |", end="")
        print(" a place alone (right) | named first (* elsewhere) |\n|---|---|---|---|---|---|---|")
        for cause in PLANTED:
            cases = [row for row in mine if row["planted"] == cause]
            if cases:
                print_cases(cause, cases)
        clean = [row for row in mine if row["planted"] in CLEAN]
        dear = sum(any(focus[2] > DEAR for focus in row["found"]) for row in clean)
        print(f"clean drivers with a focus: {share([bool(row['found']) for row in clean])};", end=" ")
        print(f"with one above {DEAR} s: {dear}; with a place alone: {sum(row['where'] is not None for row in clean)}")
        first = [is_right(row["found"][0], row) for row in mine if row["found"] and row["found"][0][3] >= SURE]
        told = [is_right(focus, row) for row in mine for focus in row["found"] if focus[3] >= SURE]
        if told:
            print(f"told with a chance of {SURE} or more: the focus right {share(first)}, all told {share(told)}")


def print_cases(cause, cases):
    first = [row for row in cases if row["found"]]
    right = sum(is_right(row["found"][0], row) for row in first)
    there = sum(row["found"][0][1] == row["feature"] for row in first)
    places = [row for row in cases if row["where"]]
    at = sum(row["where"][0] == row["feature"] for row in places)
    said = Counter(row["found"][0][0] + ("" if row["found"][0][1] == row["feature"] else "*") for row in first)
    names = ", ".join(f"{name} {count}" for name, count in said.items())
    nothing = len(cases) - len(first) - len(places)
    cells = [cause, len(cases), right, there, nothing, f"{len(places)} ({at})", names or "none"]
    print("| " + " | ".join(map(str, cells)) + " |")


def asked():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--into", type=Path, required=True, help="folder that keeps what is worked out")
    parser.add_argument("--sensors", nargs="*", default=list(SENSORS), choices=list(SENSORS))
    parser.add_argument("--planted", nargs="*", default=list(PLANTED), choices=PLANTED)
    parser.add_argument("--seeds", nargs=2, type=int, default=(1, 4), metavar=("FIRST", "LAST"))
    parser.add_argument("--again", action="store_true", help="let the rules look again at what is kept")
    return parser.parse_args()


def main():
    given = asked()
    folder = given.into
    folder.mkdir(parents=True, exist_ok=True)
    free = kept_in(folder / "free.pkl", lambda: free_base(demo_car(DEMO_NAMES[0])))
    free = None if given.again else free.run()
    cases = [
        (sensors, cause, seed)
        for sensors in given.sensors
        for cause in given.planted
        for seed in range(given.seeds[0], given.seeds[1] + 1)
    ]
    for case in () if given.again else cases:
        file, began = folder / ("ready-{}-{}-{}.pkl".format(*case)), process_time()
        if not file.exists():
            file.write_bytes(pickle.dumps((case, *one(folder, free, case))))
            print(*case, f"{process_time() - began:.1f} s", flush=True)
    ready = [pickle.loads(file.read_bytes()) for file in sorted(folder.glob("ready-*.pkl"))]
    rows = [row_of(told, case, feature) for case, told, feature in ready]
    rows.sort(key=lambda row: (list(SENSORS).index(row["sensors"]), row["planted"], row["seed"]))
    (folder / "rows.jsonl").write_text("".join(json.dumps(row) + "\n" for row in rows))
    report(rows)


if __name__ == "__main__":
    main()
