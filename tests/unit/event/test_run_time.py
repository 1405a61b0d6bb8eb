"""Times as people write them; what could mean two things is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conewise.event.run_time import TimeFormError, WrittenRun, written, written_run


@pytest.mark.parametrize("text", ["62.345", "62345", "1:02.345", "62,345", " 62.345 ", "1:02,345", "01:02.345"])
@pytest.mark.parametrize(("behind", "cones"), [("", 0), ("+2", 2), ("(2)", 2), (" + 2", 2), (" ( 2 )", 2), ("+0", 0)])
def test_every_form_of_one_time(text, behind, cones):
    assert written_run(text + behind) == WrittenRun(raw_time=62.345, cones=cones)


@pytest.mark.parametrize(
    ("text", "run"),
    [
        ("DNF", WrittenRun(raw_time=None, outcome="dnf")),
        ("dns", WrittenRun(raw_time=None, outcome="dns")),
        ("Dsq", WrittenRun(raw_time=None, outcome="dsq")),
        ("OFF", WrittenRun(raw_time=None, outcome="off")),
        ("62.345+1 off", WrittenRun(raw_time=62.345, cones=1, outcome="off")),
        ("+3 DNF", WrittenRun(raw_time=None, cones=3, outcome="dnf")),
        ("re-run", WrittenRun(raw_time=None, outcome="dnf", is_void=True)),
        ("62.345 rerun", WrittenRun(raw_time=62.345, is_void=True)),
        ("1:02 re run", WrittenRun(raw_time=62.0, is_void=True)),
    ],
)
def test_words(text, run):
    assert written_run(text) == run


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "neither a time nor"),
        ("-62.345", "neither a time nor"),
        ("−62.345", "neither a time nor"),
        ("+2", "time is missing"),
        ("62", "62.0"),
        ("6234", "62.34 s or 6.234 s"),
        ("102345", "102.345 s or 1:02.345"),
        ("1234567", "known forms"),
        ("1.234,5", "known forms"),
        ("62.345.1", "known forms"),
        ("1:62.345", "known forms"),
        ("1:2.345", "known forms"),
        ("4.9", "5 to 600"),
        ("601.0", "5 to 600"),
        ("99:00.000", "5 to 600"),
        ("62.345 fast", "'fast'"),
        ("62.345+1.5", "neither"),
        ("62.345+1+1", "neither"),
        ("62.345+-1", "neither"),
        ("62.345 dns", "not started"),
        ("1e2", "'e' is no word|neither"),
        ("62.345\n63.1", "neither"),
        ("9" * 5000, "known forms"),
    ],
)
def test_what_is_refused_and_why(text, words):
    with pytest.raises(TimeFormError, match=words) as refused:
        written_run(text, where="--time")
    assert refused.value.where == "--time"
    assert len(refused.value.message) < 200


@given(
    st.builds(
        WrittenRun,
        raw_time=st.integers(5_000, 600_000).map(lambda thousandths: thousandths / 1000),
        cones=st.integers(0, 99),
        outcome=st.sampled_from(["timed", "dnf", "dsq", "off"]),
    )
)
def test_what_is_written_is_read_back(run):
    assert written_run(written(run)) == run
