"""Every gradient of the model against central differences (plus and minus 0.5%, warm, to 1e-8), demo courses and cars.

PYTHONPATH=. python bench/study_gradients.py [--courses NAME ...] [--cars NAME ...]
"""

import argparse

import numpy as np

from conewise.errors import ConewiseError
from conewise.solver.sensitivity import by_parameter
from conewise.vehicle.parameters import ModelParameters
from tests.cars import DEMO_NAMES
from tests.solved import COURSE_NAMES, TIGHT, demo_course, solved, tight

NAMES = ModelParameters.names()
STEP, WITHIN, AT_LEAST = 0.005, 0.03, 3e-4


def compare(run):
    """Rows of name, told and measured seconds per 1%; NaN where a re-solve stopped."""
    base = tight(run)
    told, middle = by_parameter(run.problem, base), run.problem.p.vector()
    for i, name in enumerate(NAMES):
        if middle[i] == 0.0:
            continue
        times = []
        for sign in (1.0, -1.0):
            values = middle.copy()
            values[i] *= 1.0 + sign * STEP
            try:
                times.append(run.problem.changed(p=ModelParameters.from_vector(values)).warm(base, tol=TIGHT).time)
            except ConewiseError:
                times.append(np.nan)
        yield name, told[i] * middle[i] / 100.0, (times[0] - times[1]) / (2.0 * STEP) / 100.0


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--courses", nargs="*", default=COURSE_NAMES)
    parser.add_argument("--cars", nargs="*", default=DEMO_NAMES)
    asked = parser.parse_args()
    for course in asked.courses:
        for car in asked.cars:
            rows = list(compare(solved(demo_course(course), car)))
            wrong = [r for r in rows if not abs(r[1] - r[2]) <= max(WITHIN * abs(r[2]), AT_LEAST)]
            print(f"{course}, {car}: {len(rows) - len(wrong)} of {len(rows)} within", flush=True)
            for name, told, measured in sorted(rows, key=lambda r: -abs(r[1]))[:12]:
                print(f"    {name:32s} told {1e3 * told:9.3f}  measured {1e3 * measured:9.3f} ms per 1%")
            for name, told, measured in wrong:
                print(f"  ! {name:32s} told {1e3 * told:9.3f}  measured {1e3 * measured:9.3f} ms per 1%")


if __name__ == "__main__":
    main()
