"""Force over speed of a damper in a car file, and the damping at low speed that the model takes from it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from conewise.cars.car import DamperPoint, field
from conewise.cars.toml_file import Table, usual_uncertainty
from conewise.quantities import Origin, Sourced

if TYPE_CHECKING:
    from collections.abc import Sequence

LOW_SPEED = 0.1  # of a damper while the body rolls in a slalom [m/s]; common practice, no source
_HINT = 'Write [["0.05 m/s", "260 N", "410 N"], ["0.13 m/s", "420 N", "800 N"]]: speed, bump, rebound.'


def damper_values(table: Table, raw: Any, origin: Origin) -> dict[str, Any]:
    """The fields `damper_curve` and `damping` of an axle from the raw points of `damper_curve`."""
    if not isinstance(raw, list) or not raw or not all(isinstance(p, list) and len(p) == 3 for p in raw):
        table.fail(f"{table.path('damper_curve')} is no list of points.", "damper_curve", hint=_HINT)
    points: list[DamperPoint] = []
    for row in raw:
        points.append(_point(table, row))
        if len(points) > 1 and points[-1].speed <= points[-2].speed:
            problem = f"{table.path('damper_curve')} has {row[0]} after {raw[len(points) - 2][0]}."
            table.fail(problem, "damper_curve", hint="Sort the points by speed, each speed once.")
    facts, damping = field("front.damping"), low_speed_damping(points)
    table.refuse_impossible(damping, facts, "damper_curve", raw=f"{damping:.0f} N s/m at low speed")
    spread = usual_uncertainty(damping, facts, origin)
    damped = Sourced(value=damping, uncertainty=spread, origin=origin)
    return {"damper_curve": tuple(points), "damping": damped}


def _point(table: Table, row: list[Any]) -> DamperPoint:
    speed, bump, rebound = (
        table.number(row[0], "speed", "damper_curve"),
        table.number(row[1], "force", "damper_curve"),
        table.number(row[2], "force", "damper_curve"),
    )
    if min(speed, bump, rebound) <= 0:
        problem = f"{table.path('damper_curve')} has {row}; speed and both forces must be more than zero."
        table.fail(problem, "damper_curve", hint=_HINT)
    return DamperPoint(speed=speed, bump=bump, rebound=rebound)


def low_speed_damping(points: Sequence[DamperPoint]) -> float:
    """Damping up to 0.1 m/s, mean of bump and rebound: the line through zero of least squares. [N s/m]

    Where every point is faster, the slowest one stands for it.
    """
    slow = [p for p in points if p.speed <= LOW_SPEED] or list(points[:1])
    return sum((p.bump + p.rebound) / 2 * p.speed for p in slow) / sum(p.speed**2 for p in slow)
