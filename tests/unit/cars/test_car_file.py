"""Car files: what is read, and every kind of bad input with its place."""

import re

import pytest

from conewise.cars.car import DifferentialKind, TransmissionKind, field_names
from conewise.cars.car_file import read_car
from conewise.cars.toml_file import CarFieldError, CarFileMissingError, NotACarFileError
from conewise.cars.tyre_size import TyreCodeError, WheelCodeError
from conewise.errors import InputError
from conewise.quantities import Origin, UnitError
from conewise.records import Record
from conewise.toml_source import TomlSyntaxError
from tests.cars import DEMO, DEMO_NAMES, demo_car

PLAIN = """\
name = "Plain"
kind = "roadster"

[mass]
total = "1000 kg"

[front.tyre]
size = "195/50R15 82V"
"""


@pytest.fixture
def car(tmp_path):
    """Reads a car from a text, or from the plain one with lines added."""

    def read(text=None, *, more=""):
        path = tmp_path / "car.toml"
        path.write_bytes((text if text is not None else PLAIN + more).encode())
        return read_car(path)

    return read


def test_kind_mass_and_tyre_are_enough(car):
    plain = car()
    assert plain.drive == "rear"
    assert plain.value("mass.total") == 1000.0
    assert plain.values["mass.total"].origin is Origin.SPEC_SHEET
    assert plain.values["body.wheelbase"].origin is Origin.TYPICAL
    assert plain.values["front.tyre.friction"].origin is Origin.ESTIMATED
    assert plain.values["rear.tyre.section_width"] == plain.values["front.tyre.section_width"]
    assert plain.transmission.kind is TransmissionKind.MANUAL
    assert plain.rear.differential.kind is DifferentialKind.OPEN


def test_an_uncertainty_and_an_origin_are_kept(car):
    read = car(more='[body]\ncg_height = { value = "45 cm", uncertainty = "1 cm", origin = "measured" }\n')
    value = read.values["body.cg_height"]
    assert (value.value, value.uncertainty, value.origin) == (0.45, 0.01, Origin.MEASURED)
    read = car(more='[body]\ncg_height = ["45 cm", "2 cm"]\n')
    assert read.values["body.cg_height"].uncertainty == 0.02
    assert read.values["body.cg_height"].origin is Origin.SPEC_SHEET


@pytest.mark.parametrize(("origin", "share"), [("measured", 0.2), ("spec sheet", 0.5), ("typical", 2.0)])
def test_without_an_uncertainty_the_origin_decides(car, origin, share):
    read = car(more=f'[steering]\nratio = {{ value = 15, origin = "{origin}" }}\n')
    assert read.values["steering.ratio"].uncertainty == pytest.approx(share * 0.05 * 15)


def test_a_typical_value_that_somebody_states_stays(car):
    read = car(more='friction = { value = 1.2, origin = "typical" }\ntreadwear = 300\n')
    assert read.value("front.tyre.friction") == 1.2
    from conewise.cars.typical import numbers

    assert numbers(read)["front.tyre.friction"] == 1.2


def test_corner_weights_with_the_driver_in_the_car(car):
    scales = 'corners = ["281 kg", "278 kg", "262 kg", "259 kg"]\nwith_driver = true\n'
    read = car(PLAIN.replace('total = "1000 kg"', f'{scales}driver = "78 kg"\ndriver_position = 0.56\n'))
    assert read.value("mass.total") == pytest.approx(1080 - 78)
    # moments about the rear axle: 559 kg on the front wheels less the driver's 0.44
    assert read.value("mass.front_share") == pytest.approx((559 - 78 * 0.44) / 1002, rel=1e-12)
    assert read.value("mass.cross_weight") == pytest.approx((278 + 262) / 1080, rel=1e-12)
    assert read.values["mass.total"].origin is Origin.MEASURED


def test_axle_weights(car):
    read = car(PLAIN.replace('total = "1000 kg"', 'axles = ["1100 lb", "1000 lb"]'))
    assert read.value("mass.total") == pytest.approx(2100 * 0.45359237)
    assert read.value("mass.front_share") == pytest.approx(11 / 21)


def test_a_power_curve_is_a_torque_curve(car):
    read = car(more='[engine]\npower_curve = [["1000 rpm", "10 kW"], ["3000 rpm", "45 kW"], ["6000 rpm", "90 kW"]]\n')
    assert read.value("engine.torque_curve.3") == pytest.approx(90e3 / (6000 * 3.141592653589793 / 30))
    assert "engine.peak_power" not in read.values


def test_crlf_byte_order_mark_and_utf_8_names(car):
    text = PLAIN.replace("Plain", "Äpfelchen 赤").replace("\n", "\r\n")
    assert car("\ufeff" + text).name == "Äpfelchen 赤"


BAD = {
    "wrong dimension": ('[body]\nwheelbase = "60 psi"\n', UnitError, 10, "body.wheelbase", "unit of pressure"),
    "no unit": ("[steering]\nratio = 15\n[engine]\npeak_power = 90\n", UnitError, 12, "engine.peak_power", "kW"),
    "NaN": ("[body]\nwheelbase = nan\n", UnitError, 10, "body.wheelbase", "finite"),
    "infinity": ("[body]\nwheelbase = inf\n", UnitError, 10, "body.wheelbase", "finite"),
    "negative": ('[front]\nspring_rate = "-30 N/mm"\n', CarFieldError, 10, "front.spring_rate", "zero or more"),
    "millimetres for metres": (
        '[body]\nwheelbase = "2300 m"\n',
        CarFieldError,
        10,
        "body.wheelbase",
        "2300 m; it must be between 0.533 m and 10.2 m",
    ),
    "a share above one": ("[transmission]\nefficiency = 1.2\n", CarFieldError, 10, "efficiency", "between 0.25 and 1"),
    "pads like glue": (
        "[front.brake]\npad_friction = 4\n",
        CarFieldError,
        10,
        "front.brake.pad_friction",
        "between 0.0667 and 0.9",
    ),
    "a far too wide offset": (
        '[front.wheel]\noffset = "38 cm"\nsize = "15x7"\n[rear.wheel]\noffset = "38 m"\n',
        CarFieldError,
        13,
        "rear.wheel.offset",
        "between -400 mm and 400 mm",
    ),
    "a curve for a ship": (
        '[engine]\ntorque_curve = [["1000 rpm", "90 N m"], ["2000 rpm", "150000 N m"], ["3000 rpm", "120 N m"]]\n',
        CarFieldError,
        10,
        "engine.torque_curve",
        "150000 N m",
    ),
    "a curve for a turbine": (
        '[engine]\ntorque_curve = [["1000 rpm", "90 N m"], ["2000 rpm", "150 N m"], ["3e6 rpm", "120 N m"]]\n',
        CarFieldError,
        10,
        "engine.torque_curve",
        "no engine turns at 3e6 rpm",
    ),
    "zero friction": ("friction = 0\n", CarFieldError, 9, "front.tyre.friction", "more than zero"),
    "unknown key": ('[front]\nspringrate = "30 N/mm"\n', CarFieldError, 10, "front.springrate", "spring_rate"),
    "unknown table": ("[frnt]\ntrack = 1.4\n", CarFieldError, 9, "frnt", "front"),
    "tyre code": ('[rear.tyre]\nsize = "205-50-15"\n', TyreCodeError, 10, "rear.tyre.size", "205/50R15"),
    "impossible tyre": ('[rear.tyre]\nsize = "955/50R15"\n', TyreCodeError, 10, "rear.tyre.size", "125 to 375"),
    "wheel code": ('[rear.wheel]\nsize = "nice ones"\n', WheelCodeError, 10, "rear.wheel.size", "18x9.5 +38"),
    "kind of differential": (
        '[rear.differential]\nkind = "limited slip"\n',
        CarFieldError,
        10,
        "rear.differential.kind",
        "limited-slip",
    ),
    "unsorted torque curve": (
        '[engine]\ntorque_curve = [["1000 rpm", "90 N m"], ["3000 rpm", "150 N m"], ["2000 rpm", "120 N m"]]\n',
        CarFieldError,
        10,
        "engine.torque_curve",
        "Sort the points",
    ),
    "same speed twice": (
        '[engine]\ntorque_curve = [["1000 rpm", "90 N m"], ["1000 rpm", "150 N m"], ["2000 rpm", "120 N m"]]\n',
        CarFieldError,
        10,
        "engine.torque_curve",
        "each speed once",
    ),
    "two points": (
        '[engine]\ntorque_curve = [["1000 rpm", "90 N m"], ["2000 rpm", "150 N m"]]\n',
        CarFieldError,
        10,
        "engine.torque_curve",
        "three or more",
    ),
    "negative torque": (
        '[engine]\ntorque_curve = [["1000 rpm", "90 N m"], ["2000 rpm", "-5 N m"], ["3000 rpm", "9 N m"]]\n',
        CarFieldError,
        10,
        "engine.torque_curve",
        "no less than zero",
    ),
    "power at rest": (
        '[engine]\npower_curve = [["0 rpm", "0 kW"], ["2000 rpm", "30 kW"], ["3000 rpm", "50 kW"]]\n',
        CarFieldError,
        10,
        "engine.power_curve",
        "zero engine speed",
    ),
    "gears in the wrong order": (
        "[transmission]\ngears = [1.0, 2.0]\n",
        CarFieldError,
        10,
        "transmission.gears",
        "from first gear up",
    ),
    "nine gears": ("[transmission]\ngears = [9,8,7,6,5,4,3,2,1]\n", CarFieldError, 10, "transmission.gears", "eight"),
    "text for a flag": ('[brakes]\nabs = "yes"\n', CarFieldError, 10, "brakes.abs", "true or false"),
    "unknown origin": (
        '[steering]\nratio = { value = 15, origin = "guessed" }\n',
        CarFieldError,
        10,
        "steering.ratio",
        "spec sheet",
    ),
    "unknown key of a value": (
        "[steering]\nratio = { value = 15, sd = 1 }\n",
        CarFieldError,
        10,
        "steering.ratio",
        "uncertainty",
    ),
}


@pytest.mark.parametrize(("more", "error", "line", "name", "words"), BAD.values(), ids=BAD)
def test_bad_input_names_file_line_and_field(car, more, error, line, name, words):
    with pytest.raises(error) as caught:
        car(more=more)
    assert re.search(rf"car\.toml, line {line}\b", caught.value.where)
    assert name in caught.value.where + caught.value.message
    assert words in caught.value.message + caught.value.hint
    assert caught.value.exit_code == 2
    assert caught.value.hint


def test_a_negative_mass_names_file_line_and_field(car):
    with pytest.raises(CarFieldError, match="more than zero") as caught:
        car(PLAIN.replace("1000 kg", "-1000 kg"))
    assert caught.value.where.endswith("car.toml, line 5, mass.total")


def test_a_list_for_a_table_is_refused(car):
    with pytest.raises(CarFieldError, match="a table is wanted") as caught:
        car('brakes = [1]\nkind = "sedan"\n')
    assert "line 1" in caught.value.where


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (b"  \n\t\n", "empty"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x01", "photo"),
        (b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + bytes(range(256)), "photo"),
        (b'name = "\xe4"\n', "UTF-8"),
        (b"x" * 2_000_001, "2 MB"),
    ],
)
def test_what_is_no_car_file_is_said(tmp_path, content, words):
    path = tmp_path / "car.toml"
    path.write_bytes(content)
    with pytest.raises(NotACarFileError, match=words) as caught:
        read_car(path)
    assert "car.toml" in caught.value.where


@pytest.mark.parametrize("content", ["kind = roadster\n", "name = 'x'\nkind = 'roadster'\nkind = 'sedan'\n"])
def test_what_is_no_toml_is_said_with_its_line(tmp_path, content):
    path = tmp_path / "car.toml"
    path.write_text(content)
    with pytest.raises(TomlSyntaxError, match="TOML") as caught:
        read_car(path)
    assert caught.value.where == f"{path}, line {content.count(chr(10))}"


def test_a_missing_file_is_told_its_neighbours(tmp_path):
    (tmp_path / "other.toml").write_text(PLAIN)
    with pytest.raises(CarFileMissingError) as caught:
        read_car(tmp_path / "car.toml")
    assert "other.toml" in caught.value.hint
    assert caught.value.exit_code == 3


def test_a_folder_is_called_one_and_told_its_files(tmp_path):
    (tmp_path / "other.toml").write_text(PLAIN)
    with pytest.raises(CarFileMissingError, match="is a folder") as caught:
        read_car(tmp_path)
    assert "other.toml" in caught.value.hint


def test_a_missing_or_unknown_kind_is_told_the_kinds(car):
    with pytest.raises(CarFieldError) as caught:
        car('name = "x"\n')
    assert "roadster" in caught.value.hint
    with pytest.raises(CarFieldError, match="rodster") as caught:
        car('kind = "rodster"\n')
    assert "Did you mean 'roadster'" in caught.value.hint


@pytest.mark.parametrize(
    "lines", ['total = "1 t"\naxles = ["1 t", "1 t"]', 'axles = ["1 t"]', 'axles = ["1 t", "0 kg"]']
)
def test_scales_that_contradict(car, lines):
    with pytest.raises(CarFieldError, match="mass"):
        car(PLAIN.replace('total = "1000 kg"', lines))


@pytest.mark.parametrize(
    "lines", ['total = "1 t"\nwith_driver = true', 'total = "120 kg"\ndriver="130 kg"\nwith_driver = true']
)
def test_a_driver_in_the_car_must_be_weighed_and_lighter_than_it(car, lines):
    with pytest.raises(CarFieldError, match="driver"):
        car(PLAIN.replace('total = "1000 kg"', lines))


def test_two_curves_are_one_too_many(car):
    curve = '[["1000 rpm", "90 N m"], ["2000 rpm", "150 N m"], ["3000 rpm", "120 N m"]]'
    with pytest.raises(CarFieldError, match="Both"):
        car(more=f"[engine]\ntorque_curve = {curve}\npower_curve = {curve}\n")


def test_hub_gaps_and_date_code_are_read(car):
    more = 'date_code = "2319"\n[front.hub]\nbolt_pattern = "4x100"\nseat = "ball"\n[front.clearance]\nstrut = "0 mm"\n'
    read = car(more=more)
    assert (read.front.hub.bolt_pattern, read.front.hub.seat, read.front.tyre.date_code) == ("4x100", "ball", "2319")
    assert read.value("front.clearance.strut") == 0.0
    assert (read.front.tyre.speed_symbol, read.rear.tyre.speed_symbol) == ("V", "V")  # told for one axle
    assert read.rear.hub.bolt_pattern == ""  # a rear hub may be another


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ('[front.hub]\nbolt_pattern = "12x100"', "3 to 8"),
        ('[front.hub]\nthread = "12"', "diameter x pitch"),
        ('[front.hub]\nseat = "square"', "seat of the fasteners"),
        ('date_code = "5419"', "no week 54"),
        ('[front.clearance]\nfender = "-3 mm"', "zero or more"),
        ('[front.clearance]\nwing = "3 mm"', "no field"),
    ],
)
def test_bad_hubs_and_gaps_are_refused_with_their_place(car, lines, words):
    with pytest.raises(InputError, match=words) as caught:
        car(more=lines + "\n")
    assert re.search(r"car\.toml, line (9|10), front\.", caught.value.where)


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_the_demo_cars_are_read(name):
    assert demo_car(name).source.endswith(f"{name}.toml")


def test_the_demo_cars_use_every_field_between_them():
    """Every numeric field is given by a demo car, or is one that people rarely can measure (named here)."""
    given = {
        name.replace("rear.", "front.", 1)
        for car in DEMO_NAMES
        for name, value in demo_car(car).values.items()
        if value.origin in {Origin.MEASURED, Origin.SPEC_SHEET}
    }
    tyre_models = {
        "friction_longitudinal", "reference_load", "cornering_coefficient", "stiffness_load", "shape",
        "peak_slip_angle", "slip_stiffness", "best_inclination", "inclination_loss", "spring_rate",
    }  # fmt: skip
    rare = {f"front.tyre.{name}" for name in tyre_models} | {"engine.torque_scale", "front.tyre.friction"}
    wanted = {name.replace("rear.", "front.", 1) for name in field_names()}
    assert wanted - given == rare


def test_a_record_is_checked_again_when_it_changes():
    class Two(Record):
        a: int
        b: int = 1

    assert Two(a=1).changed(b=3) == Two(a=1, b=3)
    with pytest.raises(ValueError, match="a"):
        Two(a=1).changed(a="x")


def test_every_error_of_cars_is_an_input_or_not_found_error():
    assert issubclass(CarFieldError, InputError)
    assert DEMO.is_dir()
