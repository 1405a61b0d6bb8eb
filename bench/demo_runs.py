"""The runs of demo cars on demo courses that a study asks for on its command line."""

import argparse

from tests.cars import DEMO_NAMES
from tests.solved import COURSE_NAMES, demo_course, solved


def demo_runs(description):
    """Course, car and solved run of each pair, one after the other; `--courses` and `--cars` choose some."""
    parser = argparse.ArgumentParser(description=description)
    parser.add_argument("--courses", nargs="*", default=COURSE_NAMES)
    parser.add_argument("--cars", nargs="*", default=DEMO_NAMES)
    asked = parser.parse_args()
    for course in asked.courses:
        for car in asked.cars:
            yield course, car, solved(demo_course(course), car)
