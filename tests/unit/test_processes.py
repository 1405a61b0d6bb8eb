"""Processes beside this one: ended early they say nothing, and the keyboard reaches none of them."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time

import pytest

from conewise.processes import quiet

ON_POSIX = pytest.mark.skipif(os.name != "posix", reason="groups of processes are ended otherwise there")

# Three slow calls in two processes; whoever asks is interrupted when the first answer is there, or as they start.
ASKING = """
import sys, time
from joblib import delayed
from conewise.processes import answers_aside
from contextlib import closing

print("begun", flush=True)
with closing(answers_aside((delayed(time.sleep)(s) for s in (0.1, 60, 60)), n_processes=2)) as answers:
    for _ in answers:
        print("answered", flush=True)
        time.sleep(60)
"""


@ON_POSIX
@pytest.mark.parametrize(("moment", "later"), [("begun", 1.0), ("answered", 0.0)])
def test_an_interruption_ends_processes_without_a_word_of_theirs(moment, later):
    asking = subprocess.Popen(
        [sys.executable, "-c", ASKING],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    while asking.stdout.readline().strip() != moment:
        assert asking.poll() is None
    time.sleep(later)
    os.killpg(asking.pid, signal.SIGINT)
    said = asking.communicate(timeout=60)[1]
    assert "tasks" not in said
    assert "leaked" not in said
    assert said.count("Traceback") == 1  # of the one that was interrupted
    assert said.count("KeyboardInterrupt") == 1


# A process that is ended with its group while calls go on in others, as the worker of a server is.
GROUP = """
import time
from joblib import delayed
from conewise.processes import answers_aside

answers = answers_aside((delayed(time.sleep)(s) for s in (0.1, 60, 60)), n_processes=2)
next(answers)
print("begun", flush=True)
time.sleep(60)
"""


@ON_POSIX
def test_a_group_is_ended_whole_and_says_nothing():
    leader = subprocess.Popen(
        [sys.executable, "-c", GROUP], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env=quiet(dict(os.environ)), start_new_session=True,
    )  # fmt: skip
    assert leader.stdout.readline().strip() == "begun"
    code = f"from conewise.processes import end_group; end_group({leader.pid})"
    subprocess.run([sys.executable, "-c", code], check=True)
    assert leader.communicate(timeout=60)[1] == ""  # it ends as soon as nobody holds the pipe any more
    for _ in range(100):
        if not alive(leader.pid):
            return
        time.sleep(0.1)
    pytest.fail("the group is still there")


def alive(group):
    try:
        os.killpg(group, 0)
    except ProcessLookupError:
        return False
    return True


def test_what_somebody_said_of_warnings_stays():
    assert quiet({}) == {"PYTHONWARNINGS": "ignore:resource_tracker:UserWarning"}
    once = quiet({"PYTHONWARNINGS": "error"})
    assert once["PYTHONWARNINGS"].startswith("error,ignore:")
    assert quiet(once) == once
