"""Signs and sizes on the demo courses beside the bands of common practice (no source).

PYTHONPATH=. python bench/study_signs.py [--courses NAME ...] [--cars NAME ...]
"""

from dataclasses import replace

from bench.demo_runs import demo_runs

from conewise.errors import ConewiseError
from conewise.solver.min_time import rerun
from conewise.vehicle.handling import understeer_gradient

HARD = 6.0  # lateral acceleration at which bars are compared [m/s2]
LOADED = (
    "mass",
    "yaw_inertia",
    "roll_inertia",
)  # what 5% mass carried low and in the middle moves; the tyres and the power stay


def scaled(p, factor, *names):
    return replace(p, **{name: getattr(p, name) * factor for name in names})


def grip(p):
    return scaled(p, 1.01, "surface")


def heavier(p):
    return scaled(p, 1.05, *LOADED)


def stronger(p):
    return replace(p, torque=tuple(1.1 * t for t in p.torque))


def unlocked(p):
    return replace(
        p, **{f"differential_{n}_{a}": 0.0 for n in ("preload", "drive", "coast") for a in ("front", "rear")}
    )


def locking(p):
    axle = "front" if p.front_drive_share > 0.5 else "rear"
    return replace(
        unlocked(p), **{f"differential_preload_{axle}": 60.0, f"differential_drive_{axle}": 0.4,
                        f"differential_coast_{axle}": 0.2},
    )  # fmt: skip


BANDS = (
    ("+1% friction", grip, "%", -0.55, -0.35),
    ("+5% mass", heavier, "%", 0.3, 1.0),
    ("+10% power", stronger, "%", -0.8, -0.1),
)


def show(name, value, unit, low, high):
    mark = "" if low <= value <= high else "  outside"
    print(f"    {name:28s} {value:+8.3f} {unit}   band {low:+.2f} to {high:+.2f}{mark}", flush=True)


def study(run):
    base, p = run.point.time, run.problem.p
    for name, change, unit, low, high in BANDS:
        show(name, 100.0 * (rerun(run, change(p)).point.time / base - 1.0), unit, low, high)
    show("10 cm more margin", rerun(run, p, margins=run.problem.margins + 0.1).point.time - base, "s", 0.3, 0.6)
    try:
        opened, limited = (rerun(run, change(p)).point.time for change in (unlocked, locking))
        show("limited-slip against open", 100.0 * (limited / opened - 1.0), "%", -1.5, 1.5)
    except ConewiseError as error:
        print(f"    limited-slip against open: {error}")
    stiff = [
        understeer_gradient(scaled(p, 1.3, f"roll_stiffness_{axle}"), across=HARD) - understeer_gradient(p, across=HARD)
        for axle in ("front", "rear")
    ]
    print(f"    30% stiffer front: understeer gradient {stiff[0]:+.2e}, rear {stiff[1]:+.2e} rad per g")


def main():
    for course, car, run in demo_runs(__doc__):
        print(f"{course}, {car}: {run.point.time:.3f} s", flush=True)
        study(run)


if __name__ == "__main__":
    main()
