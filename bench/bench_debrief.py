"""How long a debrief takes, stage by stage: the demo's logged run and a run of 71 s; nothing is kept from before.

Every debrief is a process of its own, as the command is: wall time since the process began, its processor time, and
that of the processes beside it (the other sides), which is known at the end.

    python -m bench.bench_debrief [REPEATS] [FOLDER to keep the minute's run in]
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
from dataclasses import replace
from pathlib import Path
from statistics import median
from time import monotonic, process_time

WANTED = {"first": 5.0, "whole": 30.0}  # of a run of a minute on two cores [s]
SEED, LENGTH, FEATURES, LOT = 3, 1000.0, 70, (460.0, 260.0)  # 1107 m, 71 s as driven
ROOM, PACE = 0.15, 0.93


def make_minute(folder):
    """A course, and a recording of a run of about a minute on it."""
    import numpy as np

    from conewise.course.reference import lay_out
    from conewise.course.toml_text import course_text
    from conewise.logs.export import csv_text
    from conewise.logs.simulated import SensorNoise, motion_of, simulated_log
    from conewise.solver.min_time import Settings, solve_run
    from conewise.solver.on_line import run_on_line
    from conewise.solver.solution import transient_solution
    from conewise.vehicle import build
    from conewise.workflows import predict
    from tests.cars import DEMO_NAMES, demo_car
    from tests.courses import club_course

    course, car = club_course(SEED, length=LENGTH, n_features=FEATURES, lot=LOT, either=True), demo_car(DEMO_NAMES[0])
    geometry = lay_out(course)
    p, settings = predict.parameters(geometry, car), Settings(shift_time=build.gearbox(car).shift_time)
    wide = solve_run(geometry, p, settings=settings, margins=np.full(len(geometry.passes), ROOM))
    line = wide.point.variables["lateral_offset"]
    run = run_on_line(wide, line, p=replace(p, friction_share=PACE))
    sensors = SensorNoise(receiver_rate=10.0, slow_position=0.05, white_position=0.02, delay=0.05)
    log = simulated_log(motion_of(transient_solution(run)), rng=np.random.default_rng(SEED), noise=sensors)
    (folder / "minute.toml").write_text(course_text(course), encoding="utf-8")
    (folder / "minute.csv").write_text(csv_text(log), encoding="utf-8")


def one(log, course, car):
    """One debrief; prints its stages as JSON."""
    began, marks = monotonic(), []

    def mark(words):
        marks.append([words, monotonic() - began, process_time()])

    from conewise.workflows.debrief import DebriefQuestion, answer_debrief

    answer = answer_debrief(
        DebriefQuestion(log=Path(log), course=Path(course), car=Path(car)),
        progress=mark,
        first=lambda told: mark(f"first: run {told.time:.2f} s, {len(told.measures.features)} features"),
    )
    focus = answer.focuses[0] if answer.focuses else None
    named = "no focus" if focus is None else f"{focus.cause.value} at {focus.feature}"
    mark(f"whole: {named}, {answer.breakdown.n_paths} lines drawn")
    from joblib.externals.loky import get_reusable_executor

    get_reusable_executor().shutdown(wait=True)
    beside = resource.getrusage(resource.RUSAGE_CHILDREN)
    print(json.dumps({"marks": marks, "beside": beside.ru_utime + beside.ru_stime}))


def measured(name, files, repeats):
    """Medians of several processes, printed."""
    words = [sys.executable, "-m", "bench.bench_debrief", "--one", *map(str, files)]
    found = [json.loads(subprocess.run(words, check=True, capture_output=True).stdout) for _ in range(repeats)]
    print(f"\n{name}: {repeats} processes, medians, since the process began")
    print("| stage begins | wall (worst) | processor |")
    print("|---|---|---|")
    for marks in zip(*(one["marks"] for one in found), strict=True):
        walls = [wall for _, wall, _ in marks]
        print(f"| {marks[0][0]} | {median(walls):.1f} s ({max(walls):.1f} s) | {median(m[2] for m in marks):.1f} s |")
    print(f"| processes beside it | | {median(one['beside'] for one in found):.1f} s |", flush=True)


def main():
    if sys.argv[1:2] == ["--one"]:
        one(*sys.argv[2:5])
        return
    import conewise.demo

    repeats = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    demo = Path(conewise.demo.__file__).parent
    with tempfile.TemporaryDirectory() as passing:
        folder = Path(sys.argv[2]) if len(sys.argv) > 2 else Path(passing)
        if not (folder / "minute.csv").exists():
            make_minute(folder)
        car = demo / "cars" / "marigold.toml"
        measured(
            "demo", (demo / "logs" / "harbour-yard-evening.csv", demo / "courses" / "harbour-yard.toml", car), repeats
        )
        measured(f"71 s, wanted for 60 s: {WANTED}", (folder / "minute.csv", folder / "minute.toml", car), repeats)


if __name__ == "__main__":
    main()
