"""The Magic Formula against published coefficient sets; see CITATION.md."""

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from conewise.vehicle.motion import tyres
from conewise.vehicle.tyre_force import (
    cornering_stiffness,
    lateral_force,
    lateral_share,
    load_factor,
    magic_formula,
    peak_slip,
)
from tests.model_cars import textbook

HERE = Path(__file__).parent


def rows(name):
    with (HERE / name).open(encoding="utf-8") as file:
        return [{k: v if k == "force" else float(v) for k, v in row.items()} for row in csv.DictReader(file)]


BY_LOAD = rows("by_load.csv")
FIT = {row["force"]: row for row in rows("load_fit.csv")}
(FULL,) = rows("full_set.csv")


def of(force):
    return [row for row in BY_LOAD if row["force"] == force]


def factors(row):
    return {name: row[name] for name in "BCDE"}


@pytest.mark.parametrize("row", BY_LOAD, ids=lambda r: f"{r['force']} {r['load_kn']:.0f} kN")
def test_the_slope_at_the_origin_is_bcd(row):
    slope = (magic_formula(1e-6, **factors(row)) - magic_formula(-1e-6, **factors(row))) / 2e-6
    assert slope == pytest.approx(row["B"] * row["C"] * row["D"], rel=1e-8)
    assert slope == pytest.approx(row["BCD"], rel=2e-3)  # factors have 3 digits


@pytest.mark.parametrize(
    ("force", "slip", "expected"),
    [
        ("Fy", 5.0, (1890.0, 3310.7, 4459.6, 4789.5)),
        ("Fx", 10.0, (2188.7, 4234.5, 6086.4, 7678.6)),
        ("Fx", 100.0, (1648.2, 2768.9, 4087.2, 4651.8)),
    ],
)
def test_forces_of_the_table_without_shifts(force, slip, expected):
    found = [magic_formula(slip, **factors(row)) for row in of(force)]
    assert found == pytest.approx(expected, abs=0.1)  # the values have one decimal


def test_side_forces_of_the_table_with_shifts():
    found = [magic_formula(5.0 + row["Sh"], **factors(row)) + row["Sv"] for row in of("Fy")]
    assert found == pytest.approx((1751.7, 3144.6, 4219.6, 4641.2), abs=0.1)


@pytest.mark.parametrize(
    ("force", "expected"), [("Fy", (0.968, 0.9125, 0.8728, 0.8346)), ("Fx", (1.0965, 1.0590, 1.0150, 0.9639))]
)
def test_peak_friction_falls_with_load(force, expected):
    found = [row["D"] / row["load_kn"] / 1e3 for row in of(force)]
    assert found == pytest.approx(expected, abs=1e-4)
    assert np.all(np.diff(found) < 0.0)


def fitted(force, load):
    a = FIT[force]
    D = a["a1"] * load**2 + a["a2"] * load
    stiffness = (
        a["a3"] * np.sin(a["a4"] * np.arctan(a["a5"] * load))
        if force == "Fy"
        else (a["a3"] * load**2 + a["a4"] * load) * np.exp(-a["a5"] * load)
    )
    E = a["a6"] * load**2 + a["a7"] * load + a["a8"]
    return {"B": stiffness / (a["C"] * D), "C": a["C"], "D": D, "E": E}


LOADS = np.array([2.0, 4.0, 6.0, 8.0])


@pytest.mark.parametrize(
    ("force", "slip", "expected"),
    [
        ("Fy", 5.0, (1828.90, 3389.60, 4409.00, 4821.91)),
        ("Fx", 10.0, (2191.82, 4234.44, 6090.57, 7736.34)),
        ("Mz", 5.0, (-3.18, -33.31, -99.09, -190.42)),
    ],
)
def test_forces_of_the_load_fit(force, slip, expected):
    assert magic_formula(slip, **fitted(force, LOADS)) == pytest.approx(expected, abs=0.01)  # two decimals


@pytest.mark.parametrize(
    ("force", "slips", "friction"),
    [
        ("Fy", (9.346, 9.351, 10.824, 12.777), (0.9668, 0.9226, 0.8784, 0.8342)),
        ("Fx", (11.857, 10.348, 9.181, 8.135), (1.1014, 1.0588, 1.0162, 0.9736)),
    ],
)
def test_peaks_of_the_load_fit(force, slips, friction):
    factors = fitted(force, LOADS)
    at = peak_slip(factors["C"], factors["E"]) / factors["B"]
    assert at == pytest.approx(slips, abs=0.01)
    assert magic_formula(at, **factors) / LOADS / 1e3 == pytest.approx(friction, abs=1e-4)


NEWTONS = np.array([2000.0, 4000.0, 6000.0])


def longitudinal(kappa):
    p, relative = FULL, (NEWTONS - 4000.0) / 4000.0
    slip = kappa + p["pHx1"] + p["pHx2"] * relative
    D = (p["pDx1"] + p["pDx2"] * relative) * NEWTONS
    stiffness = NEWTONS * (p["pKx1"] + p["pKx2"] * relative) * np.exp(p["pKx3"] * relative)
    E = (p["pEx1"] + p["pEx2"] * relative + p["pEx3"] * relative**2) * (1.0 - p["pEx4"] * np.sign(slip))
    shift = NEWTONS * (p["pVx1"] + p["pVx2"] * relative)
    return magic_formula(slip, B=stiffness / (p["pCx1"] * D), C=p["pCx1"], D=D, E=E) + shift, stiffness


def lateral(alpha):
    p, relative = FULL, (NEWTONS - 4000.0) / 4000.0
    slip = alpha + p["pHy1"] + p["pHy2"] * relative
    D = (p["pDy1"] + p["pDy2"] * relative) * NEWTONS
    stiffness = p["pKy1"] * 4000.0 * np.sin(2.0 * np.arctan(NEWTONS / (p["pKy2"] * 4000.0)))
    E = (p["pEy1"] + p["pEy2"] * relative) * (1.0 - p["pEy3"] * np.sign(slip))
    shift = NEWTONS * (p["pVy1"] + p["pVy2"] * relative)
    return magic_formula(slip, B=stiffness / (p["pCy1"] * D), C=p["pCy1"], D=D, E=E) + shift, stiffness


def test_longitudinal_force_of_the_full_set():
    force, stiffness = longitudinal(0.10)
    assert force == pytest.approx((2275.62, 4642.13, 7020.22), abs=0.01)
    assert longitudinal(-0.10)[0] == pytest.approx((-2315.77, -4681.08, -7039.03), abs=0.01)
    assert stiffness == pytest.approx((38204.3, 86040.0, 145326.3), abs=0.1)


def test_side_force_of_the_full_set():
    force, stiffness = lateral(np.radians(5.0))
    assert force == pytest.approx((-1670.05, -3078.58, -4084.00), abs=0.01)
    assert lateral(-np.radians(5.0))[0] == pytest.approx((1815.35, 3287.49, 4276.64), abs=0.01)
    assert stiffness == pytest.approx((-26608.87, -46009.14, -56302.88), abs=0.01)


def test_the_model_has_the_stiffness_curve_of_the_full_set():
    # K = pKy1 F0 sin(2 atan(F / (pKy2 F0))) is the model's own form
    tyre = replace(tyres(textbook())[0], reference_load=4000.0, stiffness_peak=14.95, stiffness_load=2.130)
    assert cornering_stiffness(NEWTONS, tyre) == pytest.approx((26608.87, 46009.14, 56302.88), abs=0.01)


def test_the_model_without_shifts_is_the_full_set_without_shifts():
    # ISO signs differ; asymmetry and shifts are what the model leaves out
    p, relative = FULL, (NEWTONS - 4000.0) / 4000.0
    tyre = replace(
        tyres(textbook())[0],
        reference_load=4000.0,
        stiffness_peak=14.95,
        stiffness_load=2.130,
        shape=p["pCy1"],
        curvature=p["pEy1"] + p["pEy2"] * relative,
    )
    friction = -(p["pDy1"] + p["pDy2"] * relative)
    alpha = np.radians(5.0)
    D = friction * NEWTONS
    stiffness = cornering_stiffness(NEWTONS, tyre)
    published = magic_formula(alpha, B=stiffness / (tyre.shape * D), C=tyre.shape, D=D, E=tyre.curvature)
    assert lateral_force(alpha, NEWTONS, friction, tyre) == pytest.approx(published, rel=0.02)  # 50 N soften the load


def test_friction_ellipse():
    # sqrt(1 - u^2): 0.95394, 0.80000, 0.60000
    assert lateral_share(np.array([0.3, 0.6, 0.8])) == pytest.approx(
        (0.95394, 0.8, 0.6), abs=1e-4
    )  # rounded at the end


def test_load_sensitivity_as_a_power_law():
    # figure 2.9: 900 lbf 1.10, 1350 lbf 1.08, 1800 lbf 0.97, so F ~ load^0.827; the published range is 0.7 to 0.9
    loads, friction = np.array([900.0, 1350.0, 1800.0]), np.array([1.10, 1.08, 0.97])
    exponent = np.polyfit(np.log(loads), np.log(loads * friction), 1)[0]
    assert exponent == pytest.approx(0.827, abs=5e-4)
    tyre = replace(tyres(textbook())[0], reference_load=1350.0, load_sensitivity=1.0 - exponent)
    near = 1350.0 * np.array([0.99, 1.01])
    slope = np.diff(np.log(near * load_factor(near, tyre)))[0] / np.diff(np.log(near))[0]
    assert slope == pytest.approx(exponent, abs=1e-3)


def test_linear_load_sensitivity_of_an_axle():
    # mu = a - b F: a pair at F -+ dF loses b dF^2 / (F (a - b F)); a 1.2, b 4e-5 / N, 3250 -+ 1500 N: 2.588%
    a, b, load, moved = 1.2, 4e-5, 3250.0, 1500.0
    assert b * moved**2 / (load * (a - b * load)) == pytest.approx(0.02588, abs=5e-6)
    tyre = replace(tyres(textbook())[0], reference_load=load, load_sensitivity=b * load / (a - b * load))
    pair = np.array([load - moved, load + moved])
    lost = 1.0 - np.sum(pair * load_factor(pair, tyre)) / (2.0 * load)
    assert lost == pytest.approx(0.02588, rel=1e-2)  # the rounded floor lifts friction by 1e-4
