"""Laying changes on and taking them off again gives back the very same car, whatever the order and the times."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from conewise.cars.car_file import car_of
from conewise.cars.change import Change, Edit, MovedMass, changed_car
from conewise.cars.setup import car_on
from conewise.cars.setup_file import begun, history_of, with_entry, with_undone
from conewise.cars.toml_file import Table, read_toml
from conewise.quantities import Origin, Sourced
from tests.cars import DEMO, DEMO_NAMES

START = datetime(2026, 3, 1)  # noqa: DTZ001  # the clock where the car is
NUMBERS = {
    "front.camber": -0.01, "rear.toe": 0.001, "front.spring_rate": 4e3, "rear.damping": 300.0,
    "front.bar_diameter": 0.001, "mass.total": 12.0, "front.wheel.offset": 0.005, "engine.torque_scale": 0.03,
    "body.cg_height": -0.01,
}  # fmt: skip


def random_change(rng, k, car):
    name = str(rng.choice([n for n in NUMBERS if n in car.values]))
    action = str(rng.choice(["set", "add", "scale"]))
    step = NUMBERS[name] * float(rng.uniform(-1, 1))
    value = {"set": car.value(name) + step, "add": step, "scale": float(rng.uniform(0.95, 1.05))}[action]
    amount = Sourced(value=value, uncertainty=abs(step) / 10, origin=Origin.SPEC_SHEET)
    masses = ()
    if rng.uniform() < 0.3:
        place = {"position": float(rng.uniform(0, 1)), "height": float(rng.uniform(0, 0.8))}
        masses = (MovedMass(mass=replace(amount, value=float(rng.uniform(-5, 5))), **place),)
    edits = (Edit(fields=(name,), action=action, value=amount),)
    if rng.uniform() < 0.2:
        edits += (Edit(fields=("rear.tyre.size",), action="set", value="225/45R17 91W"),)
    return Change(name=f"change {k}", edits=edits, masses=masses)


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_what_is_taken_back_leaves_the_very_same_car(rng, name):
    path = DEMO / f"{name}.toml"
    base = car_of(read_toml(path))
    text = begun(path)
    changes = [random_change(rng, k, base) for k in range(8)]
    days = rng.permutation(8)
    for change, day in zip(changes, days, strict=True):
        text = with_entry(text, change, START + timedelta(days=int(day)))
    for number in rng.permutation(8) + 1:
        text = with_undone(text, int(number), START + timedelta(days=20 + int(number)), file="x")
    past = history_of(Table.of_text(text, file=""))

    assert car_on(base, past, START - timedelta(seconds=1)) == base
    assert car_on(base, past, START + timedelta(days=40)) == base
    everything = base
    for k in sorted(range(8), key=lambda k: days[k]):
        everything = changed_car(everything, changes[k])
    assert car_on(base, past, START + timedelta(days=10)) == everything
    for when in past.times():
        assert car_on(base, past, when) == car_on(base, past, when + timedelta(minutes=1))
        assert past.label(when) != past.label(when - timedelta(seconds=1))


def test_one_label_is_one_car(rng):
    path = DEMO / "boulder.toml"
    base = car_of(read_toml(path))
    text = begun(path)
    for k in range(5):
        text = with_entry(text, random_change(rng, k, base), START + timedelta(days=int(rng.integers(0, 3))))
    for number in (2, 4):
        text = with_undone(text, number, START + timedelta(days=int(rng.integers(4, 6))), file="x")
    past = history_of(Table.of_text(text, file=""))
    cars = {}
    for hours in range(-12, 24 * 8, 12):
        when = START + timedelta(hours=hours)
        assert cars.setdefault(past.label(when), car_on(base, past, when)) == car_on(base, past, when)
    assert cars["0"] == base
