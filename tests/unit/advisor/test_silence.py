"""Keeping a library quiet ends no work, and hides no failure."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from conewise.advisor.silence import silent


def test_without_a_standard_output_the_work_goes_on():
    """As a service may start it: file descriptor 1 is closed."""
    code = "import os; os.close(1)\nfrom conewise.advisor.silence import silent\nwith silent(): os.write(2, b'done')"
    done = subprocess.run([sys.executable, "-c", code], stderr=subprocess.PIPE, check=False)
    assert (done.returncode, done.stderr) == (0, b"done")


def test_what_goes_wrong_meanwhile_is_heard_and_the_output_comes_back(capfd):
    def work():
        os.write(1, b"meanwhile")
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError), silent():
        work()
    os.write(1, b"after")
    assert capfd.readouterr().out == "after"
