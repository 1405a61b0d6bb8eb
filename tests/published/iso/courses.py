"""Courses of standards and competition rules, cone by cone."""

import numpy as np

from conewise.course.layout import Cone, ConePass, Course, CourseFeature, FeatureKind, PassSide

BASE = 0.28  # side of a cone's base [m]


class Cones:
    """Collects cones and the crossings between them."""

    def __init__(self):
        self.cones = []

    def gate(self, left, right):
        """A crossing between a cone on the left and one on the right, given by centre; cones met again are reused."""
        return (
            ConePass(cone=self._id(left), pass_side=PassSide.RIGHT),
            ConePass(cone=self._id(right), pass_side=PassSide.LEFT),
        )

    def lane(self, x, *, right, left):
        """A crossing of a lane along x whose limits are tangent to the base circles."""
        return self.gate((x, left + BASE / 2.0), (x, right - BASE / 2.0))

    def _id(self, place):
        for cone in self.cones:
            if np.hypot(cone.x - place[0], cone.y - place[1]) < 1e-6:
                return cone.id
        self.cones.append(Cone(id=f"cone-{len(self.cones) + 1}", x=place[0], y=place[1], base=BASE))
        return self.cones[-1].id


def course(name, cones, crossings, staging=0.0):
    """First crossing the start, last the finish, each of the others a gate."""
    kinds = [FeatureKind.START, *[FeatureKind.GATE] * (len(crossings) - 2), FeatureKind.FINISH]
    features = tuple(
        CourseFeature(id=f"{kind}-{i}", kind=kind, crossings=(crossing,))
        for i, (kind, crossing) in enumerate(zip(kinds, crossings, strict=True))
    )
    return Course(name=name, cones=tuple(cones.cones), features=features, staging=staging)


def acceleration_event(staging=0.30):
    cones = Cones()
    places = [*np.arange(0.0, 75.0, 6.0), 75.0]
    return course("acceleration", cones, [cones.lane(float(x), right=-2.45, left=2.45) for x in places], staging)


def severe_lane_change(width):
    """ISO 3888-2."""
    cones = Cones()
    first, third, last = 1.1 * width + 0.25, width + 1.0, max(1.3 * width + 0.25, 3.0)
    low = first + 1.0
    sections = [(0.0, 12.0, 0.0, first), (25.5, 36.5, low, low + third), (49.0, 61.0, 0.0, last)]
    crossings = [
        cones.lane(float(x), right=right, left=left)
        for start, end, right, left in sections
        for x in np.linspace(start, end, 5)
    ]
    return course("ISO 3888-2", cones, crossings)


def double_lane_change(width):
    """ISO 3888-1: the lane of the middle section lies 3.5 m to the left of the first one's right limit."""
    cones = Cones()
    widths = [factor * width + 0.25 for factor in (1.1, 1.2, 1.3)]
    sections = [(0.0, 15.0, 0.0, widths[0]), (45.0, 70.0, 3.5, 3.5 + widths[1]), (95.0, 125.0, 0.0, widths[2])]
    crossings = [
        cones.lane(float(x), right=right, left=left)
        for start, end, right, left in sections
        for x in np.linspace(start, end, 6)
    ]
    return course("ISO 3888-1", cones, crossings)


def skidpad():
    """Formula SAE: in, once round to the right, once round to the left, out."""
    cones, between = Cones(), 18.25 / 2.0

    def ring(centre, angle, turn):
        out = np.array([np.cos(angle), np.sin(angle)])
        inner, outer = (tuple((centre + radius * out).tolist()) for radius in (7.625, 10.625))
        return cones.gate(inner, outer) if turn > 0 else cones.gate(outer, inner)

    middle = cones.gate((-1.5, 0.0), (1.5, 0.0))
    right, left = np.array([between, 0.0]), np.array([-between, 0.0])
    angles = np.radians(np.arange(45.0, 316.0, 45.0))
    crossings = [
        cones.gate((-1.5, -15.0), (1.5, -15.0)),
        middle,
        *(ring(right, np.pi - a, -1) for a in angles),
        middle,
        *(ring(left, a, 1) for a in angles),
        middle,
        cones.gate((-1.5, 15.0), (1.5, 15.0)),
    ]
    return course("skidpad", cones, crossings)
