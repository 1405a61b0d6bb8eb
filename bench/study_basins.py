"""Whether diverse starts end at the same run: calm chains, lines along either side, random lines, another car's run.

    PYTHONPATH=. python bench/study_basins.py [--seeded 20 | --no-demo --seeds 5 6] [--starts 20]

Every start is solved on the mesh, with the gears and to the smoothing of the delivered run.
"""

import argparse
from dataclasses import replace

import numpy as np

from conewise.errors import ConewiseError
from conewise.solver.node import OFFSET, SCALE
from conewise.solver.problem import first_guess
from conewise.solver.transfer import carried_over
from tests.cars import DEMO_NAMES
from tests.courses import club_course
from tests.solved import COURSE_NAMES, demo_course, model, solved


def cold(problem, guess):
    """From a guess, with the gears kept."""
    return problem.cold(guess, lambda same, _speed: same)[1]


def calm(problem, guess, pace, margin):
    """A calm run with room to spare first, then the full one from it."""
    easy = problem.changed(p=replace(problem.p, friction_share=pace), margins=problem.margins + margin)
    return problem.warm(cold(easy, guess), barrier=1e-2)


def starts(run, others, count, rng):
    """Names and solves of the starts."""
    problem, mesh = run.problem, run.problem.mesh
    plain = first_guess(mesh, run.point.variables["v_x"], problem.p)

    def beside(offset):
        z = plain.copy()
        z[:, OFFSET] = offset / SCALE[OFFSET]
        return z

    yield "middle", lambda: cold(problem, plain)
    for pace, margin in ((0.85, 0.2), (0.7, 0.1), (0.85, 0.0)):
        yield f"calm {pace}", lambda pace=pace, margin=margin: calm(problem, plain, pace, margin)
    for share in (0.15, 0.3, 0.7, 0.85):
        line = mesh.n_low + share * (mesh.n_high - mesh.n_low)
        yield f"along {share}", lambda line=line: cold(problem, beside(line))
    for car, other in others.items():
        guess = carried_over(other, problem.geometry, mesh)
        yield f"run of {car}", lambda guess=guess: cold(problem, guess)
    for k in range(max(0, count - 8 - len(others))):
        knots = np.arange(mesh.station[0], mesh.station[-1] + 15.0, 15.0)
        line = np.interp(mesh.station, knots, rng.normal(scale=1.0, size=len(knots)))
        yield f"random {k}", lambda line=line: cold(problem, beside(np.clip(line, mesh.n_low, mesh.n_high)))


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeded", type=int, default=20)
    parser.add_argument("--seeds", type=int, nargs="*", help="these alone, in place of all below the number")
    parser.add_argument("--starts", type=int, default=20)
    parser.add_argument("--demo", action=argparse.BooleanOptionalAction, default=True)
    asked = parser.parse_args()
    rng = np.random.default_rng(1)
    courses = [(name, demo_course(name)) for name in COURSE_NAMES] if asked.demo else []
    courses += [(f"seed {seed}", club_course(seed)) for seed in asked.seeds or range(asked.seeded)]
    for name, course in courses:
        runs = {car: solved(course, car) for car in DEMO_NAMES}
        for car, run in runs.items():
            assert run.problem.p.mass == model(car, course).mass
            times, stopped = [], []
            others = {other: runs[other] for other in DEMO_NAMES if other != car}
            for start, solve in starts(run, others, asked.starts, rng):
                try:
                    times.append((solve().time, start))
                except ConewiseError:
                    stopped.append(start)
            best, where = min(times)
            behind = run.point.time / best - 1.0
            print(
                f"{name:18s} {car:10s} delivered {run.point.time:8.4f} s, "
                f"best of {len(times)} {best:8.4f} s ({where}), "
                f"behind {behind:+.4%}{'  !' if behind > 1e-3 else ''}; spread {max(times)[0] - best:.4f} s; "
                f"stopped: {', '.join(stopped) or 'none'}",
                flush=True,
            )


if __name__ == "__main__":
    main()
