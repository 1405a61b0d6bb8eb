"""What is said of the fit of a change's wheels and tyres, beside its seconds."""

import pytest

from conewise.cars.change import Change, Edit, changed_car
from conewise.quantities import Origin, Sourced
from conewise.workflows.part_fit import fit_findings
from tests.cars import demo_car
from tests.fits import DAY


def findings(field, value):
    car = demo_car("marigold")
    change = Change(name="trial", edits=(Edit(fields=(field,), action="set", value=value),))
    return fit_findings(car, changed_car(car, change), (change,), day=DAY)


def amount(value):
    return Sourced(value=value, uncertainty=0.0, origin=Origin.SPEC_SHEET)


@pytest.mark.parametrize(
    ("field", "value"),
    [("front.tyre.pressure", amount(2.0e5)), ("front.camber", amount(-0.03)), ("front.tyre.age", amount(0.0))],
)
def test_what_leaves_wheel_and_tyre_as_they_are_asks_nothing(field, value):
    assert findings(field, value) == ()


def test_another_tyre_is_asked_about():
    (found,) = findings("front.tyre.size", "205/50R15 86V")
    assert (found.severity, found.code) == ("warning", "fit-open")
    assert "rim width" in found.message
    assert "tyre age" in found.message


def test_a_wheel_that_does_not_fit_is_a_stop():
    assert "stop" in {finding.severity for finding in findings("front.wheel.size", "15x10 -20")}
    assert "rim-diameter" in {finding.code for finding in findings("front.tyre.size", "205/50R16 87V")}


@pytest.mark.parametrize("axle", ["front", "rear"])
def test_only_the_axle_that_is_touched_is_judged(axle):
    places = {finding.where for finding in findings(f"{axle}.wheel.size", "15x10 +28") if finding.severity == "stop"}
    assert places == {axle}
