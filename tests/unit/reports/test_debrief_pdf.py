"""The printed debrief says what the page says, on either paper."""

from __future__ import annotations

import pytest

from conewise.reports.debrief_pdf import debrief_data, debrief_pdf
from conewise.reports.debrief_report import gap_rows
from conewise.reports.units import METRIC, US
from tests.debrief_fixture import compared_runs, reduced_debrief, told_debrief


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("made", [told_debrief, compared_runs, reduced_debrief])
def test_every_kind_of_debrief_is_printed(made, paper):
    assert debrief_pdf(made(), METRIC, paper=paper).startswith(b"%PDF-")


def test_the_sheet_has_the_numbers_of_the_page():
    answer = told_debrief()
    data = debrief_data(answer, US)
    assert data["gap"] == f"+{answer.gap:.2f} s"
    assert data["focus"] == "gate-1: Pass this cone closer."
    assert [row[1:5] for row in data["rows"]] == [
        [r.name, r.driven, r.other, f"{r.lost} {r.within}"] for r in gap_rows(answer)
    ]
    assert data["rows"][2][5] == "cannot tell"
    assert data["rows"][0][5].endswith(")")
    assert data["findings"] == ["The first position came 1.2 s after the start beam."]


def test_two_runs_have_no_focus_and_no_parts():
    data = debrief_data(compared_runs(), METRIC)
    assert (data["focus"], data["nothing"], data["parts"]) == ("", "", False)
    assert {len(row) for row in data["rows"]} == {5}
