"""Brake formulas against textbook and legislation values; see CITATION.md."""

import numpy as np
import pytest

from conewise.quantities import parse
from conewise.vehicle import brakes

PSI, CHI = 0.45, 0.20


@pytest.mark.parametrize(("phi", "z"), [(0.25, 1.00), (0.30, 0.75), (0.35, 0.50)])
def test_critical_deceleration(phi, z):
    assert brakes.critical_deceleration(phi, psi=PSI, chi=CHI) == pytest.approx(z, rel=1e-12)


@pytest.mark.parametrize(("ratio", "pounds"), [(5.0, 120.2), (4.0, 150.3), (6.0, 100.2)])
def test_pedal_arithmetic(ratio, pounds):
    pedal = parse(f"{pounds} lb", "force", where="example")
    found = brakes.line_pressure(pedal, pedal_ratio=ratio, boost=1.0, bore=0.875 * 0.0254)
    assert found == pytest.approx(parse("1000 psi", "pressure", where="example"), rel=1e-3)  # printed to 0.1 lb


def test_full_chain_from_foot_to_road():
    pressure = brakes.line_pressure(250.0, pedal_ratio=4.0, boost=4.0, bore=0.022225)
    assert pressure == pytest.approx(10.3107e6, rel=1e-5)
    front, rear = (
        brakes.disc_torque(pressure, piston_area=np.pi * d**2 / 4, friction=mu, radius=r)
        for d, mu, r in ((0.054, 0.40, 0.120), (0.036, 0.38, 0.125))
    )
    assert front == pytest.approx(2266.92, rel=1e-5)
    assert rear == pytest.approx(997.02, rel=1e-5)
    forces = [brakes.axle_brake_force(torque, 0.305) for torque in (front, rear)]
    assert forces == [pytest.approx(14865.0, rel=1e-5), pytest.approx(6537.9, rel=1e-5)]
    assert forces[0] / sum(forces) == pytest.approx(0.69453, rel=1e-5)
