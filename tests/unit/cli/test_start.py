"""A stop by the keyboard is one plain line and exit code 130, whenever it comes."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from types import SimpleNamespace

import pytest

import conewise.demo
from conewise.cli import start

DEMO = Path(conewise.demo.__file__).parent
FILES = (
    DEMO / "logs/harbour-yard-evening.csv",
    "--course",
    DEMO / "courses/harbour-yard.toml",
    "--car",
    DEMO / "cars/marigold.toml",
)
# A stop in a place where nothing can be raised, as a callback of a compiler is one.
IN_A_CALLBACK = """
import signal, time
from conewise.cli import main, start
class Within:
    def __del__(self):
        signal.raise_signal(signal.SIGINT)
        time.sleep(0.1)
def work(arguments=None):
    Within()
    time.sleep(5.0)
main.main = work
start.main()
"""


def stopped(code, *words, cache, after=None):
    """Exit code, output and errors of the program, stopped after so many seconds."""
    process = subprocess.Popen(
        [sys.executable, "-c", code, *map(str, words)],
        env=os.environ | {"NUMBA_CACHE_DIR": str(cache)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    if after is not None:
        time.sleep(after)
        process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=60.0)
    return process.returncode, out, err


@pytest.mark.parametrize("after", [0.3, 6.0], ids=["while it is loaded", "while code is compiled"])
def test_a_stop_is_one_line(tmp_path, after):
    code, _, err = stopped(
        "from conewise.cli.start import main; main()", "debrief", *FILES, cache=tmp_path, after=after
    )
    assert code == 130
    assert err.endswith("Stopped.\n")
    assert "Traceback" not in err
    assert "ignored" not in err


def test_a_stop_in_a_callback_is_no_traceback(tmp_path):
    code, _, err = stopped(IN_A_CALLBACK, cache=tmp_path)
    assert (code, err) == (130, "Stopped.\n")


def test_other_faults_in_callbacks_are_still_said(monkeypatch):
    told = []
    monkeypatch.setattr(sys, "__unraisablehook__", told.append)
    fault = type("Told", (), {"exc_value": ValueError("x")})()
    start._within(fault)
    assert told == [fault]


def test_a_stop_waits_for_the_compiler(monkeypatch):
    later = []
    monkeypatch.setattr(start, "Timer", lambda *asked: later.append(asked) or SimpleNamespace(start=lambda: None))
    compiling = compile(
        "def work(stop): stop(2, __import__('sys')._getframe())", "/lib/llvmlite/binding/ffi.py", "exec"
    )
    names = {}
    exec(compiling, names)  # a function that stands in the compiler's file
    names["work"](start._stop)
    assert [asked[1] for asked in later] == [start.interrupt_main]
    with pytest.raises(KeyboardInterrupt):
        start._stop(2, sys._getframe())


def test_a_stop_that_an_error_only_names_is_a_stop():
    from conewise.cli.main import _is_stop

    assert _is_stop(RuntimeError("Error building a serializer: KeyboardInterrupt: "))
    assert not _is_stop(RuntimeError("no such file"))
