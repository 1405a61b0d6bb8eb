"""`conewise fit`, as it is typed."""

import json

import pytest

from conewise.cli.main import run
from tests.cars import DEMO

MARIGOLD = str(DEMO / "marigold.toml")
ALL_KNOWN = [
    "--wheel", "15x8 +25", "--tyre", "205/50R15 89V", "--bolt-pattern", "4x100", "--bore", "54.1 mm", "--seat", "cone",
    "--turns", "9", "--wheel-load", "500 kg", "--rims", "5.5 to 8 in", "--date-code", "1226", "--day", "2026-11-26",
    "--gap", "front.strut=9 mm", "--gap", "rear.strut=9 mm", "--gap", "front fender=9 mm", "--gap", "rear.fender=9 mm",
    "--gap", "front full lock=9 mm", "--gap", "front.full_bump=9 mm", "--gap", "rear.full_bump=9 mm",
    "--gap", "front.caliper=0.4 in", "--gap", "rear.caliper=0.4 in",
]  # fmt: skip


@pytest.fixture
def typed(capsys):
    """Runs a command line: exit code, stdout, stderr."""

    def command(*words):
        code = run(["fit", *map(str, words)])
        out, err = capsys.readouterr()
        assert "Traceback" not in err + out
        return code, out, err

    return command


def test_the_answer_stands_first_and_cautions_last(typed):
    code, out, _ = typed(MARIGOLD, "--wheel", "15x9 +20", "--tyre", "225/45R15 87V")
    assert code == 10
    assert out.startswith("Fits: not known yet, do not drive on it. ")
    assert "Open before it is driven" in out
    assert "20.7 mm out" in out
    assert out.index("Before anything is bolted on") > out.index("Speedometer and gearing")


def test_everything_known_leaves_with_zero(typed):
    code, out, _ = typed(MARIGOLD, *ALL_KNOWN)
    assert code == 0, out
    assert out.startswith("Fits as far as is known: yes. Nothing is open.")


def test_json_has_its_keys_in_any_units(typed):
    records = []
    for units in ("metric", "us"):
        code, out, _ = typed(MARIGOLD, "--wheel", "15x9 +20", "--tyre", "225/45R15", "--units", units, "--json")
        assert code == 10
        records.append(json.loads(out))
    for key in ("diameter_mm", "outer_shift_mm", "inner_shift_mm"):
        assert records[0][key] == records[1][key]
    assert records[0]["diameter_mm"] == pytest.approx(583.5)
    assert records[0]["outer_shift_mm"] == pytest.approx(20.7)
    assert records[0]["inner_shift_mm"] == pytest.approx(4.7)
    assert {finding["severity"] for finding in records[0]["findings"]} <= {"stop", "warning", "note"}
    assert records[0]["findings"]


def test_us_units_show_no_millimetres(typed):
    _, out, _ = typed(MARIGOLD, "--wheel", "15x9 +20", "--tyre", "225/45R15 87V", "--units", "us")
    assert " mm" not in out.split("Speedometer")[0]
    assert "0.81 in out" in out


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        ([], "nothing-to-try", "--wheel"),
        (["--wheel", "15x9"], "wheel-code", "offset is missing"),
        (["--wheel", "15x9 +1in"], "wheel-code", '"15x9 +25"'),
        (["--wheel", "15x90 +20"], "wheel-code", "3 to 15"),
        (["--tyre", "31x10.5R15"], "tyre-code", "flotation"),
        (["--tyre", "999/50R15"], "tyre-code", "125 to 375"),
        (["--spacer", "5"], "fit-option", '"5 mm"'),
        (["--spacer", "90 mm"], "fit-option", "0 to 60 mm"),
        (["--spacer", "-5 mm"], "fit-option", "0 to 60 mm"),
        (["--spacer", "5 mm", "--gap", "wing=9 mm"], "fit-option", "strut, fender"),
        (["--spacer", "5 mm", "--gap", "strut"], "fit-option", "strut=9 mm"),
        (["--spacer", "5 mm", "--gap", "front.strut=x"], "unit", "number"),
        (["--spacer", "5 mm", "--gap", "strut=9 mm"], "fit-option", '"front.strut=9 mm"'),
        (["--spacer", "5 mm", "--gap", "middle.strut=9 mm"], "fit-option", "front, rear"),
        (["--spacer", "5 mm", "--axle", "rear", "--gap", "front.strut=9 mm"], "fit-option", "asked about for: rear"),
        (["--spacer", "5 mm", "--gap", "rear.full_lock=9 mm"], "fit-option", "front axle only"),
        (
            ["--spacer", "5 mm", "--gap", "front.strut=9 mm", "--gap", "front.strut=3 mm"],
            "fit-option",
            "front.strut is given twice",
        ),
        (["--spacer", "5 mm", "--rims", "wide"], "fit-option", "8.5 to 10 in"),
        (["--spacer", "5 mm", "--rims", "10 to 8 in"], "fit-option", "narrower to the wider"),
        (["--spacer", "5 mm", "--turns", "0"], "fit-option", "more than 0"),
        (["--spacer", "5 mm", "--bolt-pattern", "round"], "bolt-pattern", "5x114.3"),
        (["--spacer", "5 mm", "--seat", "square"], "fastener-seat", "cone, ball, flat"),
        (["--spacer", "5 mm", "--bore", "5 m"], "fit-option", "40 to 180 mm"),
        (["--spacer", "5 mm", "--date-code", "99"], "date-code", "2319"),
        (["--spacer", "5 mm", "--mass", "500 kg"], "fit-option", "4 to 60 kg"),
        (["--tyre", "205/50R15", "--treadwear", "-3"], "fit-option", "0 to 1000"),
        (["--spacer", "5 mm", "--picture", "fit.png"], "file-ending", ".svg"),
    ],
)
def test_bad_input_is_said_with_a_way_out(typed, words, code, said):
    exit_code, _, err = typed(MARIGOLD, *words)
    assert exit_code == 2
    assert err.startswith(f"error[{code}]")
    assert said in err


def test_a_picture(typed, tmp_path):
    path = tmp_path / "fit.svg"
    typed(MARIGOLD, "--tyre", "225/45R15 87V", "--picture", path)
    assert "Fits: not known yet" in path.read_text(encoding="utf-8")


def test_a_gap_of_one_axle_says_nothing_of_the_other(typed):
    gaps = [word for word in ALL_KNOWN if word != "rear.strut=9 mm"]
    del gaps[gaps.index("front.strut=9 mm") + 1]  # the option whose value is gone
    code, out, _ = typed(MARIGOLD, *gaps, "--wheel", "15x8 +58")  # 30 mm towards the struts
    assert code == 10
    assert "rear: Inner side to strut" in out
    assert "front: Inner side to strut, spring and arms: 9.0 mm or more" in out


def test_one_axle_needs_no_name(typed):
    code, out, _ = typed(MARIGOLD, "--axle", "rear", "--spacer", "6 mm", "--gap", "strut=9 mm")
    assert code == 10  # the spacer itself is open
    assert "Inner side to strut, spring and arms: 9.0 mm or more" in out


def test_the_whole_answer(typed, golden):
    words = ["--wheel", "15x9 +20", "--tyre", "225/45R15 87V", "--date-code", "1226", "--day", "2026-11-26"]
    golden("fit", typed(MARIGOLD, *words)[1])
