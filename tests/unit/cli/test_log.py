"""`conewise log`, as it is typed."""

from __future__ import annotations

import io
import json
import sys

import pytest

from conewise.cli.main import run
from conewise.logs.mapping import read_mapping
from conewise.workflows.logs import answers_folder

ROWS = "".join(f"{n / 10:.1f},{40 + n % 9},{n % 5}\n" for n in range(120))
CLEAR = "Time (s),Speed (km/h)\n" + "".join(f"{n / 10:.1f},{40 + n % 9}\n" for n in range(120))
UNCLEAR = "t,v,q\n" + ROWS


class Terminal(io.StringIO):
    """Standard input with a person at it."""

    def isatty(self):
        return True


@pytest.fixture
def typed(monkeypatch, capsys, tmp_path):
    """Runs a command line: exit code, stdout, stderr. Answers are typed where they are given."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setattr("platformdirs.user_data_dir", lambda *_, **__: str(tmp_path / "data"))

    def command(*words, answers=None):
        monkeypatch.setattr(sys, "stdin", io.StringIO() if answers is None else Terminal(answers))
        code = run(["log", *map(str, words)])
        out, err = capsys.readouterr()
        assert "Traceback" not in err + out
        return code, out, err

    return command


@pytest.fixture
def log(tmp_path):
    def write(text, name="run.csv"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


def test_show_says_what_was_recorded(typed, log):
    code, out, _ = typed("show", log(CLEAR))
    assert code == 0
    assert "run.csv: date not known, 11.9 s" in out
    assert [line.split()[:4] for line in out.splitlines() if line.startswith("speed")] == [
        ["speed", "km/h", "120", "10"]
    ]


def test_show_takes_units_and_json_does_not(typed, log):
    path = log(CLEAR)
    assert [
        line.split()[1] for line in typed("show", path, "--units", "us")[1].splitlines() if line[:5] == "speed"
    ] == ["mph"]
    record = json.loads(typed("show", path, "--units", "us", "--json")[1])
    assert record["duration_s"] == pytest.approx(11.9)
    (speed,) = record["channels"]
    assert (speed["quantity"], speed["unit"], speed["samples"]) == ("speed", "m/s", 120)
    assert speed["high"] == pytest.approx(48.0 / 3.6)


def test_check_lists_findings_with_their_places(typed, log):
    damaged = CLEAR.replace("3.0,43\n", "").replace("5.0,45\n", "5.0,65535\n").replace("5.1,46\n", "5.1,-9\n")
    code, out, _ = typed("check", log(damaged))
    assert code == 0
    assert "speed, at 5.00 s" in out
    assert "[out-of-range]" in out
    record = json.loads(typed("check", log(damaged), "--json")[1])
    assert record["ok"]
    assert {finding["code"] for finding in record["findings"]} >= {"out-of-range"}


def test_check_leaves_with_10_where_nothing_is_usable(typed, log):
    code, out, _ = typed("check", log("Time (s),Gear\n" + "".join(f"{n},{1 + n % 3}\n" for n in range(30))))
    assert code == 10
    assert "[nothing-usable]" in out


def test_without_a_terminal_an_unclear_column_is_an_error_that_names_the_option(typed, log):
    code, _, err = typed("show", log(UNCLEAR))
    assert code == 2
    assert "error[unclear-columns]" in err
    assert "--map 'v=speed" in err


def test_on_a_terminal_it_is_asked_once(typed, log):
    path = log(UNCLEAR)
    code, out, err = typed("show", path, answers="spead:kmh\nspeed:kmh\n")
    assert code == 0, err
    assert "There is no quantity 'spead'" in err
    assert "speed" in out
    (kept,) = answers_folder().glob("*.toml")
    assert read_mapping(kept)["v"] == "speed:kmh"
    assert typed("show", log(UNCLEAR, "next.csv"))[0] == 0


def test_where_nobody_answers_it_stays_an_error(typed, log):
    code, _, err = typed("show", log(UNCLEAR), answers="")
    assert (code, "error[unclear-columns]" in err) == (2, True)
    assert not list(answers_folder().glob("*.toml"))


def test_the_number_of_a_guess_is_an_answer(typed, log):
    header = "Time (s),Speed\n" + "".join(f"{n / 10:.1f},{40 + n % 9}\n" for n in range(120))
    code, out, err = typed("show", log(header), "--json", answers="9\n2\n")
    assert code == 0
    assert "What is the column 'Speed'?" in err
    assert "There are 4 guesses." in err
    assert json.loads(out)["channels"][0]["high"] == pytest.approx(48 * 0.44704)  # the second guess is mph


def test_what_each_column_is_taken_for_is_shown_with_its_probability(typed, log):
    path = log(UNCLEAR)
    lines = [line.split() for line in typed("show", path, "--columns")[1].splitlines()]
    assert [line[0] for line in lines] == ["t", "v", "q"]
    assert lines[1][-2:] == ["asked", "for"]
    rows = json.loads(typed("show", path, "--columns", "--json")[1])["columns"]
    assert rows[0]["meaning"] == "time:s"
    assert rows[0]["probability"] > 0.95
    assert not rows[1]["is_sure"]
    track = log("$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\n", "a.nmea")
    assert typed("show", track, "--columns")[1] == "This format says itself what it holds.\n"


@pytest.mark.parametrize("name", ["v", "v [km/h]", "v (km/h)", "v [kph]"])
@pytest.mark.parametrize("header", ["t [s],v [km/h],q", "t,v,q"])
def test_a_column_may_be_named_with_its_unit(typed, log, name, header):
    path = log(header + "\n" + ROWS)
    code, out, err = typed(
        "show", path, "--map", "t=time:s", "--map", f"{name}=speed:km/h", "--map", "q=gear", "--json"
    )
    assert code == 0, err
    rows = {row["quantity"]: row for row in json.loads(out)["channels"]}
    assert rows["speed"]["high"] == pytest.approx(48.0 / 3.6)


def test_a_column_of_another_unit_is_another_column(typed, log):
    code, _, err = typed("show", log("t [s],v [km/h],q\n" + ROWS), "--map", "v [m/s]=speed:m/s")
    assert code == 2
    assert "error[unknown-column]" in err


def test_a_mapping_by_option_and_by_file(typed, log, tmp_path):
    path = log(UNCLEAR)
    mapping = tmp_path / "columns.toml"
    mapping.write_text('[columns]\nt = "time:s"\nv = "speed:km/h"\nq = "gear"\n', encoding="utf-8")
    by_file = json.loads(typed("show", path, "--mapping", mapping, "--json")[1])
    assert [row["quantity"] for row in by_file["channels"]] == ["speed", "gear"]
    option = ("--map", "v=speed:mph", "--map", "q=ignore")
    both = json.loads(typed("show", path, "--mapping", mapping, *option, "--json")[1])
    assert [(row["quantity"], row["high"]) for row in both["channels"]] == [("speed", pytest.approx(48 * 0.44704))]


@pytest.mark.parametrize(
    ("option", "code"), [("v", "mapping-file"), ("v=weight", "column-unit"), ("v=speed:bar", "column-unit"),
                         ("w=speed:m/s", "unknown-column")]
)  # fmt: skip
def test_an_option_that_cannot_be_meant(typed, log, option, code):
    exit_code, _, err = typed("show", log(UNCLEAR), "--map", option)
    assert exit_code == 2
    assert f"error[{code}]" in err


def test_convert_writes_once_and_over_only_when_forced(typed, log, tmp_path):
    source, target = log(CLEAR), tmp_path / "out.csv"
    assert typed("convert", source, target)[0] == 0
    assert target.read_text(encoding="utf-8").startswith("# start not known\ntime [s],speed [m/s]\n")
    code, _, err = typed("convert", source, target)
    assert (code, "error[log-exists]" in err) == (4, True)
    assert typed("convert", source, target, "--force")[0] == 0
    assert typed("convert", source, source, "--force")[0] == 4
    assert source.read_text(encoding="utf-8") == CLEAR
    assert "error[no-track]" in typed("convert", source, tmp_path / "out.gpx")[2]


def test_a_convert_that_fails_says_what_was_found(typed, log, tmp_path):
    """As `log check` says it: why there is nothing to write."""
    rows = "".join(f"{n / 10:.1f},{0.0 if n > 2 else 48.0},{0.0 if n > 2 else 11.0}\n" for n in range(120))
    source, target = log("Time (s),Latitude (deg),Longitude (deg)\n" + rows), tmp_path / "out.gpx"
    checked = typed("check", source)[1]
    code, _, err = typed("convert", source, target)
    assert code == 2
    assert "zero-fix" in checked
    assert "found: " in err
    assert "[zero-fix]" in err
    told = json.loads(typed("convert", source, target, "--json")[1])
    assert "zero-fix" in {finding["code"] for finding in told["findings"]}


def test_convert_says_what_a_track_cannot_hold(typed, log, tmp_path):
    rows = "".join(f"2024-05-17T10:15:{n:02d}Z,{48.1 + n * 1e-4:.6f},11.500000,11.1\n" for n in range(50))
    source = log("Time,Latitude,Longitude,Speed (m/s)\n" + rows)
    code, out, _ = typed("convert", source, tmp_path / "out.gpx", "--json")
    assert code == 0
    assert json.loads(out) == {"written": str(tmp_path / "out.gpx"), "left_out": ["speed"]}
    assert len(json.loads(typed("show", tmp_path / "out.gpx", "--json")[1])["channels"]) == 2
