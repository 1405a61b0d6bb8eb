"""A made-up answer for the faces: a path that crosses itself, with a friction-circle speed along it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from conewise.course.layout import Cone, ConePass, Course, CourseFeature, Obstacle, Patch, Site, StopArea
from conewise.findings import Finding
from conewise.reports.answer import (
    BuildUpRow,
    ConeMargin,
    FeaturePrice,
    GearChoice,
    KeySpeed,
    LineAnswer,
    MarginPlan,
    SideChoice,
    SurfaceBand,
)
from conewise.runs import FeatureResult
from conewise.solver.result import Check, ConeResult, Fallback, Gradient, Solution

STEP = 0.75  # [m]


def _wave(length, amplitude, waves):
    return lambda s: amplitude * np.sin(2 * np.pi * waves * s / length)


def _bend(length, radius):
    return lambda s: np.clip(np.minimum(s, length - s) / 4.0, 0, 1) / radius


# id, kind, length [m], curvature along it [1/m]
STRETCHES = (
    ("start", "start", 22.0, lambda s: 0 * s),
    ("slalom-1", "slalom", 90.0, _wave(90.0, 0.066, 2.5)),
    ("gate-1", "gate", 14.0, lambda s: 0 * s),
    ("sweeper-1", "sweeper", 66.0, _bend(66.0, 21.0)),
    ("offset-gate-1", "offset-gate", 44.0, _wave(44.0, 0.06, 1.0)),
    ("hairpin-1", "hairpin", 38.0, _bend(38.0, 9.6)),
    ("gate-2", "gate", 34.0, lambda s: 0 * s),
    ("cone-1", "cone", 24.0, _bend(24.0, -22.0)),
    ("wall-1", "wall", 30.0, lambda s: 0 * s),
    ("sweeper-2", "sweeper", 74.0, _bend(74.0, -17.5)),
    ("slalom-2", "slalom", 72.0, _wave(72.0, -0.066, 2.0)),
    ("box-1", "box", 30.0, _wave(30.0, 0.05, 1.0)),
    ("split-gate-1", "split-gate", 40.0, _bend(40.0, 26.0)),
    ("finish", "finish", 30.0, lambda s: 0 * s),
)


def _path():
    curvature, spans, s0 = [], [], 0.0
    for name, kind, length, shape in STRETCHES:
        n = round(length / STEP)
        local = (np.arange(n) + 0.5) * STEP
        curvature.append(shape(local))
        spans.append((name, kind, s0, s0 + n * STEP))
        s0 += n * STEP
    k = np.concatenate(curvature)
    heading = np.concatenate([[0.0], np.cumsum(k) * STEP])
    x = np.concatenate([[0.0], np.cumsum(np.cos(heading[:-1] + k * STEP / 2)) * STEP])
    y = np.concatenate([[0.0], np.cumsum(np.sin(heading[:-1] + k * STEP / 2)) * STEP])
    return np.append(k, k[-1]), heading, x, y, spans


def _speed(k, grip=9.6, drive=4.2, brake=8.4):
    v = np.minimum(np.sqrt(grip / np.maximum(np.abs(k), 1e-3)), 31.0)
    v[0] = 3.0
    for i in range(len(v) - 1):
        room = np.sqrt(max(0.0, 1 - (v[i] ** 2 * k[i] / grip) ** 2))
        v[i + 1] = min(v[i + 1], np.sqrt(v[i] ** 2 + 2 * drive * room * STEP))
    for i in range(len(v) - 2, -1, -1):
        room = np.sqrt(max(0.0, 1 - (v[i + 1] ** 2 * k[i + 1] / grip) ** 2))
        v[i] = min(v[i], np.sqrt(v[i + 1] ** 2 + 2 * brake * room * STEP))
    return v


def _layout(k, heading, x, y, spans):
    """Cones beside the path: gates at the ends of bends, single cones inside the turns of a slalom."""
    cones, features, results = [], [], []

    def place(i, side, feature, price, points_to=None, distance=2.3):
        px, py = x[i] - side * distance * np.sin(heading[i]), y[i] + side * distance * np.cos(heading[i])
        cone = Cone(id=f"C{len(cones) + 1}", x=px, y=py, points_to=points_to)
        cones.append(cone)
        if points_to is None:
            results.append(
                ConeResult(
                    id=cone.id, feature=feature, is_left=side > 0, is_standing=True, x=px, y=py,
                    station=i * STEP, price=max(0.0, price), margin=0.15, clearance=0.15 + 0.01 * (i % 7),
                )
            )  # fmt: skip
        return ConePass(cone=cone.id, pass_side="right" if side > 0 else "left"), cone

    for name, kind, start, end in spans:
        lo, hi = round(start / STEP), round(end / STEP)
        crossings = []
        if kind in {"slalom", "cone", "offset-gate"}:
            peaks = [i for i in range(lo + 1, hi) if abs(k[i]) >= abs(k[i - 1]) and abs(k[i]) > abs(k[i + 1])]
            for i in peaks or [(lo + hi) // 2]:
                side = 1 if k[i] > 0 else -1
                first, cone = place(i, side, name, 0.35 + 4.0 * abs(k[i]) * (i % 5), distance=1.3)
                crossings.append((first,))
                if i == (peaks or [i])[0]:
                    place(i, side, name, 0.0, points_to=cone.id, distance=2.1)
        else:
            places = [lo + 4] if kind == "start" else [hi - 6] if kind == "finish" else [lo + 5, (lo + hi) // 2, hi - 5]
            for i in places:
                inner = 0.2 * (i % 3) if abs(k[i]) > 0.02 else 0.0
                crossings.append((place(i, 1, name, inner * (k[i] > 0))[0], place(i, -1, name, inner * (k[i] < 0))[0]))
        features.append(CourseFeature(id=name, kind=kind, crossings=tuple(crossings)))
    return tuple(cones), tuple(features), tuple(results)


def _site(x, y):
    w, e, s, n = x.min() - 14, x.max() + 14, y.min() - 12, y.max() + 12
    return Site(
        outline=((w, s), (e, s), (e, n - 20), (e - 30, n), (w, n)),
        obstacles=(Obstacle(id="pole", kind="pole", centre=(w + 6, n - 8), radius=1.2),),
        patches=(Patch(outline=((e - 30, s + 4), (e - 16, s + 5), (e - 18, s + 14)), friction=0.8),),
    )


GRADIENTS = (
    ("rear.tyre.friction", "-", 1.08, 0.01, -17.9),
    ("mass.total", "kg", 1120.0, 10.0, 0.0021),
    ("engine.peak_power", "kW", 118.0, 5.0, -5.6e-3),
    ("body.cg_height", "m", 0.47, 0.01, 1.9),
    ("front.bar_stiffness", "N m/deg", 160.0, 20.0, 1.5e-4),
    ("rear.bar_stiffness", "N m/deg", 70.0, 20.0, -4.2e-4),
    ("brakes.front_share", "-", 0.66, 0.01, 0.4),
    ("front.track", "m", 1.49, 0.01, -0.62),
    ("body.wheelbase", "m", 2.31, 0.01, 0.11),
    ("body.width", "m", 1.73, 0.01, 1.42),
    ("body.drag_area", "m2", 0.66, 0.05, 0.021),
    ("driver.road_wheel_rate", "rad/s", 1.2, 0.1, -0.31),
    ("front.toe", "rad", 0.0, 0.001, 0.2),
)


def _solution(name, car):
    k, heading, x, y, spans = _path()
    v = _speed(k)
    station = np.arange(len(k)) * STEP
    elapsed = np.concatenate([[0.0], np.cumsum(2 * STEP / (v[1:] + v[:-1]))])
    ax = np.gradient(v**2, STEP) / 2
    ay = v**2 * k
    cones, features, results = _layout(k, heading, x, y, spans)
    use = np.clip(np.hypot(ax / 9.6, ay / 9.6), 0, 1)
    feature_results = []
    for feature, kind, start, end in spans:
        lo, hi = round(start / STEP), round(end / STEP)
        slow = lo + int(np.argmin(v[lo : hi + 1]))
        feature_results.append(
            FeatureResult(
                id=feature, kind=kind, start=start, end=end, time=elapsed[hi] - elapsed[lo], entry_speed=v[lo],
                slowest_speed=v[slow], slowest_station=station[slow], exit_speed=v[hi],
            )
        )  # fmt: skip
    solution = Solution(
        level="transient", course=name, car=car, time=float(elapsed[-1]), distance=float(station[-1]),
        station=station, elapsed=elapsed, x=x, y=y, heading=heading, lateral_offset=0 * x, speed=v, ax=ax, ay=ay,
        gear=np.where(v > 17.5, 2, np.where(v < 6, 1, 2)).astype(np.int64), command=np.clip(ax / 5, -1, 1),
        road_wheel_angle=2.3 * k, friction_use_front=use, friction_use_rear=np.clip(use * 0.94 + 0.02, 0, 1),
        cones=results, features=tuple(feature_results),
        gradients=tuple(
            Gradient(name=n, unit=u, value=value, reference_step=step, s_per_unit=slope)
            for n, u, value, step, slope in GRADIENTS
        ),
        checks=(
            Check(name="no fold", ok=True, value=0.62, limit=0.3, unit="-", where="hairpin-1"),
            Check(name="outline clearance", ok=True, value=0.004, limit=0.01, unit="m", where="slalom-2"),
            Check(name="window drift at 95%", ok=True, value=0.019, limit=0.03, unit="m", where="slalom-1"),
            Check(name="tracking driver's time", ok=True, value=0.0011, limit=0.003, unit="-"),
        ),
        findings=(
            Finding("warning", "long-straight", "80 m of straight lead into a hairpin at 92 km/h.", "hairpin-1"),
            Finding("note", "pass-near", "sweeper-1 and sweeper-2 cross; 4.1 m apart at the nearest.", "sweeper-2"),
        ),
        statistics={"iterations": 71.0, "seconds": 2.4},
    )  # fmt: skip
    course = Course(name=name, cones=cones, features=features, site=_site(x, y), stop=StopArea(kind="box", length=35.0))
    return solution, course


def made_up_answer(name="Made-up Lot", car="Light rear-drive", **changes):
    """A whole answer with every part filled in."""
    solution, course = _solution(name, car)
    slow = tuple(f for f in solution.features if f.kind in {"hairpin", "sweeper", "slalom"})
    parts = {
        "build_up": tuple(
            BuildUpRow(
                pace=p,
                time=solution.time / p**0.5,
                speeds=tuple(KeySpeed(feature=f.id, speed=f.slowest_speed * p**0.5) for f in slow),
            )
            for p in (0.7, 0.8, 0.9, 0.95, 1.0)
        ),
        "gears": (
            GearChoice(label="hold 2nd", time=solution.time, is_best=True),
            GearChoice(label="shift", time=solution.time + 0.21, is_best=False),
        ),
        "sides": (
            SideChoice(feature="slalom-2", side="left", time=solution.time, is_best=True),
            SideChoice(feature="slalom-2", side="right", time=solution.time + 0.34, is_best=False),
        ),
        "slow_in": tuple(
            FeaturePrice(feature=f.id, entry_speed_price=0.004 * f.entry_speed, wide_price=0.02 * f.time)
            for f in solution.features
        ),
        "margins": MarginPlan(
            scatter=0.15,
            penalty=2.0,
            margins=tuple(ConeMargin(cone=c.id, margin=0.32 - 0.1 * c.price) for c in solution.cones),
            expected_time=solution.time + 0.61,
            expected_cones=0.23,
        ),
    }
    return LineAnswer(solution=solution, course=course, **(parts | changes))


def wet_answer():
    """The same run as a band of times."""
    base = made_up_answer()
    time = base.solution.time
    band = SurfaceBand(name="wet", low=0.6, high=0.8, fastest=time * 1.11, slowest=time * 1.28)
    return made_up_answer(band=band, surface=0.7)


def long_answer():
    """The same run with names as long as people give them, and a course half as long again."""
    base = made_up_answer(name="Northern Harbour Container Terminal, second evening of the autumn series")
    solution = base.solution
    longer = {f.id: f"{f.id} behind the old control tower, westbound" for f in solution.features}

    def renamed(entries, field="feature"):
        return tuple(replace(entry, **{field: longer[getattr(entry, field)]}) for entry in entries)

    solution = replace(
        solution,
        car="Light rear-drive with the borrowed wheels",
        station=solution.station * 1.5,
        features=tuple(
            replace(f, start=f.start * 1.5, end=f.end * 1.5, slowest_station=f.slowest_station * 1.5)
            for f in renamed(solution.features, "id")
        ),
        cones=tuple(replace(cone, feature=longer[cone.feature]) for cone in solution.cones),
        gradients=tuple(replace(g, name=f"{g.name} of the car as it stood at the start") for g in solution.gradients),
    )
    return replace(
        base,
        solution=solution,
        build_up=tuple(replace(row, speeds=renamed(row.speeds)) for row in base.build_up),
        slow_in=renamed(base.slow_in),
        sides=renamed(base.sides),
    )


def fallback_answer():
    """The same run as the quasi-steady level would hand it over."""
    base = made_up_answer()
    solution = replace(
        base.solution,
        level="quasi-steady",
        fallback=Fallback(feature="hairpin-1", reason="The solver stopped after 300 iterations, station 236.0 m."),
        gradients=(),
        command=None,
        friction_use_front=None,
        friction_use_rear=None,
    )
    return replace(base, solution=solution, build_up=(), gears=(), sides=(), slow_in=(), margins=None)
