"""Draw a course from the notes of a walk, and check it.

Lengths were paced; the pace was counted along a known length first. Every cone gets a place and its uncertainty.
"""

from __future__ import annotations

import sys
from pathlib import Path

import conewise
from conewise.workflows.courses import check_course, draw_plan

NOTES = '''name = "Evening walk"

[walk]
calibration = [{ paces = 66, length = "50 m" }]
gate_width = "6 m"
notes = """
start
straight 20 m
slalom 5 cones every 18 m first to your left
gate after 24 paces
right 180 degrees radius 15 m
offset gate 4 m left after 24 m
finish after 15 m
stop box 100 m
"""
'''


def drawn(folder):
    """The course of the notes; file and plan are written into the folder."""
    path = folder / "evening-walk.toml"
    path.write_text(NOTES, encoding="utf-8")
    draw_plan(path, folder / "evening-walk.svg")
    return conewise.read_course(path)


def main(folder=Path()):
    course = drawn(folder)
    print(f"{course.name}: {len(course.features)} features, {len(course.cones)} cones; drawn into evening-walk.svg")
    for finding in check_course(folder / "evening-walk.toml").findings:
        print(f"{finding.severity} {finding.where}: {finding.message}")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path())
