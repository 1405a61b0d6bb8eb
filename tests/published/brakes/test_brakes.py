"""Brake formulas against textbook and legislation values; see CITATION.md."""

from dataclasses import replace

import numpy as np
import pytest

from conewise.quantities import parse
from conewise.vehicle import brakes
from tests.model_cars import rear_drive

PSI, CHI = 0.45, 0.20


@pytest.mark.parametrize(("phi", "z"), [(0.25, 1.00), (0.30, 0.75), (0.35, 0.50)])
def test_critical_deceleration(phi, z):
    assert brakes.critical_deceleration(phi, psi=PSI, chi=CHI) == pytest.approx(z, rel=1e-12)


@pytest.mark.parametrize(("ratio", "pounds"), [(5.0, 120.2), (4.0, 150.3), (6.0, 100.2)])
def test_pedal_arithmetic(ratio, pounds):
    pedal = parse(f"{pounds} lb", "force", where="example")
    found = brakes.line_pressure(pedal, pedal_ratio=ratio, boost=1.0, bore=0.875 * 0.0254)
    assert found == pytest.approx(parse("1000 psi", "pressure", where="example"), rel=1e-3)  # printed to 0.1 lb


def test_heat_of_a_stop():
    # 1400 kg from 25 m/s, 70 % in front, 90 % of it into two discs of 7 kg, 460 J/(kg K): 42.80 K (formula of the page)
    energy = brakes.stop_energy(25.0, 0.0, mass=1400.0)
    assert brakes.disc_temperature_rise(energy * 0.7 * 0.9, disc_mass=14.0) == pytest.approx(42.80, abs=0.005)


def test_mass_of_turning_wheels():
    # four wheels of 0.9 kg m2 on 0.31 m weigh like 37.46 kg (closed form)
    p = rear_drive(wheel_inertia_front=1.8, wheel_inertia_rear=1.8, rolling_radius_front=0.31, rolling_radius_rear=0.31)
    assert brakes.turning_mass(p) - p.mass == pytest.approx(37.46, abs=0.005)


def test_heat_of_a_run_is_what_drag_leaves():
    # from 20 m/s to rest and up again, without drag: one stop; with rolling resistance, less by c m g over the braking
    p = rear_drive(drag_area=0.0, rolling_resistance=0.0)
    station = np.linspace(0.0, 100.0, 2001)
    speed = 20.0 * np.abs(np.cos(np.pi * station / 100.0))
    stop = brakes.stop_energy(20.0, 0.0, mass=brakes.turning_mass(p))
    assert brakes.run_energy(station, speed, p) == pytest.approx(stop, rel=1e-3)  # the mesh rounds the turning point
    rolling = replace(p, rolling_resistance=0.015)
    less = 0.015 * p.mass * p.gravity * 50.0
    assert brakes.run_energy(station, speed, rolling) == pytest.approx(stop - less, rel=2e-3)  # little at the ends


def test_hose_of_the_standard_as_pedal_travel():
    # 49 CFR 571.106 table I (from memory): a hose up to 1/8 in may take up 0.66 cc a foot at 1000 psi, a
    # low-expansion one half as much; 4 ft at 4:1 on a 7/8 in bore: 27 mm and 14 mm of pedal (closed form)
    pressure, bore = parse("1000 psi", "pressure", where="example"), 0.875 * 0.0254
    travel = [
        brakes.pedal_travel_of_fluid(pressure, 4 * cc * 1e-6 / pressure, pedal_ratio=4.0, bore=bore)
        for cc in (0.66, 0.33)
    ]
    assert travel == [pytest.approx(0.02722, abs=1e-5), pytest.approx(0.01361, abs=1e-5)]


def test_mount_as_pedal_travel():
    # 4000 N on a mount of 5 kN/mm gives 0.8 mm, 3.2 mm at the pedal with 4:1 (closed form)
    pressure = 4000.0 / (np.pi * 0.022225**2 / 4)
    found = brakes.pedal_travel_of_mount(pressure, 5e6, pedal_ratio=4.0, bore=0.022225)
    assert found == pytest.approx(3.2e-3, rel=1e-9)


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
