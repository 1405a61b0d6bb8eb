"""Makes the table of predicted times of the invented season: every demo car on the demo courses at several paces.

Adds what is missing to src/conewise/demo/season/predicted.csv; the runs of the season are drawn from it. The times are
those of the transient runs, whole and by kind of stretch. Delete the table to make it anew.
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

import conewise.demo
from conewise.cars.car_file import read_car
from conewise.cars.driver import typical_driver
from conewise.course.files import read_course
from conewise.course.reference import lay_out
from conewise.logs.seasons import STRETCH_KINDS, stretch_kind
from conewise.workflows.line_solves import LineSolves
from conewise.workflows.mentoring import PACES

DEMO = Path(conewise.demo.__file__).parent
TARGET = DEMO / "season" / "predicted.csv"
LEVEL = "transient"
HEAD = (
    f"# Predicted {LEVEL} runs, seconds: whole, and in each kind of stretch. Written by bench/make_demo_season.py.\n"
    f"car,course,pace,time_s,{','.join(f'{kind}_s' for kind in STRETCH_KINDS)}\n"
)


def rows_of(car: str, course: str) -> list[str]:
    """One row a pace."""
    plan = read_course(DEMO / "courses" / f"{course}.toml")
    solves = LineSolves(
        course=plan, car=read_car(DEMO / "cars" / f"{car}.toml"), driver=typical_driver("expert"), level=LEVEL,
        pace=max(PACES), surface=1.0, progress=lambda _: None,
    )  # fmt: skip
    chosen = solves.best()
    geometry = lay_out(plan, choices=chosen.choices)
    kinds = {span.id: stretch_kind(span, geometry) for span in geometry.spans}
    rows, run = [], chosen.solution
    for pace in sorted(PACES, reverse=True):
        if pace < solves.pace:
            run = solves.again(f"pace {pace:g}", chosen, pace=pace)
        if run.fallback is not None or run.level != LEVEL:
            sys.exit(f"{car} on {course} at pace {pace:g} has no transient run.")
        parts = [sum(one.time for one in run.features if kinds[one.id] == kind) for kind in STRETCH_KINDS]
        rows.append(",".join([car, course, f"{pace:g}", *(f"{seconds:.3f}" for seconds in (run.time, *parts))]))
    return rows[::-1]


if __name__ == "__main__":
    TARGET.parent.mkdir(exist_ok=True)
    if not TARGET.exists():
        TARGET.write_text(HEAD, encoding="utf-8")
    known = {tuple(row[:2]) for row in csv.reader(TARGET.read_text(encoding="utf-8").splitlines()[2:])}
    for course in sorted(path.stem for path in (DEMO / "courses").glob("*.toml")):
        for car in sorted(path.stem for path in (DEMO / "cars").glob("*.toml")):
            if (car, course) not in known:
                rows = rows_of(car, course)
                with TARGET.open("a", encoding="utf-8") as file:
                    file.write("\n".join(rows) + "\n")
                print("\n".join(rows), flush=True)
