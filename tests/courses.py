"""Seeded random courses as a club would set them, for tests and benchmarks.

Common practice, no source: gates 4.9 to 7.5 m wide, slaloms of 4 to 7 cones at 15 to 24 m, offset gates 22 to 28 m
apart, turns of 9 to 25 m radius, passes kept apart, now and then a crossing.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

import numpy as np

from conewise.course.layout import Cone, ConePass, Course, CourseFeature, FeatureKind, PassSide, Site, StopArea

LOT = (250.0, 130.0)  # [m]
_EDGE = 11.0  # of the drawn line from the edge of the lot [m]
_APART = 17.0  # of one stretch of the drawn line from another [m]
_LAST = 34.0  # of the drawn line that a new stretch may come near [m]


@dataclass
class _Stretch:
    """One stretch of the drawn line: straight (radius 0) or a turn (left positive angle)."""

    kind: str
    length: float
    angle: float = 0.0

    def points(self, start: np.ndarray, heading: float) -> tuple[np.ndarray, np.ndarray]:
        s = np.linspace(0.0, self.length, max(3, int(self.length)))
        k = self.angle / self.length
        h = heading + k * s
        if abs(k) < 1e-9:
            return start + np.column_stack([s * np.cos(heading), s * np.sin(heading)]), h
        x = (np.sin(h) - np.sin(heading)) / k
        y = (np.cos(heading) - np.cos(h)) / k
        return start + np.column_stack([x, y]), h


@dataclass
class _Drawing:
    """Cones and features as they are set down."""

    rng: np.random.Generator
    cones: list[Cone] = field(default_factory=list)
    features: list[CourseFeature] = field(default_factory=list)

    def cone(self, place: np.ndarray, *, points_to: str | None = None) -> str:
        name = f"{len(self.cones) + 1}"
        x, y = (round(float(v), 3) for v in place)
        self.cones.append(Cone(id=name, x=x, y=y, points_to=points_to))
        return name

    def beside(self, place: np.ndarray, heading: float, left: float) -> np.ndarray:
        return place + left * np.array([-np.sin(heading), np.cos(heading)])

    def gate(self, place: np.ndarray, heading: float, *, width: float, shift: float = 0.0) -> tuple[ConePass, ...]:
        left = self.cone(self.beside(place, heading, shift + 0.5 * width))
        right = self.cone(self.beside(place, heading, shift - 0.5 * width))
        return (
            ConePass(cone=left, pass_side=PassSide.RIGHT),
            ConePass(cone=right, pass_side=PassSide.LEFT),
        )

    def single(self, place: np.ndarray, *, side: int, open_: bool = False) -> tuple[ConePass, ...]:
        """A cone on the driver's left (+1) or right (-1)."""
        chosen = PassSide.EITHER if open_ else PassSide.RIGHT if side > 0 else PassSide.LEFT
        return (ConePass(cone=self.cone(place), pass_side=chosen),)

    def pointers(self, name: str, heading: float, side: int, count: int) -> None:
        """Lying cones behind a standing one, seen from the car."""
        cone = next(c for c in self.cones if c.id == name)
        for k in range(count):
            where = self.beside(np.array([cone.x, cone.y]), heading, side * (0.5 + 0.45 * k))
            self.cone(where, points_to=name)

    def feature(self, kind: FeatureKind, crossings: list[tuple[ConePass, ...]]) -> None:
        number = sum(f.kind is kind for f in self.features) + 1
        name = kind.value if kind in (FeatureKind.START, FeatureKind.FINISH) else f"{kind.value}-{number}"
        self.features.append(CourseFeature(id=name, kind=kind, crossings=tuple(crossings)))


@cache
def club_course(
    seed: int, *, length: float = 480.0, n_features: int = 12, lot: tuple[float, float] = LOT, either: bool = False
) -> Course:
    """A course of about `length` metres with at least `n_features` features where the length allows them.

    The same seed gives the same course. `either` lets some slaloms and cones be passed on either side.
    """
    rng = np.random.default_rng(seed)
    stretches, start, heading = _drawn_line(rng, length, lot)
    drawing = _Drawing(rng=rng)
    place = start
    drawing.feature(FeatureKind.START, [drawing.gate(place, heading, width=float(rng.uniform(5.0, 6.0)))])
    dense = n_features / max(1.0, length / 40.0)
    for stretch in stretches:
        points, headings = stretch.points(place, heading)
        if stretch.kind == "straight":
            _fill_straight(drawing, place, heading, stretch.length, dense=dense, either=either)
        else:
            _fill_turn(drawing, stretch, points, headings, dense=dense)
        place, heading = points[-1], float(headings[-1])
    drawing.feature(FeatureKind.FINISH, [drawing.gate(place, heading, width=float(rng.uniform(5.0, 7.0)))])
    corners = ((0.0, 0.0), (lot[0], 0.0), lot, (0.0, lot[1]))
    return Course(
        name=f"random course {seed}",
        cones=tuple(drawing.cones),
        features=tuple(drawing.features),
        site=Site(outline=tuple((float(x), float(y)) for x, y in corners)),
        stop=StopArea(kind="box", length=50.0),
    )


def long_course(seed: int = 8) -> Course:
    """A course of more than 600 m with more than 40 features, for benchmarks."""
    return club_course(seed, length=720.0, n_features=60, lot=(330.0, 180.0))


def straight_course(**fields: object) -> Course:
    """A gate to start and one to finish 80 m to the east, both about the x axis."""
    cones, features = [], []
    for kind, x in ((FeatureKind.START, 0.0), (FeatureKind.FINISH, 80.0)):
        left, right = Cone(id=f"{kind} left", x=x, y=3.0), Cone(id=f"{kind} right", x=x, y=-3.0)
        crossing = (
            ConePass(cone=left.id, pass_side=PassSide.RIGHT),
            ConePass(cone=right.id, pass_side=PassSide.LEFT),
        )
        cones += [left, right]
        features.append(CourseFeature(id=kind, kind=kind, crossings=(crossing,)))
    return Course(name="straight", cones=tuple(cones), features=tuple(features), **fields)


def endless_course(n_features: int) -> Course:
    """Slalom cones in a snake of rows, as many as asked for."""
    drawing = _Drawing(rng=np.random.default_rng(0))
    drawing.feature(FeatureKind.START, [drawing.gate(np.zeros(2), 0.0, width=5.0)])
    columns, gap, row = 40, 18.0, 30.0
    for k in range(n_features - 2):
        line, column = divmod(k, columns)
        x = gap * (column + 1) if line % 2 == 0 else gap * (columns - column)
        place = np.array([x, row * line])
        drawing.feature(FeatureKind.CONE, [drawing.single(place, side=1 if k % 2 else -1)])
    line, column = divmod(n_features - 3, columns)
    ahead = gap * (column + 3) if line % 2 == 0 else gap * (columns - column - 2)
    end = np.array([ahead, row * line])
    drawing.feature(FeatureKind.FINISH, [drawing.gate(end, 0.0 if line % 2 == 0 else np.pi, width=6.0)])
    return Course(name="endless", cones=tuple(drawing.cones), features=tuple(drawing.features))


def _drawn_line(
    rng: np.random.Generator, length: float, lot: tuple[float, float]
) -> tuple[list[_Stretch], np.ndarray, float]:
    """Stretches that stay on the lot and apart from each other, found by trying again and going back."""
    while True:
        start = np.array([rng.uniform(20.0, 40.0), rng.uniform(18.0, 30.0)])
        heading = float(rng.choice([0.0, 0.5 * np.pi]) + rng.uniform(0.0, 0.15))
        if rng.random() < 0.5:
            start[1], heading = lot[1] - start[1], -heading
        found = _extended(rng, length, lot, start, heading)
        if found is not None:
            return found, start, heading


def _extended(
    rng: np.random.Generator, length: float, lot: tuple[float, float], start: np.ndarray, heading: float
) -> list[_Stretch] | None:
    stretches = [_Stretch("straight", float(rng.uniform(40.0, 70.0)))]
    frames = [(start, heading)]
    lines = [stretches[0].points(start, heading)[0]]
    tries = 0
    while tries < 400:
        total = sum(s.length for s in stretches)
        place, head = lines[-1][-1], frames[-1][1] + stretches[-1].angle
        done = total > length and stretches[-1].kind == "straight"
        if done and _clear(_Stretch("straight", 55.0).points(place, head)[0], lines, lot, margin=2.0):
            return stretches
        tries += 1
        step = _next_stretch(rng, stretches[-1].kind)
        points, _ = step.points(place, head)
        if total < length * 1.25 and _clear(points, lines, lot, margin=_EDGE, may_cross=rng.random() < 0.2):
            stretches.append(step)
            frames.append((place, head))
            lines.append(points)
        elif rng.random() < 0.12:
            for _ in range(min(2, len(stretches) - 1)):
                stretches.pop(), frames.pop(), lines.pop()
    return None


def _next_stretch(rng: np.random.Generator, last: str) -> _Stretch:
    if last != "straight" and rng.random() < 0.75:
        return _Stretch("straight", float(rng.uniform(30.0, 115.0)))
    sign = float(rng.choice([-1.0, 1.0]))
    if rng.random() < 0.4:
        radius = float(rng.uniform(8.5, 12.0))
        return _Stretch("hairpin", np.pi * radius, sign * np.pi * float(rng.uniform(0.93, 1.0)))
    radius, angle = float(rng.uniform(13.0, 26.0)), float(rng.uniform(0.3, 1.0)) * np.pi
    return _Stretch("sweeper", radius * angle, sign * angle)


def _clear(
    points: np.ndarray, lines: list[np.ndarray], lot: tuple[float, float], *, margin: float, may_cross: bool = False
) -> bool:
    """Whether new points stay on the lot and away from all but the last of the line; a square crossing may do."""
    inside = (
        (points > margin).all() and (points[:, 0] < lot[0] - margin).all() and (points[:, 1] < lot[1] - margin).all()
    )
    if not inside:
        return False
    line = np.vstack(lines)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    old = line[along < along[-1] - _LAST]
    if not len(old):
        return True
    away = np.hypot(*(points[:, None, :] - old[None, :, :]).transpose(2, 0, 1))
    if away.min() > _APART:
        return True
    if not may_cross or len(points) < 40:
        return False
    i, j = np.unravel_index(int(np.argmin(away)), away.shape)
    if not (12 < i < len(points) - 12 and 12 < j < len(old) - 12):
        return False
    mine, theirs = points[i + 1] - points[i - 1], old[j + 1] - old[j - 1]
    sine = abs(mine[0] * theirs[1] - mine[1] * theirs[0]) / (np.hypot(*mine) * np.hypot(*theirs))
    far = away[np.abs(np.arange(len(points)) - i) > 22]
    return bool(sine > 0.85 and far.size and far.min() > _APART)


def _fill_straight(
    drawing: _Drawing, start: np.ndarray, heading: float, length: float, *, dense: float, either: bool
) -> None:
    """Features along a straight; the first and last ten metres belong to the turns."""
    rng, at, slaloms = drawing.rng, 14.0, 0
    ahead = np.array([np.cos(heading), np.sin(heading)])
    while at < length - 10.0:
        room = length - 10.0 - at
        kind = rng.choice(["slalom", "offset", "gate", "box", "wall", "cone"], p=[0.2, 0.25, 0.25, 0.1, 0.1, 0.1])
        if room > 50.0 and not slaloms and rng.random() < (0.7 if dense < 1.5 else 0.35):
            kind = "slalom"
        if kind == "slalom" and room > 50.0:
            gap = float(rng.uniform(15.0, min(24.0, room / 3.0)))
            count = int(min(rng.integers(4, 8), room // gap + 1))
            side, free = int(rng.choice([-1, 1])), either and rng.random() < 0.5
            crossings = [
                drawing.single(start + (at + gap * k) * ahead, side=side * (-1) ** k, open_=free) for k in range(count)
            ]
            drawing.feature(FeatureKind.SLALOM, crossings)
            at += gap * (count - 1)
            slaloms += 1
        elif kind == "offset" and room > 24.0:
            gap, shift = float(rng.uniform(22.0, 28.0)), float(rng.uniform(1.5, 3.0) * rng.choice([-1, 1]))
            for k in range(int(min(rng.integers(2, 4), room // gap + 1))):
                place = start + at * ahead
                gate = drawing.gate(place, heading, width=float(rng.uniform(4.9, 6.0)), shift=shift * (-1) ** k)
                drawing.feature(FeatureKind.OFFSET_GATE, [gate])
                at += gap
            at -= gap
        elif kind == "box" and room > 12.0:
            width, shift = float(rng.uniform(4.9, 6.0)), float(rng.uniform(-1.5, 1.5))
            gates = [drawing.gate(start + (at + d) * ahead, heading, width=width, shift=shift) for d in (0.0, 10.0)]
            drawing.feature(FeatureKind.BOX, gates)
            at += 10.0
        elif kind == "wall" and room > 14.0:
            side = int(rng.choice([-1, 1]))
            cones = [
                drawing.single(drawing.beside(start + (at + 4 * k) * ahead, heading, 1.8 * side), side=side)
                for k in range(4)
            ]
            drawing.feature(FeatureKind.WALL, cones)
            at += 12.0
        elif kind == "cone":
            side = int(rng.choice([-1, 1]))
            free = either and rng.random() < 0.5
            crossing = drawing.single(start + at * ahead, side=side, open_=free)
            if not free:
                drawing.pointers(crossing[0].cone, heading, side, 2)
            drawing.feature(FeatureKind.CONE, [crossing])
        else:
            place, shift = start + at * ahead, float(rng.uniform(-1.0, 1.0))
            drawing.feature(
                FeatureKind.GATE, [drawing.gate(place, heading, width=float(rng.uniform(4.9, 6.5)), shift=shift)]
            )
        at += float(rng.uniform(17.0, 26.0)) / max(1.0, min(dense, 1.7))


def _fill_turn(drawing: _Drawing, stretch: _Stretch, points: np.ndarray, headings: np.ndarray, *, dense: float) -> None:
    """A turn bounded by gates or by cones on its inside; gate by gate where the course is dense with features."""
    rng, side = drawing.rng, 1 if stretch.angle > 0 else -1
    kind = FeatureKind.HAIRPIN if stretch.kind == "hairpin" else FeatureKind.SWEEPER
    middle = len(points) // 2
    if kind is FeatureKind.HAIRPIN and rng.random() < 0.55:
        inside = drawing.beside(points[middle], float(headings[middle]), side * float(rng.uniform(1.0, 2.5)))
        crossing = drawing.single(inside, side=side)
        drawing.pointers(crossing[0].cone, float(headings[middle]), side, 2)
        drawing.feature(kind, [crossing])
        return
    count = max(2, round(stretch.length / 14.0))
    shares = np.linspace(0.12, 0.88, count)
    crossings = []
    for share in shares:
        i = round(share * (len(points) - 1))
        if kind is FeatureKind.SWEEPER and rng.random() < 0.35:
            place = drawing.beside(points[i], float(headings[i]), 2.5 * side)
            crossings.append(drawing.single(place, side=side))
        else:
            crossings.append(drawing.gate(points[i], float(headings[i]), width=float(rng.uniform(5.5, 7.5))))
    if dense > 1.5:
        for crossing in crossings:
            drawing.feature(FeatureKind.GATE if len(crossing) == 2 else FeatureKind.CONE, [crossing])
    else:
        drawing.feature(kind, crossings)


def slalom_heavy_course() -> Course:
    """Two rows of six cones with a sweeper between them: the car is never straight for long."""
    drawing = _Drawing(rng=np.random.default_rng(0))
    drawing.feature(FeatureKind.START, [drawing.gate(np.zeros(2), 0.0, width=5.0)])
    first = [drawing.single(np.array([22.0 + 17.0 * k, 0.0]), side=1 - 2 * (k % 2)) for k in range(6)]
    drawing.feature(FeatureKind.SLALOM, first)
    turn = _Stretch("turn", np.pi * 16.0, np.pi)
    points, headings = turn.points(np.array([124.0, 0.0]), 0.0)
    gates = [drawing.gate(points[k], float(headings[k]), width=6.0) for k in (2, 17, 33, 48)]
    drawing.feature(FeatureKind.SWEEPER, gates)
    second = [drawing.single(np.array([107.0 - 18.5 * k, 32.0]), side=1 - 2 * (k % 2)) for k in range(6)]
    drawing.feature(FeatureKind.SLALOM, second)
    drawing.feature(FeatureKind.FINISH, [drawing.gate(np.array([-6.0, 32.0]), np.pi, width=6.0)])
    return Course(name="slalom-heavy", cones=tuple(drawing.cones), features=tuple(drawing.features))


def fast_course() -> Course:
    """Long straights and turns of 35 to 60 m radius: power, gearing and air have their say."""
    stretches = [(70.0, 0.0), (55.0, 1.2), (60.0, 0.0), (75.0, -1.5), (50.0, 0.0), (60.0, 1.4), (60.0, 0.0)]
    return _gated("fast", stretches, width=6.5, spacing=22.0)


def tight_course() -> Course:
    """Turns of 8 to 11 m radius with little between them: the car is always turning in or out of one."""
    stretches = [
        (25.0, 0.0),
        (25.0, 2.6),
        (18.0, 0.0),
        (24.0, -2.8),
        (22.0, 0.0),
        (17.0, -1.6),
        (16.0, 0.0),
        (18.0, 2.2),
    ]
    return _gated("tight", [*stretches, (20.0, 0.0)], width=5.0, spacing=8.0)


def _gated(name: str, stretches: list[tuple[float, float]], *, width: float, spacing: float) -> Course:
    """Gates along a line of stretches, each a length and an angle turned to the left."""
    drawing, place, heading = _Drawing(rng=np.random.default_rng(0)), np.zeros(2), 0.0
    drawing.feature(FeatureKind.START, [drawing.gate(place, heading, width=5.0)])
    for length, angle in stretches:
        stretch = _Stretch("turn" if angle else "straight", length, angle)
        points, headings = stretch.points(place, heading)
        wanted = np.arange(spacing / 2.0, length - spacing / 4.0, spacing) / length * (len(points) - 1)
        gates = [drawing.gate(points[k], float(headings[k]), width=width) for k in wanted.astype(int)]
        drawing.feature(FeatureKind.SWEEPER if angle else FeatureKind.GATE, gates)
        place, heading = points[-1], float(headings[-1])
    drawing.feature(FeatureKind.FINISH, [drawing.gate(place, heading, width=6.0)])
    return Course(name=name, cones=tuple(drawing.cones), features=tuple(drawing.features))
