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


@pytest.mark.parametrize(("z", "share"), [(0.2, 0.590), (0.4, 0.630), (0.6, 0.670), (0.8, 0.710), (1.0, 0.750)])
def test_ideal_distribution(z, share):
    # Limpert / Gillespie ch. 3 (formulas from memory), psi 0.45, chi 0.20
    assert brakes.ideal_front_share(z, psi=PSI, chi=CHI) == pytest.approx(share, rel=1e-12)


def test_ideal_forces_lie_on_the_parabola():
    # Limpert ch. 7 (from memory): Fr = sqrt((1 - psi)2 / 4 chi2 + Ff / chi) - (1 - psi) / 2 chi - Ff; 0.568 -> 0.232
    z = 0.8
    front = brakes.ideal_front_share(z, psi=PSI, chi=CHI) * z
    rear = np.sqrt((1 - PSI) ** 2 / (4 * CHI**2) + front / CHI) - (1 - PSI) / (2 * CHI) - front
    assert front == pytest.approx(0.568, rel=1e-12)
    assert rear == pytest.approx(0.232, rel=1e-9)
    assert rear == pytest.approx(z - front, rel=1e-9)


@pytest.mark.parametrize(
    ("z", "front", "rear"),
    [
        (0.15, 0.1810, 0.1071),
        (0.30, 0.3443, 0.2308),
        (0.45, 0.4922, 0.3750),
        (0.61, 0.6354, 0.5579),
        (0.80, 0.7887, 0.8276),
    ],
)
def test_adhesion_utilised(z, front, rear):
    # as Council Directive 71/320/EEC Annex II App. defines it (formula from memory), phi 0.30; the rows have 4 digits
    assert brakes.adhesion_front(z, 0.30, psi=PSI, chi=CHI) == pytest.approx(front, abs=5.1e-5)
    assert brakes.adhesion_rear(z, 0.30, psi=PSI, chi=CHI) == pytest.approx(rear, abs=5.1e-5)
