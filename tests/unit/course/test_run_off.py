"""Run-off against closed forms: v2 = v0^2 - 2 mu g s."""

import numpy as np
import pytest

from conewise.course.layout import Obstacle, Site, Slope
from conewise.course.reference import lay_out
from conewise.course.rules import Rules
from conewise.course.run_off import reached, run_off_findings
from conewise.course.said import Said
from tests.solved import straight_course

LENGTH, V, G = 90.0, 16.0, 9.80665
RULES = Rules(name="test")


def laid(*obstacles, slope=None):
    site = Site(obstacles=obstacles, slope=slope or Slope())
    return lay_out(straight_course(LENGTH).changed(site=site.model_dump()))


def found(*obstacles, speed=V, **options):
    geometry = laid(*obstacles, **options)
    return reached(geometry, np.full(len(geometry.path.station), speed), dry=0.5, wet=0.3)


def pole(x, y, radius=0.2):
    return Obstacle(id="pole 1", kind="pole", centre=(x, y), radius=radius)


def left(v, distance, friction):
    """After one second at v, sliding to a distance."""
    return np.sqrt(max(0.0, v**2 - 2 * friction * G * max(0.0, distance - v)))


def test_straight_on_behind_the_finish():
    (one,) = found(pole(LENGTH + 30.0, 0.0))
    assert one.speed == pytest.approx(1.1 * V)
    assert one.distance == pytest.approx(30.0 - 0.2 - 0.9, abs=0.05)  # m: the last place is within 2 m of the finish
    assert one.speed_dry == pytest.approx(left(1.1 * V, one.distance, 0.5), rel=1e-9)
    assert one.speed_wet == pytest.approx(left(1.1 * V, one.distance, 0.3), rel=1e-9)
    assert one.speed_wet > one.speed_dry > 10.0


def test_thirty_degrees_to_the_side():
    """A fence along the course, 12 m aside: the shortest way at 30 degrees is twice the distance (sin 30 = 1/2)."""
    fence = Obstacle(id="fence", kind="fence", outline=((-20, 12), (LENGTH + 60, 12), (LENGTH + 60, 13), (-20, 13)))
    (one,) = found(fence)
    assert one.distance == pytest.approx((12.0 - 0.9) / 0.5, rel=1e-3)


@pytest.mark.parametrize("bearing", [-28.0, -17.5, -7.3, 2.5, 12.5, 22.6])
def test_a_thin_pole_is_met_from_the_fastest_place_at_any_bearing(bearing):
    """The car is fast at 40 m alone: the worst way is the straight one from there, wherever the pole stands."""
    angle, away = np.radians(bearing), 25.0
    geometry = laid(pole(40.0 + away * np.cos(angle), away * np.sin(angle), radius=0.1))
    speed = np.interp(geometry.path.station, [36.0, 40.0, 44.0], [6.0, 20.0, 6.0])
    (one,) = reached(geometry, speed, dry=0.5, wet=0.3)
    assert one.station == one.station_wet == pytest.approx(40.0, abs=1.0)  # m: places are 1 m apart
    assert one.speed_dry == pytest.approx(left(22.0, away - 1.0, 0.5), abs=0.3)  # m/s
    assert one.speed_wet == pytest.approx(left(22.0, away - 1.0, 0.3), abs=0.3)


def test_the_worst_place_in_the_wet_may_be_another():
    """Near and slow in the dry, far and fast in the wet; each against its closed form."""
    fence = Obstacle(id="fence", kind="fence", outline=((120, -20), (121, -20), (121, 20), (120, 20)))
    geometry = laid(fence)
    speed = np.interp(geometry.path.station, [0.0, 49.9, 50.0, 59.9, 60.0, 90.0], [2.0, 2.0, 19.0, 19.0, 13.0, 13.0])
    (one,) = reached(geometry, speed, dry=0.5, wet=0.3)
    half_a_car = 0.9  # m
    ways = {
        s: [left(1.1 * v, 120.0 - half_a_car - s, mu) for mu in (0.5, 0.3)] for s, v in ((59.0, 19.0), (90.0, 13.0))
    }
    assert ways[90.0][0] > ways[59.0][0]
    assert ways[90.0][1] < ways[59.0][1]
    assert (one.station, one.station_wet) == (90.0, 59.0)
    assert (one.speed_dry, one.speed_wet) == pytest.approx((ways[90.0][0], ways[59.0][1]), rel=1e-3)
    (finding,) = run_off_findings(geometry, speed, is_known=True, rules=RULES)
    assert finding.message.endswith(" in the wet if it leaves at 59 m.")


def test_nothing_beyond_thirty_degrees_counts():
    """A pole beside the start gate, abreast: no way of the fan leads there."""
    assert not found(pole(0.0, 8.0))


def test_a_slow_car_stops_before_it_in_the_dry():
    v = 8.0
    dry = 1.1 * v + (1.1 * v) ** 2 / (2 * 0.5 * G)
    (one,) = found(pole(LENGTH + dry + 1.5, 0.0), speed=v)
    assert one.speed_dry == 0.0
    assert one.speed_wet > 0.0
    assert not found(pole(LENGTH + 1.1 * v + (1.1 * v) ** 2 / (2 * 0.3 * G) + 3.0, 0.0), speed=v)


def test_downhill_is_farther():
    level, downhill = (
        found(pole(LENGTH + 30.0, 0.0), slope=slope)[0]
        for slope in (None, Slope(grade=0.05, direction=np.pi))  # the ground rises backwards
    )
    gain = 2 * G * np.sin(np.arctan(0.05)) * (level.distance - 1.1 * V)
    assert downhill.speed_dry**2 - level.speed_dry**2 == pytest.approx(gain, rel=0.01)  # sin or tan of the grade


def test_faster_arrivals_come_first_and_are_said():
    near, far = pole(LENGTH + 22.0, 0.0), Obstacle(id="w", kind="workers", centre=(LENGTH + 34.0, 3.0), radius=1.0)
    geometry = laid(near, far)
    findings = run_off_findings(geometry, np.full(len(geometry.path.station), V), is_known=True, rules=RULES)
    assert [f.code for f in findings] == ["run-off-obstacle"] * 2
    assert "pole 1" in findings[0].where
    assert "110% of the predicted speed" in findings[0].message


def test_units_are_those_that_are_shown():
    """20 m/s are 72 km/h and 44.7 mph; 22 m are 72.2 ft."""
    geometry = laid(pole(LENGTH + 22.0, 0.0))
    speed = np.full(len(geometry.path.station), 20.0 / 1.1)
    (metric,), (us,) = (
        run_off_findings(geometry, speed, is_known=True, rules=RULES, say=Said(system)) for system in ("metric", "us")
    )
    assert " at 72 km/h (110%" in metric.message
    assert " at 45 mph (110%" in us.message
    assert " m to pole" in metric.message
    assert " ft to pole" in us.message
    assert us.where.endswith("ft after the start")
    assert "km/h" not in us.message


def test_what_is_alike_in_dry_and_wet_is_said_once():
    """With all of the way unbraked the friction makes no difference."""
    geometry = laid(pole(LENGTH + 5.0, 0.0))
    (finding,) = run_off_findings(geometry, np.full(len(geometry.path.station), V), is_known=True, rules=RULES)
    assert finding.message.endswith("km/h, dry or wet.")
