"""The transient solve as the user waits for it, against the same problem posed the plain way, in one run.

    PYTHONPATH=. python bench/bench_solve.py [--runs 5] [--no-plain]

Plain way: CasADi's Opti stack, the car model written out node by node, one constraint after the other, the same mesh,
gears, smoothing and limits, the same first guess, IPOPT with its defaults. Wall and processor time of one thread.
"""

import argparse
import resource
from statistics import median
from time import perf_counter, process_time

import casadi as ca
import numpy as np

from conewise.course.reference import lay_out
from conewise.solver import checks, replay
from conewise.solver.fine_prices import finely_priced
from conewise.solver.min_time import guessed_speed, solve_run
from conewise.solver.node import (
    LIMITS_HIGH,
    LIMITS_LOW,
    N_STATES,
    N_VARIABLES,
    NODE_DATA,
    SCALE,
    _node_expressions,
    node_code,
    node_functions,
)
from conewise.solver.problem import first_guess
from conewise.solver.solution import transient_solution
from tests.cars import DEMO_NAMES
from tests.courses import long_course
from tests.solved import model, settings_of

CAR = DEMO_NAMES[0]


class Watch:
    """Wall and processor seconds since it was made."""

    def __init__(self):
        self.wall, self.processor = perf_counter(), process_time()

    def read(self):
        return perf_counter() - self.wall, process_time() - self.processor


def cold(course):
    """Seconds to the first line and to the checked answer, and the run; layout and building included."""
    watch, first = Watch(), []
    run = solve_run(
        lay_out(course),
        model(CAR, course),
        settings=settings_of(CAR),
        progress=lambda _words, _time: first.append(watch.read()),
    )
    finely_priced(transient_solution(run))
    return first[0], watch.read(), run


def warm(run):
    """Seconds to the solution after 1% less friction, and its checks."""
    watch = Watch()
    problem = run.problem.changed(p=model(CAR, run.problem.geometry.course, surface=0.99))
    point = problem.warm(run.point)
    solved = watch.read()
    checks.run_checks(problem, point, replay.replayed(problem, point))
    return solved, watch.read(), point.iterations


def plain(run):
    """Seconds and time of the same problem posed with the Opti stack."""
    problem = run.problem
    watch = Watch()
    mesh, p, n = problem.mesh, problem.p, len(problem.mesh.station)
    opti = ca.Opti()
    z = opti.variable(N_VARIABLES, n)
    data = mesh.node_data(problem.gears, run.point.smoothing)
    launch_speed, launch_time = (float(v) for v in node_functions().launch(p.vector(), mesh.extra))
    low, high = (bound.T for bound in problem.bounds())
    total, before = launch_time, None
    for k in range(n):
        unknowns = [z[i, k] * SCALE[i] for i in range(N_VARIABLES)]
        columns = {name: float(data[i, k]) for i, name in enumerate(NODE_DATA)}
        ahead, behind, algebraic, limits, (_, cost) = _node_expressions(unknowns, columns, p)
        if before is not None:
            for i in range(N_STATES):
                opti.subject_to((before[i] - behind[i]) / SCALE[i] == 0)
        before, total = ahead, total + cost
        for i, part in enumerate(algebraic):
            opti.subject_to(part / SCALE[9 + i] == 0)
        for i, part in enumerate(limits):
            _bounded(opti, part, LIMITS_LOW[i], LIMITS_HIGH[i])
        for i in range(N_VARIABLES):
            _bounded(opti, z[i, k], low[i, k], high[i, k])
    opti.subject_to(z[0, 0] == launch_speed)
    outline = node_functions().cone_value
    for j, (k, cone) in enumerate(zip(mesh.pair_node, mesh.pair_cone, strict=True)):
        row = outline(z[[5, 6], int(k)], mesh.pair_data[:, j], p.vector(), problem.margins[cone])
        opti.subject_to(row >= 0)
    opti.minimize(total)
    speed = guessed_speed(problem.geometry, p)
    guess = first_guess(mesh, np.interp(mesh.station, problem.geometry.path.station, speed), p)
    opti.set_initial(z, guess.T)
    opti.solver("ipopt", {"print_time": False}, {"print_level": 0, "sb": "yes"})
    built = watch.read()
    try:
        x = np.asarray(opti.solve().value(z)).T.ravel()
    except RuntimeError:
        x = np.asarray(opti.debug.value(z)).T.ravel()
    seconds = watch.read()
    status = opti.stats()
    program = problem.program(run.point.smoothing)
    time = float(program.times(x.reshape(n, N_VARIABLES)).sum()) + program.launch_time
    return built, seconds, time, status["return_status"], status["iter_count"]


def _bounded(opti, part, low, high):
    if low == high:
        opti.subject_to(part == low)
    elif np.isfinite(low) and np.isfinite(high):
        opti.subject_to(opti.bounded(low, part, high))
    elif np.isfinite(low):
        opti.subject_to(part >= low)
    elif np.isfinite(high):
        opti.subject_to(part <= high)


def show(name, seconds):
    wall, processor = ([pair[i] for pair in seconds] for i in (0, 1))
    spread = f"({min(wall):.2f} to {max(wall):.2f})"
    print(f"{name:44s} median {median(wall):6.2f} s wall {spread:16s} {median(processor):6.2f} s processor", flush=True)


def measure(n_runs):
    """Print the figures; the last run and its processor time."""
    course = long_course()
    watch = Watch()
    node_functions(), node_code(), replay.step_code()
    print(f"model in symbols and machine code, once a process: {watch.read()[0]:.2f} s")
    cold(course)  # loads what Numba keeps
    answers = [cold(course) for _ in range(n_runs)]
    run = answers[-1][2]
    failed = [f"{c.name} {c.value:.4g}" for c in run.checks if not c.ok]
    print(
        f"{run.problem.geometry.path.length:.0f} m, {len(course.features)} features, {len(run.problem.mesh.station)} "
        f"nodes, run {run.point.time:.3f} s, {run.iterations} iterations, checks failed: {', '.join(failed) or 'none'}"
    )
    show("first line, layout and building included", [a[0] for a in answers])
    show("checked answer", [a[1] for a in answers])
    again = [warm(run) for _ in range(n_runs)]
    show(f"after 1% less friction, {again[-1][2]} iterations", [a[0] for a in again])
    show("  and checked", [a[1] for a in again])
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB", flush=True)
    return run, median(a[1][1] for a in answers)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--plain", action=argparse.BooleanOptionalAction, default=True)
    asked = parser.parse_args()
    run, seconds = measure(asked.runs)
    if asked.plain:
        print("== plain way: Opti stack, unrolled", flush=True)
        built, took, time, status, iterations = plain(run)
        print(
            f"build {built[1]:.1f} s, in all {took[1]:.1f} s of processor time ({took[0]:.1f} s wall), {iterations} "
            f"iterations, {status}; run {time:.4f} s against {run.point.time:.4f} s "
            f"({time / run.point.time - 1.0:+.3%}); {took[1] / seconds:.1f} times as long as the checked answer"
        )


if __name__ == "__main__":
    main()
