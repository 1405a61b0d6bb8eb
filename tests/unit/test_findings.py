"""Findings in short: what is to be mended never hides behind what is to be looked at, nor the other way."""

import pytest

from conewise.findings import Finding, in_short


@pytest.mark.parametrize(
    ("severities", "words"),
    [
        ([], "Nothing found that says stop"),
        (["note"], "Nothing found that says stop"),
        (["warning", "note", "warning"], "Nothing found that says stop, and 2 to look at"),
        (["stop"], "1 to mend before it is run"),
        (["warning", "stop", "stop"], "2 to mend before it is run, 1 to look at"),
    ],
)
def test_stops_and_warnings_are_counted_apart(severities, words):
    assert in_short([Finding(severity, "code", "message", "place") for severity in severities]) == words
