"""Runs: a timed run has a time, and nobody rides along with themselves."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from conewise.event.runs import Run


def run(**facts):
    return Run.model_validate({"id": "r1", "event": "e1", "person": "ana", "order": 1} | facts)


def test_a_timed_run_has_a_time():
    with pytest.raises(ValidationError, match="raw time"):
        run()
    assert run(raw_time=62.345).outcome == "timed"
    assert run(outcome="dnf").raw_time is None


@pytest.mark.parametrize(
    "facts", [{"raw_time": -3.0}, {"raw_time": 3.0}, {"raw_time": 700.0}, {"raw_time": float("nan")}]
)
def test_a_time_that_no_run_takes_is_refused(facts):
    with pytest.raises(ValidationError):
        run(**facts)


def test_nobody_rides_along_with_themselves():
    with pytest.raises(ValidationError, match="rides along"):
        run(raw_time=60.0, passenger="ana")
