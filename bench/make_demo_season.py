"""Makes the table of predicted times of the invented season: every demo car on a demo course at several paces.

Adds what is missing to src/conewise/demo/season/predicted.csv; the runs of the season are drawn from it. The times are
those of the quasi-steady engine. Delete the table to make it anew.
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

import conewise.demo
from conewise.cars.car_file import read_car
from conewise.cars.driver import typical_driver
from conewise.course.files import read_course
from conewise.workflows.line_solves import LineSolves
from conewise.workflows.mentoring import PACES

DEMO = Path(conewise.demo.__file__).parent
TARGET = DEMO / "season" / "predicted.csv"
LEVEL = "quasi-steady"
HEAD = f"# Predicted by the {LEVEL} engine, seconds; written by bench/make_demo_season.py.\ncar,course,pace,time_s\n"

if __name__ == "__main__":
    TARGET.parent.mkdir(exist_ok=True)
    if not TARGET.exists():
        TARGET.write_text(HEAD, encoding="utf-8")
    known = {tuple(row[:2]) for row in csv.reader(TARGET.read_text(encoding="utf-8").splitlines()[2:])}
    for course in sys.argv[1:] or ["harbour-yard"]:
        for car in sorted(path.stem for path in (DEMO / "cars").glob("*.toml")):
            if (car, course) in known:
                continue
            solves = LineSolves(
                course=read_course(DEMO / "courses" / f"{course}.toml"), car=read_car(DEMO / "cars" / f"{car}.toml"),
                driver=typical_driver("expert"), level=LEVEL, pace=max(PACES), surface=1.0, progress=lambda _: None,
            )  # fmt: skip
            rows = [f"{car},{course},{one.pace},{one.time:.3f}" for one in solves.build_up(solves.best(), PACES)]
            with TARGET.open("a", encoding="utf-8") as file:
                file.write("\n".join(rows) + "\n")
            print("\n".join(rows), flush=True)
