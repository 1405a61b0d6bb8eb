"""The brake sheet: what it says against the formulas, and what it warns of."""

import numpy as np
import pytest

from conewise.quantities import Origin, Sourced
from conewise.vehicle.brake_sheet import DrivenRun, brake_sheet
from conewise.vehicle.brakes import stop_energy, turning_mass
from conewise.vehicle.build import model_parameters
from tests.cars import demo_car


def values(sheet):
    return {v.name: v.value for v in sheet.values}


def edited(name, **edits):
    return demo_car(name).with_values(
        {k.replace("__", "."): Sourced(value=v, uncertainty=0.0, origin=Origin.MEASURED) for k, v in edits.items()}
    )


def test_pedal_force_for_one_g_gives_one_g():
    found = values(brake_sheet(demo_car("marigold")))
    p = model_parameters(demo_car("marigold"))
    assert found["pedal_force"] / 240.0 * p.brake_force_limit == pytest.approx(p.mass * p.gravity, rel=1e-9)
    assert found["pedal_force_cold"] > found["pedal_force"]
    assert found["pedal_force"] / found["pedal_force_cold"] == pytest.approx(1 - found["force_lost_cold"], rel=1e-9)


def test_line_pressure_of_the_demo_car():
    # 240 N x 4.1 x 4 in a bore of 22.2 mm: 10.169 MPa (closed form)
    assert values(brake_sheet(demo_car("marigold")))["line_pressure"] == pytest.approx(10.169e6, rel=1e-4)


def test_lighter_discs_get_hotter_and_a_softer_mount_moves_more():
    car = demo_car("marigold")
    lighter = edited("marigold", front__brake__disc_mass=2.3, brakes__mount_stiffness=4.5e6)
    before, after = values(brake_sheet(car)), values(brake_sheet(lighter))
    assert after["front.disc_rise"] == pytest.approx(2 * before["front.disc_rise"], rel=1e-9)
    assert after["mount_travel"] == pytest.approx(2 * before["mount_travel"], rel=1e-9)
    assert after["pedal_force"] == before["pedal_force"]  # feel is not stopping


def test_the_heat_of_a_run_with_its_stop():
    """From rest to 20 m/s and back to rest within the run, no drag: one stop, whatever the way."""
    car = edited("marigold", body__drag_area=0.3, body__rolling_resistance=0.005)
    elapsed = np.linspace(0.0, 10.0, 1001)
    run = DrivenRun(name="up and down", elapsed=elapsed, speed=20.0 - 2.0 * elapsed)
    whole = values(brake_sheet(car, run=run))["run_energy"]
    half = DrivenRun(name="up and half down", elapsed=elapsed[:501], speed=run.speed[:501])
    p = model_parameters(car)
    stop = stop_energy(20.0, 0.0, mass=turning_mass(p))
    assert 0.93 * stop < whole < stop  # drag and rolling resistance take some of it
    assert whole < values(brake_sheet(car, run=half))["run_energy"] < stop  # the rest as a stop behind the finish


def test_cold_pads_that_leave_too_much_to_the_rear_are_found():
    assert brake_sheet(demo_car("marigold")).findings == ()
    (finding,) = brake_sheet(edited("marigold", front__brake__pad_friction_cold=0.30)).findings
    assert (finding.severity, finding.code) == ("stop", "rear-locks-first")
    assert "cold pads" in finding.message


def test_a_car_without_parts_still_has_its_lock_order():
    sheet = brake_sheet(demo_car("boulder"))
    assert "pedal_force" not in values(sheet)
    assert any("car file" in note for note in sheet.notes)
    shares = np.array([row for _, row in sheet.table.rows])
    assert (shares[:, 0] > shares[:, 1]).all()
    assert np.all(np.diff(shares[:, 2]) > 0)


def test_rows_in_which_the_rear_goes_first_say_so():
    labels = [name for name, _ in brake_sheet(edited("pepper", brakes__front_share=0.75)).table.rows]
    assert "rear first" not in labels[0]
    assert "rear first" in labels[-1]
