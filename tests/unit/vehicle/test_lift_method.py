"""The lift method: a rigid body tilted and weighed from scratch, and the equation of a published page."""

from dataclasses import replace

import numpy as np
import pytest

from conewise.vehicle.lift_method import LiftWeighing, cg_height, measured_cg_height


def weighed(*, height, to_down, rise, radius_down=0.29, radius_lifted=0.29, wheelbase=2.4, total=1080.0):
    """What scales read under the axle that stays down, by statics of a rigid body in the plane."""
    down, lifted = np.array([0.0, radius_down]), np.array([wheelbase, radius_lifted])
    centre = np.array([to_down, height])
    start = np.arctan2(*(lifted - down)[::-1])
    length = np.linalg.norm(lifted - down)
    turn = np.arcsin(np.sin(start) + rise / length) - start
    rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    tilted_lifted, tilted_centre = (down + rotation @ (point - down) for point in (lifted, centre))
    return LiftWeighing(
        level=total * (1 - to_down / wheelbase),
        other=total * to_down / wheelbase,
        lifted=total * (1 - tilted_centre[0] / tilted_lifted[0]),
        rise=rise,
        wheelbase=wheelbase,
        radius_down=radius_down,
        radius_lifted=radius_lifted,
    )


@pytest.mark.parametrize("rise", [0.1, 0.4, 0.8])
@pytest.mark.parametrize("radius_lifted", [0.27, 0.29, 0.33])
@pytest.mark.parametrize("to_down", [0.9, 1.3])
def test_a_tilted_body_gives_its_height_back(rise, radius_lifted, to_down):
    w = weighed(height=0.47, to_down=to_down, rise=rise, radius_lifted=radius_lifted)
    assert cg_height(w) == pytest.approx(0.47, rel=1e-9)


def test_the_equation_of_the_page():
    # page "The Height above Ground of CG": h = (b - L R / W) cot(t) + r with sin(t) = H / L, front raised: R on the
    # raised axle, b from the centre of gravity to the rear axle, which stays on the scales; numbers closed form
    wheelbase, total, on_rear, on_rear_raised, rise, radius = 2.50, 1200.0, 560.0, 592.0, 0.50, 0.30
    b = wheelbase * (1 - on_rear / total)
    angle = np.arcsin(rise / wheelbase)
    wanted = (b - wheelbase * (total - on_rear_raised) / total) / np.tan(angle) + radius
    w = LiftWeighing(
        level=on_rear,
        other=total - on_rear,
        lifted=on_rear_raised,
        rise=rise,
        wheelbase=wheelbase,
        radius_down=radius,
        radius_lifted=radius,
    )
    assert cg_height(w) == pytest.approx(wanted, rel=1e-12)
    # the same for small angles: c = L2 (W' - W) / (H M), note "Finding the height of the center of gravity"; 2 % at
    # 11.5 degrees, since it takes the sine for the tangent
    assert cg_height(w) - radius == pytest.approx(wheelbase**2 * 32.0 / (rise * total), rel=0.021)


def test_the_uncertainty_is_that_of_drawn_measurements(rng):
    w = weighed(height=0.47, to_down=1.15, rise=0.4)
    spreads = {"level": 1.4, "other": 1.4, "lifted": 1.4, "rise": 0.003, "wheelbase": 0.005, "radius_down": 0.005}
    found = measured_cg_height(w, spreads=spreads)
    drawn = [
        cg_height(
            replace(w, **{name: getattr(w, name) + spread * rng.standard_normal() for name, spread in spreads.items()})
        )
        for _ in range(8000)
    ]
    assert found.height == pytest.approx(0.47, rel=1e-9)
    assert found.spread == pytest.approx(np.std(drawn), rel=0.05)  # 8000 draws: 0.8 %, six times
    assert max(found.parts, key=found.parts.get) in {"level", "lifted"}
    assert found.parts["radius_lifted"] == 0.0


def test_a_higher_lift_says_more():
    spreads = {"level": 1.4, "other": 1.4, "lifted": 1.4}
    low, high = (
        measured_cg_height(weighed(height=0.47, to_down=1.15, rise=r), spreads=spreads).spread for r in (0.2, 0.6)
    )
    assert high < low / 2.5
