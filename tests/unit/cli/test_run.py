"""`conewise run`, as it is typed."""

from __future__ import annotations

import json
from types import SimpleNamespace

import pytest

from conewise.cli.main import run
from conewise.event.event_file import event_text
from conewise.workflows.events import load_day
from tests import days


@pytest.fixture
def spring(tmp_path):
    path = tmp_path / "spring.toml"
    path.write_text(event_text(days.event_day()), encoding="utf-8")
    return path


@pytest.fixture
def typed(capsys):
    """Runs a command line: exit code, stdout, stderr."""

    def command(*words):
        code = run(["run", *map(str, words)])
        out, err = capsys.readouterr()
        assert "Traceback" not in err + out
        return code, out, err

    return command


def test_a_run_is_written_and_placed(typed, spring):
    code, out, _ = typed("add", spring, "--driver", 12, "--time", "62.345+1")
    assert code == 0
    assert "run 1: 64.345 s; place 1 in class S" in out
    record = json.loads(typed("add", spring, "--driver", "ana", "--time", "off", "--json")[1])
    assert record["added"] == {"driver": "ana", "run": 2, "total_s": None, "why": "OFF"}
    assert (
        "was off" in typed("add", spring, "--driver", "ana", "--time", "61.5", "--run", 2, "--reason", "stayed on")[1]
    )


def test_a_run_knows_set_up_tyres_and_pressures(typed, spring):
    """32 psi are 220.6 kPa: 6894.757 Pa a psi."""
    said = ("--setup", "stiff bar", "--tyres", "the soft ones", "--cold", "32 32 30 30 psi", "--surface", "damp")
    assert typed("add", spring, "--driver", "ana", "--time", "62.345", *said)[0] == 0
    (run_,) = load_day(spring, source=days.SOURCE).day.runs
    assert (run_.set_up, run_.tyres, run_.surface) == ("stiff bar", "the soft ones", "damp")
    assert run_.cold_pressures == pytest.approx((220632, 220632, 206843, 206843), abs=1)
    assert run_.hot_pressures is None
    code, _, err = typed("add", spring, "--driver", "ana", "--time", "62.1", "--hot", "35 35 psi")
    assert (code, "four and a unit" in err) == (2, True)


def test_a_season_without_debriefs_says_how_to_get_them(typed, spring):
    typed("add", spring, "--driver", "ana", "--time", "62.345")
    assert "conewise debrief RECORDING --keep" in typed("season", spring)[1]
    assert json.loads(typed("season", spring, "--json")[1])["kinds"] == []


@pytest.mark.parametrize("time", ["62", "-62.345", "6234", "fast", "1e2", "62.345+", ""])
def test_a_time_that_is_none_is_refused(typed, spring, time):
    code, _, err = typed("add", spring, "--driver", "ana", f"--time={time}")
    assert code == 2
    assert "time-form" in err
    assert not spring.with_suffix(".runs.csv").exists()


def test_another_table_is_begun_where_it_is_named(typed, spring, tmp_path):
    other = tmp_path / "other.csv"
    assert typed("add", spring, "--driver", "ana", "--time", "62.345", "--runs", other)[0] == 0
    assert other.read_text(encoding="utf-8").count("\n") == 2


def test_plan_page_and_overview(typed, spring):
    typed("add", spring, "--driver", "ana", "--time", "62.345")
    assert "Run 2: pace" in typed("plan", spring, "--driver", "ana", "--quick")[1]
    assert len(json.loads(typed("plan", spring, "--driver", "ana", "--quick", "--json")[1])["runs"]) == 3
    assert "Record a run" in typed("page", spring, "--driver", "ana")[1]
    assert json.loads(typed("page", spring, "--driver", "ana", "--json")[1])["driver"] == "ana"
    assert "Ana" in typed("overview", spring)[1]
    assert json.loads(typed("overview", spring, "--json")[1])["drivers"][0]["driver"] == "ana"


@pytest.mark.parametrize(
    ("loss", "said"), [(0.41, "Most is lost in the slalom: 0.41 s of a run."), (0.004, "nothing stands out")]
)
def test_a_season_says_where_most_is_lost_and_where_nothing_is(typed, spring, monkeypatch, loss, said):
    from conewise.workflows import mentoring

    kind = SimpleNamespace(kind="slalom", loss=loss, share=0.01, share_spread=None, n_events=1, n_passes=2)
    monkeypatch.setattr(mentoring, "answer_season", lambda *_: (kind,))
    out = typed("season", spring)[1]
    assert said in out
    assert ("Most is lost" in out) == (loss > 0.005)
