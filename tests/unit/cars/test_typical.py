"""Typical values: every kind is whole, estimates follow what they follow from, published sets lie within the spread."""

import numpy as np
import pytest

from conewise.cars.car import AXLES, Car, Differential, DifferentialKind, Engine, Transmission, TransmissionKind
from conewise.cars.estimate import (
    ESTIMATED,
    YEAR,
    age_factor,
    cornering_coefficient,
    friction_of_treadwear,
    front_share,
    load_capacity,
    measuring_rim,
    reference_load,
    rim_factor,
    total_mass,
    tyre_rate,
    wheel_mass,
)
from conewise.cars.plausible import check_car
from conewise.cars.typical import completed, drive_of, kinds, numbers, title_of
from conewise.quantities import Origin, Sourced
from conewise.vehicle.build import model_parameters
from conewise.vehicle.derived import safety_findings
from tests.cars import SETS, demo_car, published_set


def of_kind(kind, **parts):
    return completed(Car(name=kind, kind=kind, drive=drive_of(kind), **parts))


def told(value):
    return Sourced(value=value, uncertainty=0.0, origin=Origin.MEASURED)


@pytest.mark.parametrize("kind", kinds())
def test_every_kind_makes_a_whole_plausible_and_safe_car(kind):
    car = of_kind(kind)
    assert title_of(kind)
    assert np.isfinite(model_parameters(car).vector()).all()
    assert [f for f in (*check_car(car), *safety_findings(car)) if f.severity != "note"] == []


@pytest.mark.parametrize("kind", kinds())
def test_what_is_filled_in_says_so_and_has_an_uncertainty(kind):
    car = of_kind(kind)
    for name, value in car.values.items():
        assert value.origin in {Origin.TYPICAL, Origin.ESTIMATED}
        assert value.uncertainty > 0 or name == "transmission.front_share"
    assert {n for n, v in car.values.items() if v.origin is Origin.ESTIMATED} <= ESTIMATED


def test_completing_twice_changes_nothing():
    car = demo_car("pepper")
    assert completed(car) == car


@pytest.mark.parametrize("number", SETS)
def test_inertias_of_the_published_sets_lie_within_the_spread(number):
    """Yaw inertia over m a b 1.0 (8 %), roll inertia over sprung mass and squared track 0.123 (15 %)."""
    s = published_set(number)
    assert s.I_z / (s.m * s.a * s.b) == pytest.approx(1.0, rel=2 * 0.08)
    track = (s.T_f + s.T_r) / 2
    assert s.I_Phi_s / (s.m_s * track**2) == pytest.approx(0.123, rel=2 * 0.15)


@pytest.mark.parametrize(
    ("treadwear", "low", "high"),
    [
        (40, 1.15, 1.30), (100, 1.15, 1.30), (200, 1.00, 1.25), (220, 1.00, 1.25), (300, 0.90, 1.00),
        (400, 0.90, 1.00), (520, 0.75, 0.90), (700, 0.75, 0.90),
    ],
)  # fmt: skip
def test_friction_by_treadwear_lies_in_the_bands(treadwear, low, high):
    # common practice, no source
    assert low <= friction_of_treadwear(treadwear) <= high


@pytest.mark.parametrize(("one", "other"), [(60, 100), (180, 200), (300, 400), (540, 700)])
def test_within_a_band_the_grade_says_nothing_of_grip(one, other):
    # 49 CFR 575.104: treadwear is a wear grade; 1.5 % for the blur at the ends of a band
    assert friction_of_treadwear(one) == pytest.approx(friction_of_treadwear(other), rel=0.015)


def test_friction_never_rises_with_the_grade():
    friction = [friction_of_treadwear(grade) for grade in range(0, 801, 5)]
    assert friction == sorted(friction, reverse=True)


def test_age_takes_a_hundredth_a_year_after_the_second():
    # common practice, no source
    assert age_factor(0.0) == pytest.approx(1.0, abs=1e-3)
    assert age_factor(5 * YEAR) == pytest.approx(0.97, abs=1e-3)
    assert age_factor(7 * YEAR) - age_factor(6 * YEAR) == pytest.approx(-0.01, abs=1e-4)


def test_a_rim_of_another_width_moves_friction_a_little():
    # an inch on the 7.5 in of 225/45: under 1 %; never 2 % (common practice, no source)
    assert rim_factor(8.5, 7.5) - 1.0 == pytest.approx(0.0077, abs=5e-4)
    assert rim_factor(7.5, 7.5) == 1.0
    assert 0.98 < rim_factor(3.0, 7.5) < rim_factor(12.0, 7.5) < 1.02


@pytest.mark.parametrize(
    ("size", "rim_in", "low", "high"),
    # one cast wheel with its tyre, from memory of makers' lists: 195/50R15 on 6.5, 225/45R17 on 7.5, 265/35R18 on 9.5
    [((0.195, 0.50, 15), 6.5, 14.0, 17.5), ((0.225, 0.45, 17), 7.5, 18.0, 22.0), ((0.265, 0.35, 18), 9.5, 22.0, 27.0)],
)
def test_mass_of_a_wheel_with_its_tyre(size, rim_in, low, high):
    width, aspect, rim = size
    on, wider = (wheel_mass(width, aspect, rim * 0.0254, rim_width=inches * 0.0254) for inches in (rim_in, rim_in + 1))
    assert low <= on <= high
    assert wider > on


def test_a_reinforced_tyre_of_the_same_size_has_no_more_grip():
    usual = load_capacity(0.265, 0.35, 18 * 0.0254)
    # index 97 XL and 93 of 265/35R18: 730 and 650 kg; usual for the size is what data books give the plain tyre
    plain, stronger = (reference_load(capacity, usual) for capacity in (650.0, 730.0))
    assert plain == pytest.approx(0.5 * 650 * 9.80665, rel=2e-3)
    assert 1.0 < stronger / plain < 1.05
    assert reference_load(900.0, usual) == pytest.approx(stronger, rel=1e-3)


def test_cornering_coefficient_of_the_published_tyre():
    # Pacejka, Tyre and Vehicle Dynamics, 2nd ed. 2006, table A3.1, 205/60R15 91V at half of its 615 kg:
    # 14.95 F0 sin(2 atan(F / (2.13 F0))) / F with F0 4000 N
    load = 0.5 * 615 * 9.80665
    wanted = 14.95 * 4000 * np.sin(2 * np.arctan(load / (2.13 * 4000))) / load
    rim = measuring_rim(0.205, 0.60)
    assert cornering_coefficient(0.60, rim, rim) == pytest.approx(wanted, rel=1e-3)


@pytest.mark.parametrize("number", SETS)
def test_tyre_rate_is_of_the_size_of_the_published_sets(number):
    # 158 to 213 N/mm in the sets, whose tyre sizes are not given: an order of size, hence the wide tolerance
    assert tyre_rate(0.205, 0.60, 0.627) == pytest.approx(published_set(number).K_zt, rel=0.5)


def test_peak_of_the_magic_formula_stands_in_the_band_of_production_tyres():
    # slip angle at the peak 6 to 10 degrees: Milliken and Milliken 1995, p. 27
    car = of_kind("roadster")
    assert 6 <= np.rad2deg(car.value("front.tyre.peak_slip_angle")) <= 10


def test_load_exponent_stands_in_the_published_band():
    # F ~ Fz^n, n 0.7 to 0.9: Milliken and Milliken 1995, fig. 2.9, gives 0.827
    # at the reference load n = 1 - sensitivity
    car = of_kind("sedan")
    assert 0.7 <= 1 - car.value("front.tyre.load_sensitivity") <= 0.9


def test_a_heavier_car_on_the_same_tyre_keeps_its_reference_load():
    light = of_kind("roadster")
    heavy = light.with_values({"mass.total": told(1300.0)})
    assert numbers(heavy)["front.tyre.reference_load"] == numbers(light)["front.tyre.reference_load"]
    assert numbers(heavy)["body.yaw_inertia"] > numbers(light)["body.yaw_inertia"]
    assert numbers(heavy)["front.spring_rate"] == numbers(light)["front.spring_rate"]


def test_the_driver_counts_for_mass_and_balance():
    v = numbers(of_kind("roadster"))
    assert total_mass(v) == v["mass.total"] + v["mass.driver"]
    moment = v["mass.total"] * (1 - v["mass.front_share"]) + v["mass.driver"] * v["mass.driver_position"]
    assert 1 - front_share(v) == pytest.approx(moment / total_mass(v), rel=1e-12)


def test_springs_have_the_usual_ride_frequency():
    car = of_kind("roadster")
    v = numbers(car)
    corner = (total_mass(v) * front_share(v) - v["front.unsprung_mass"]) / 2
    rate = v["front.spring_rate"] * v["front.motion_ratio"] ** 2
    assert np.sqrt(rate / corner) / (2 * np.pi) == pytest.approx(v["estimate.ride_frequency_front"], rel=1e-12)


@pytest.mark.parametrize(("drive", "share"), [("front", 1.0), ("rear", 0.0), ("all", 0.45)])
def test_the_drive_decides_the_torque_split(drive, share):
    car = completed(Car(name="x", kind="sedan", drive=drive))
    assert car.value("transmission.front_share") == share


def test_a_single_speed_car_of_any_kind_gets_a_motor():
    car = of_kind("roadster", transmission=Transmission(kind=TransmissionKind.SINGLE_SPEED))
    assert len(car.transmission.gears) == 1
    assert car.value("engine.low_speed") == 0.0
    assert "engine.peak_power_speed" not in car.values


def test_a_given_bar_stiffness_takes_the_place_of_a_bar():
    car = of_kind("sedan")
    front = Car(name="x", kind="sedan", drive="front").front.changed(bar_stiffness=told(2e4))
    other = of_kind("sedan", front=front)
    assert "front.bar_diameter" in car.values
    assert "front.bar_diameter" not in other.values
    assert "rear.bar_diameter" in other.values


def test_a_limited_slip_differential_gets_a_bias_or_faces_for_its_ramps():
    limited = Differential(kind=DifferentialKind.LIMITED_SLIP)
    rear = Car(name="x", kind="roadster", drive="rear").rear
    by_bias = of_kind("roadster", rear=rear.changed(differential=limited))
    assert by_bias.value("rear.differential.bias_drive") > 1
    ramps = of_kind("roadster", rear=rear.changed(differential=limited.changed(ramp_drive=told(0.8))))
    assert ramps.value("rear.differential.friction_faces") > 0
    assert "rear.differential.bias_drive" not in ramps.values


def test_given_gears_are_not_filled_up_with_typical_ones():
    car = of_kind("roadster", transmission=Transmission(gears=(told(3.0), told(1.5))))
    assert [gear.value for gear in car.transmission.gears] == [3.0, 1.5]


def test_a_peak_torque_follows_from_the_peak_power():
    car = of_kind("sedan", engine=Engine(peak_power=told(200e3)))
    assert numbers(car)["engine.peak_torque"] > numbers(of_kind("sedan"))["engine.peak_torque"]


@pytest.mark.parametrize("axle", AXLES)
def test_tyres_told_for_one_axle_hold_for_both(axle):
    other = AXLES[1 - AXLES.index(axle)]
    part = getattr(Car(name="x", kind="sedan", drive="front"), axle)
    tyre = part.tyre.changed(section_width=told(0.245), aspect=told(0.4), rim_diameter=told(0.4572), friction=told(1.2))
    car = of_kind("sedan", **{axle: part.changed(tyre=tyre)})
    assert car.value(f"{other}.tyre.section_width") == 0.245
    assert car.value(f"{other}.tyre.friction") == 1.2
