"""From the car to the model's numbers: exact mappings, smoothness, and no field without an effect."""

import numpy as np
import pytest

from conewise.cars.car import DifferentialKind, field
from conewise.cars.driver import typical_driver
from conewise.cars.typical import kinds, numbers
from conewise.quantities import Origin, Sourced
from conewise.vehicle.build import (
    LOCKED_PRELOAD,
    bar_stiffness,
    file_parameters,
    gearbox,
    jacobian,
    magic_formula_curvature,
    model_parameters,
    outside_model,
    with_parameter,
)
from conewise.vehicle.drivetrain import full_torque
from conewise.vehicle.motion import tyres
from conewise.vehicle.parameters import ModelParameters
from conewise.vehicle.tyre_force import cornering_stiffness, lateral_force, peak_slip
from tests.cars import DEMO_NAMES, demo_car
from tests.unit.cars.test_typical import of_kind

RPM = np.pi / 30


def told(value):
    return Sourced(value=value, uncertainty=0.0, origin=Origin.MEASURED)


@pytest.mark.parametrize(("diameter", "bore"), [(0.0, 0.017), (0.02, 0.02), (0.02, 0.025)])
def test_a_bar_of_nothing_has_no_stiffness_and_never_less(diameter, bore):
    car = demo_car("marigold").with_values({"front.bar_diameter": told(diameter), "front.bar_bore": told(bore)})
    assert bar_stiffness(numbers(car), "front") == 0.0


def test_what_the_demo_roadster_says_arrives():
    p = model_parameters(demo_car("marigold"))
    assert p.mass == pytest.approx(1080.0)  # the four scales, driver in the car
    assert p.cg_to_front == pytest.approx(2.30 * (262 + 259) / 1080, rel=1e-12)
    assert p.track_front == pytest.approx(1.42 + 2 * 0.005)
    assert p.camber_front == pytest.approx(np.deg2rad(-2.2))
    assert p.gear_ratios[:5] == pytest.approx(np.array([3.14, 1.89, 1.33, 1.00, 0.81]) * 4.30)
    assert p.gear_ratios[5:] == (p.gear_ratios[4],) * 3
    assert p.road_wheel_limit == pytest.approx(2.6 * np.pi / 14.5)
    assert p.differential_drive_rear == pytest.approx((2.3 - 1) / (2.3 + 1))
    assert p.abs_share == 0.0
    assert (p.body_length, p.body_width, p.front_overhang) == (3.94, 1.68, 0.77)


def test_brakes_by_parts_are_the_chain_of_the_handbook():
    # set up as in tests/published/brakes: 14865.0 and 6537.9 N
    v = {
        "brakes.pedal_force": 250.0,
        "brakes.pedal_ratio": 4.0,
        "brakes.boost": 4.0,
        "brakes.master_bore": 0.022225,
        "front.brake.piston_diameter": 0.054,
        "front.brake.pad_friction": 0.40,
        "front.brake.effective_radius": 0.120,
        "rear.brake.piston_diameter": 0.036,
        "rear.brake.pad_friction": 0.38,
        "rear.brake.effective_radius": 0.125,
        "front.tyre.rolling_radius": 0.305,
        "rear.tyre.rolling_radius": 0.305,
    }
    p = model_parameters(demo_car("marigold").with_values({name: told(value) for name, value in v.items()}))
    assert p.brake_force_limit == pytest.approx(14865.0 + 6537.9, rel=1e-5)
    assert p.brake_front_share == pytest.approx(0.69453, rel=1e-5)


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_without_a_driver_the_run_is_the_best_possible(name):
    car = demo_car(name)
    p = model_parameters(car)
    assert p.friction_share == 1.0
    assert p.road_wheel_rate * car.value("steering.ratio") == pytest.approx(np.deg2rad(600))
    assert p.pedal_rate == 4.0


def test_driver_pace_and_surface():
    car = demo_car("pepper")
    novice = typical_driver("novice", mass=told(100.0))
    p = model_parameters(car, driver=novice, surface=0.7)
    assert p.friction_share == 0.80
    assert p.surface == 0.7
    assert p.pedal_rate == pytest.approx(1 / 0.6)
    assert p.mass == pytest.approx(1095 + 100)
    assert model_parameters(car, driver=novice, pace=0.85).friction_share == 0.85


def test_the_mass_of_a_driver_who_told_it_can_be_changed():
    car = demo_car("pepper")
    names = [parameter.name for parameter in file_parameters(car)]
    heavy = jacobian(car, driver=typical_driver("novice", mass=told(100.0)))
    assert heavy[ModelParameters.names().index("mass"), names.index("mass.driver")] == pytest.approx(1.0)


@pytest.mark.parametrize("kind", kinds())
def test_the_curve_peaks_at_the_slip_angle_that_is_asked_for(kind):
    car = of_kind(kind)
    tyre = tyres(model_parameters(car))[0]
    load = tyre.reference_load
    slip = np.deg2rad(np.linspace(0.5, 25, 2000))
    force = lateral_force(slip, load, tyre.friction_lateral, tyre)
    wanted = car.value("front.tyre.peak_slip_angle")
    assert slip[force.argmax()] == pytest.approx(wanted, rel=0.03)  # the model adds 50 N where a load divides
    assert force.max() == pytest.approx(tyre.friction_lateral * load, rel=1e-4)
    assert cornering_stiffness(load, tyre) / load == pytest.approx(
        car.value("front.tyre.cornering_coefficient"), rel=1e-12
    )


@pytest.mark.parametrize(("shape", "peak"), [(1.3, 1.2), (1.19, 2.2), (1.5, 1.4)])
def test_curvature_puts_the_peak_where_it_is_wanted(shape, peak):
    assert peak_slip(shape, magic_formula_curvature(shape, peak)) == pytest.approx(peak, rel=1e-9)


def test_torque_goes_through_the_points_of_the_file():
    car = demo_car("marigold")
    p = model_parameters(car)
    speeds = np.array([point.speed for point in car.engine.torque_curve])
    torques = np.array([point.torque.value for point in car.engine.torque_curve])
    # ten coefficients against straight pieces between seven points: within 2 %
    assert full_torque(speeds, p) == pytest.approx(torques, rel=0.02)


@pytest.mark.parametrize("kind", [kind for kind in kinds() if kind != "electric"])
def test_an_engine_known_by_its_peaks_reaches_them_where_it_should(kind):
    car = of_kind(kind)
    p = model_parameters(car)
    speeds = np.linspace(p.engine_speed_low, p.engine_speed_limit, 2000)
    torque = full_torque(speeds, p)
    assert (torque * speeds).max() == pytest.approx(car.value("engine.peak_power"), rel=0.01)
    assert torque.max() == pytest.approx(car.value("engine.peak_torque"), rel=0.01)
    at_power = full_torque(car.value("engine.peak_power_speed"), p) * car.value("engine.peak_power_speed")
    assert at_power == pytest.approx(car.value("engine.peak_power"), rel=0.01)  # a spline of ten pieces
    assert (torque > 0).all()


def test_a_motor_pulls_from_rest_and_then_at_constant_power():
    car = of_kind("electric")
    p = model_parameters(car)
    assert gearbox(car).n_gears == 1
    assert p.engine_speed_low == 0.0
    assert full_torque(0.0, p) == pytest.approx(car.value("engine.peak_torque"), rel=0.05)
    high = full_torque(0.9 * p.engine_speed_limit, p) * 0.9 * p.engine_speed_limit
    assert high == pytest.approx(car.value("engine.peak_power"), rel=0.05)  # a corner, by a spline of ten pieces


@pytest.mark.parametrize("kind", list(DifferentialKind))
def test_differentials(kind):
    car = demo_car("marigold")
    rear = car.rear.changed(differential=car.rear.differential.changed(kind=kind))
    p = model_parameters(car.changed(rear=rear))
    found = (p.differential_preload_rear, p.differential_drive_rear, p.differential_coast_rear)
    wanted = {
        DifferentialKind.OPEN: (0.0, 0.0, 0.0),
        DifferentialKind.LOCKED: (LOCKED_PRELOAD, 0.0, 0.0),
        DifferentialKind.LIMITED_SLIP: (50.0, 1.3 / 3.3, 0.8 / 2.8),
    }[kind]
    assert found == pytest.approx(wanted)
    assert p.differential_preload_front == 0.0


def test_a_steeper_ramp_locks_less():
    car = demo_car("boulder")
    steep = with_parameter(car, "rear.differential.ramp_drive", np.deg2rad(60))
    assert model_parameters(steep).differential_drive_rear < model_parameters(car).differential_drive_rear < 0.95


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_every_number_reaches_the_model_or_is_listed_with_a_reason(name):
    """A number without an effect is one of a short, known list."""
    car = demo_car(name)
    outside = outside_model(car)
    known = {"mass.cross_weight", "transmission.shift_time", "transmission.front_share"}
    kinds_known = (".tyre.pressure", ".tyre.pressure_low", ".tyre.pressure_high", ".wheel.diameter")
    kinds_known += (".caster", ".pad_friction_cold", ".disc_mass", "brakes.compliance", "brakes.mount_stiffness")
    assert all(reason for reason in outside.values())
    for_the_fit = (".hub.", ".clearance.")
    unexpected = [n for n in outside if n not in known and not n.endswith(kinds_known)]
    unexpected = [n for n in unexpected if not any(part in n for part in for_the_fit)]
    assert unexpected == []
    assert {p.name for p in file_parameters(car)} | set(outside) == set(car.values)


def test_parts_that_do_not_count_are_listed():
    car = demo_car("marigold").with_values({"brakes.front_share": told(0.7), "brakes.force_limit": told(2e4)})
    outside = outside_model(car)
    assert "given directly" in outside["front.brake.pad_friction"]
    assert "given directly" in outside["brakes.boost"]
    idle = demo_car("pepper").with_values({"rear.differential.preload": told(50.0)})
    assert "driven axle" in outside_model(idle)["rear.differential.preload"]


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_file_parameters_have_units_and_steps(name):
    for parameter in file_parameters(demo_car(name)):
        assert parameter.reference_step > 0, parameter.name
        assert parameter.unit or parameter.dimension == "ratio", parameter.name
        facts = field(parameter.name)
        assert facts.low - parameter.reference_step <= parameter.value <= facts.high + parameter.reference_step, (
            parameter
        )


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_the_mapping_is_smooth(name):
    """First and second halves of a small step agree: no rounding, no step, no kink at the car's own values."""
    car = demo_car(name)
    base = model_parameters(car).vector()
    scale = np.maximum(np.abs(base), 1e-3)
    for p in file_parameters(car):
        if p.value == 0.0 and field(p.name).sign != "any":
            continue  # at its least value
        h = p.reference_step * 1e-3
        up = (model_parameters(with_parameter(car, p.name, p.value + h)).vector() - base) / scale
        down = (base - model_parameters(with_parameter(car, p.name, p.value - h)).vector()) / scale
        assert np.abs(up - down).max() <= 0.02 * np.abs(up).max() + 1e-12, p.name


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_the_jacobian_predicts_a_step(name):
    car = demo_car(name)
    parameters = file_parameters(car)
    J = jacobian(car)
    assert jacobian(car) is J  # made once
    assert J.shape == (ModelParameters.size(), len(parameters))
    base = model_parameters(car).vector()
    for j, p in enumerate(parameters):
        if p.name.endswith("bar_bore") and p.value == 0.0:
            continue  # d4 - b4: no slope at a solid bar
        h = p.reference_step / 50
        moved = model_parameters(with_parameter(car, p.name, p.value + h)).vector() - base
        assert moved == pytest.approx(J[:, j] * h, rel=0.05, abs=0.01 * np.abs(moved).max()), p.name


def test_the_jacobian_of_mass_moves_inertias_and_balance():
    car = demo_car("pepper")
    names = [p.name for p in file_parameters(car)]
    column = dict(zip(ModelParameters.names(), jacobian(car)[:, names.index("mass.total")], strict=True))
    assert column["mass"] == pytest.approx(1.0, rel=1e-9)
    assert column["yaw_inertia"] > 0.5
    assert column["roll_inertia"] > 0.1
    assert column["reference_load_front"] == 0.0
    assert column["roll_stiffness_front"] == 0.0


def test_the_same_car_gives_the_same_numbers():
    first, second = (model_parameters(demo_car("boulder")).vector() for _ in range(2))
    assert np.array_equal(first, second)


def test_the_gearbox_tells_what_the_numbers_do_not():
    box = gearbox(demo_car("boulder"))
    assert (box.kind, box.n_gears, box.shift_time) == ("dual-clutch", 6, 0.08)
