"""Set-up histories in TOML: what is read, what is refused, and that adding leaves every line in place."""

from datetime import date, datetime

import pytest

from conewise.cars.car_file import read_car
from conewise.cars.change import Change, Edit, MovedMass
from conewise.cars.setup_file import EntryMissingError, begun, exact_text, history_of, moment, with_entry, with_undone
from conewise.cars.toml_file import CarFieldError, CarFileMissingError, Table
from conewise.quantities import Origin, Sourced, in_unit, parse
from tests.cars import DEMO

AT = datetime(2026, 5, 2, 9, 30)  # noqa: DTZ001  # the clock where the car is
LATER = datetime(2026, 5, 3, 18, 0)  # noqa: DTZ001

HAND_WRITTEN = """\
setup_of = "marigold.toml"   # mine

[[entry]]   # the first one
name = "camber"
at = 2026-04-01
edit = [{ field = "front.camber", set = "-2.5 deg" }]

# a remark between
[[entry]]
name = "bar"
at = 2026-04-02T08:00:00
undone = 2026-04-02T12:00:00
[[entry.edit]]
field = "front.bar_diameter"
add = "1 mm"
"""


def read(text):
    return history_of(Table.of_text(text, file="marigold.setup.toml"))


def amount(value, uncertainty=0.0):
    return Sourced(value=value, uncertainty=uncertainty, origin=Origin.SPEC_SHEET)


def test_a_history_by_hand_is_read():
    past = read(HAND_WRITTEN)
    assert (past.base, past.digest) == ("marigold.toml", "")
    assert [e.number for e in past.entries] == [1, 2]
    assert past.entries[0].at == datetime(2026, 4, 1)  # noqa: DTZ001
    assert past.entries[1].undone == datetime(2026, 4, 2, 12)  # noqa: DTZ001


def test_adding_and_undoing_leave_every_line_in_place():
    change = Change(
        name='a "quoted" name',
        kind="bar",
        note="back\\slash",
        edits=(
            Edit(fields=("front.camber", "rear.camber"), action="add", value=amount(-0.01, 0.002)),
            Edit(fields=("rear.damping",), action="scale", value=amount(1.1)),
            Edit(fields=("brakes.abs",), action="set", value=True),
            Edit(fields=("front.tyre.size",), action="set", value="205/50R15 86V"),
        ),
        masses=(MovedMass(mass=amount(-7.3, 0.4), position=1.05, height=0.0, lateral=-0.2),),
    )
    text = with_entry(HAND_WRITTEN, change, AT)
    assert text.startswith(HAND_WRITTEN)
    added = read(text).entries[2]
    assert added.at == AT
    assert added.change.changed(source="") == change
    undone = with_undone(text, 3, LATER, file="x")
    assert [
        line for line in undone.splitlines() if not line.startswith(f"undone = {LATER.isoformat()}")
    ] == text.splitlines()
    assert read(undone).entries[2].undone == LATER
    first = with_undone(text, 1, LATER, file="x")
    assert read(first).entries[0].undone == LATER
    assert read(first).entries[2] == added.changed(change=added.change)


BAD = {
    "no time": ('setup_of = "a.toml"\n[[entry]]\nname = "x"\n', "time of the entry is missing"),
    "a zone": ('setup_of = "a.toml"\n[[entry]]\nname = "x"\nat = 2026-05-02T10:00:00Z\n', "a date and a time"),
    "a word": ('setup_of = "a.toml"\n[[entry]]\nname = "x"\nat = "noon"\n', "a date and a time"),
    "backwards": (HAND_WRITTEN.replace("T12:00", "T07:00"), "not after"),
    "nothing": ('setup_of = "a.toml"\n[[entry]]\nname = "x"\nat = 2026-05-02\n', "changes nothing"),
    "unknown": (HAND_WRITTEN + "until = 3\n", "no field"),
    "no car": ("setup_of = 3\n", "a line of text"),
}


@pytest.mark.parametrize(("text", "words"), BAD.values(), ids=BAD)
def test_bad_histories_are_refused(text, words):
    with pytest.raises(CarFieldError, match=words) as caught:
        read(text)
    assert "marigold.setup.toml, line" in caught.value.where


def test_undoing_twice_or_nothing_is_refused():
    with pytest.raises(CarFieldError, match="was undone on 2026-04-02 12:00"):
        with_undone(HAND_WRITTEN, 2, LATER, file="x")
    with pytest.raises(EntryMissingError, match="no entry 3"):
        with_undone(HAND_WRITTEN, 3, LATER, file="x")
    with pytest.raises(CarFieldError, match="not after"):
        with_undone(HAND_WRITTEN, 1, datetime(2026, 3, 1), file="x")  # noqa: DTZ001


def test_a_history_is_a_car(tmp_path):
    (tmp_path / "marigold.toml").write_text((DEMO / "marigold.toml").read_text())
    past = tmp_path / "marigold.setup.toml"
    past.write_text(HAND_WRITTEN)
    assert read_car(past).value("front.camber") == pytest.approx(parse("-2.5 deg", "angle", where=""))
    assert read_car(past).value("front.bar_diameter") == read_car(tmp_path / "marigold.toml").value(
        "front.bar_diameter"
    )


def test_a_history_of_no_car_or_of_another_history_is_refused(tmp_path):
    past = tmp_path / "marigold.setup.toml"
    past.write_text(HAND_WRITTEN)
    with pytest.raises(CarFileMissingError):
        read_car(past)
    (tmp_path / "marigold.toml").write_text(HAND_WRITTEN)
    with pytest.raises(CarFieldError, match="set-up history, not a car"):
        read_car(past)


def test_a_new_history_names_its_car():
    past = read(begun(DEMO / "pepper.toml"))
    assert past.base == "pepper.toml"
    assert len(past.digest) == 16
    assert past.entries == ()


@pytest.mark.parametrize("unit", ["m", "mm", "in", "ft"])
def test_numbers_are_written_so_that_they_come_back(rng, unit):
    for value in rng.lognormal(size=200):
        assert parse(exact_text(float(value), "length", unit), "length", where="") == value
    assert exact_text(0.027, "length", "mm") == "27 mm"
    assert in_unit(0.0254, "length", "in") == 1.0


def test_moments():
    assert moment("2026-05-02 10:15") == datetime(2026, 5, 2, 10, 15)  # noqa: DTZ001
    assert moment(date(2026, 5, 2)) == datetime(2026, 5, 2)  # noqa: DTZ001
    assert moment("2026-05-02T10:15+02:00") is None
    assert moment(3) is None
