"""`conewise advise` from the command line, stopped from the keyboard while it solves."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

import conewise.demo
from conewise.course.files import write_course
from tests.solved import short_course

pytestmark = [pytest.mark.slow, pytest.mark.skipif(os.name != "posix", reason="signals to a group of processes")]

DEMO = Path(conewise.demo.__file__).parent
# A line a row that is solved, so that the test knows when to stop it; the program itself draws a bar there.
WATCHED = """
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)  # also where whoever started the tests ignores it
from conewise.workflows import effects
sweep = effects.sweep
def watched(bases, questions, *, workers, tell):
    def told(answer):
        tell(answer)
        print("solved", answer.name, file=sys.stderr, flush=True)
    sweep(bases, questions, workers=workers, tell=told)
effects.sweep = watched
from conewise.cli.main import main
main()
"""


def test_ctrl_c_shows_what_is_solved_and_leaves_with_130(tmp_path):
    course, report = tmp_path / "short.toml", tmp_path / "advice.html"
    write_course(short_course(), course)
    words = [
        "advise", course, "--car", DEMO / "cars" / "marigold.toml",
        "--parts", DEMO / "parts" / "workshop-list.toml", "--budget", "900 EUR", "--workers", "2", "--json",
        "--report", report,
    ]  # fmt: skip
    typed = [sys.executable, "-u", "-c", WATCHED, *map(str, words)]
    pipe = subprocess.PIPE
    with subprocess.Popen(typed, stdout=pipe, stderr=pipe, text=True, start_new_session=True) as process:
        assert process.stderr is not None
        said = []
        for line in process.stderr:
            said.append(line)
            if line.startswith("solved"):
                break
        os.killpg(process.pid, signal.SIGINT)  # as a terminal does: to the processes that solve as well
        out, rest = process.communicate(timeout=120)
    assert process.returncode == 130, "".join(said) + rest
    assert "Traceback" not in "".join(said) + rest
    assert rest.rstrip().endswith("Stopped.")
    record = json.loads(out)
    assert record["ok"] is False
    assert record["stopped"].startswith("Stopped before the end: ")
    solved = [row for row in record["changes"] if row["is_solved"]]
    rough = [row for row in record["changes"] if not row["is_solved"] and row["by_course"]]
    assert solved
    assert rough
    assert all(row["gain_s"] is None and row["low_s"] is None and row["linear_s"] is not None for row in rough)
    assert all(row["low_s"] < row["gain_s"] < row["high_s"] for row in solved)
    assert "Stopped before the end" in report.read_text(encoding="utf-8")
