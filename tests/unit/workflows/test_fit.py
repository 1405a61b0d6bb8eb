"""The whole answer of `fit`: what it weighs, what it leaves open, what a fully known fit needs."""

import datetime as dt

import pytest

from conewise.cars.date_code import DateCodeError
from conewise.cars.fit_case import Candidate, FitState
from conewise.cars.tyre_size import TyreCodeError, WheelCodeError, tyre_size
from conewise.cars.wheel_mounting import Seat, bolt_pattern
from conewise.reports.fit_record import fit_record
from conewise.workflows.fit import FitQuestion, NothingToFitError, answer_fit, write_picture
from tests.cars import DEMO

DAY = dt.date(2026, 11, 26)
MARIGOLD, PEPPER, BOULDER = (DEMO / f"{name}.toml" for name in ("marigold", "pepper", "boulder"))
KNOWN = Candidate(
    bolt_pattern=bolt_pattern("4x100"),
    bore=0.0541,
    seat=Seat.CONE,
    turns=9.0,
    load_rating=500.0,
    rims=(0.14, 0.22),
    gaps=dict.fromkeys(("strut", "fender", "full_lock", "full_bump", "caliper"), 0.009),
)


def fit(car=MARIGOLD, **asked):
    return answer_fit(FitQuestion(car=car, **asked), day=DAY)


def test_all_known_and_fitting_is_cleared():
    answer = fit(wheel="15x8 +25", tyre="205/50R15 89V", made="1226", candidate=KNOWN)
    assert [item.code for item in answer.items if item.state is not FitState.FITS] == []
    assert (answer.fits, answer.is_cleared, answer.exit_code) == (True, True, 0)


@pytest.mark.parametrize("left_out", ["bolt_pattern", "bore", "seat", "turns", "load_rating", "rims", "gaps"])
def test_one_unknown_is_enough_to_say_no(left_out):
    from dataclasses import replace

    empty = {} if left_out == "gaps" else None
    answer = fit(wheel="15x8 +25", tyre="205/50R15 89V", made="1226", candidate=replace(KNOWN, **{left_out: empty}))
    assert (answer.is_cleared, answer.exit_code) == (False, 10)
    assert answer.fits


def test_sizes_alone_never_clear_a_wheel():
    answer = fit(PEPPER, wheel="16x7 +40", tyre="205/50R16 87V")
    assert answer.exit_code == 10
    assert answer.n_questions_open >= 10
    record = fit_record(answer)
    assert (record["ok"], record["fits"], record["n_open"]) == (False, True, answer.n_questions_open)


def test_shifts_diameter_and_gearing_in_closed_form():
    answer = fit(BOULDER, wheel="18x9.5 +38", tyre="255/35R18 94Y")
    record = fit_record(answer)
    assert record["diameter_mm"] == pytest.approx(18 * 25.4 + 2 * 255 * 0.35)
    assert (record["outer_shift_mm"], record["inner_shift_mm"]) == pytest.approx((0.0, 0.0), abs=1e-9)
    ratio = tyre_size("255/35R18").diameter / tyre_size("265/35R18").diameter
    assert record["speedometer_pct"] == pytest.approx(100 * (ratio - 1), abs=1e-6)
    for gear in answer.gears:
        assert gear.after / gear.before == pytest.approx(ratio)
    assert record["axles"]["front"]["revolutions_per_km"] == pytest.approx(1e6 / (3.141592653589793 * 635.7))


def test_the_speedometer_follows_the_driven_axle():
    assert fit(tyre="205/55R15 88V", axles=("front",)).speedometer == pytest.approx(0.0)
    taller = tyre_size("205/55R15").diameter / tyre_size("205/50R15").diameter - 1
    assert fit(tyre="205/55R15 88V", axles=("rear",)).speedometer == pytest.approx(taller)


def test_a_spacer_alone():
    answer = fit(spacer=0.015, axles=("front",))
    front = answer.axles[0]
    assert front.shift.track == pytest.approx(2 * 0.010)  # 5 mm are on
    assert {item.code for item in answer.in_state(FitState.NO)} >= {"thread-engagement"}
    assert front.wheel_mass.sd == 0.0


def test_a_weighed_wheel_is_sure_and_an_estimated_one_is_not():
    weighed = fit(wheel="15x8 +28", tyre="205/50R15 86V", mass=14.0).axles[0]
    assert (weighed.wheel_mass.after, weighed.wheel_mass.sd) == (14.0, 0.0)
    assert weighed.wheel_inertia.share == pytest.approx(14.0 / 15.2 - 1)  # the radius of gyration stays
    guessed = fit(wheel="15x8 +28", tyre="225/45R15 87V").axles[0]
    assert guessed.wheel_mass.sd > 0.05 * guessed.wheel_mass.after


def test_the_wider_tyre_is_stiffer_and_its_gain_is_uncertain():
    front = fit(tyre="225/45R15 87V").axles[0]
    assert front.stiffness.share > 0
    assert front.friction.share_sd >= 0.049  # another make of the same size and grade


def test_a_grade_of_another_band_moves_the_friction():
    same, other = (fit(BOULDER, tyre="265/35R18 97Y", treadwear=grade).axles[0].friction for grade in (180, 340))
    assert same.share == pytest.approx(0.0, abs=0.005)
    assert other.share == pytest.approx(0.98 / 1.11 - 1, abs=0.01)  # bands 200 and 300 to 400


def test_a_wheel_without_an_offset_is_refused():
    with pytest.raises(WheelCodeError, match="offset is missing") as caught:
        fit(wheel="15x8")
    assert "15x8 +35" in caught.value.hint


def test_bad_questions():
    with pytest.raises(NothingToFitError):
        fit()
    with pytest.raises(TyreCodeError, match="flotation"):
        fit(tyre="33x12.5R15")
    with pytest.raises(DateCodeError, match="lies after 2026-11-26"):
        fit(tyre="205/50R15 86V", made="5226")
    with pytest.raises(WheelCodeError, match="in inches"):
        fit(wheel='15x8 1"')


def test_the_tyre_that_stays_keeps_its_date():
    items = {item.axle: item for item in fit(wheel="15x8 +20").items if item.code == "tyre-age"}
    assert "week 23 of 2024" in items["front"].message


def test_unequal_axles_of_an_all_wheel_drive_are_found():
    answer = fit(BOULDER, tyre="285/45R18 99Y", axles=("front",))
    assert "unequal-radii" in {finding.code for finding in answer.all_findings}


def test_a_picture_is_written(tmp_path):
    answer = fit(wheel="15x9 +20", tyre="225/45R15 87V")
    write_picture(answer, tmp_path / "fit.svg")
    assert (tmp_path / "fit.svg").read_text(encoding="utf-8").startswith("<svg")
