"""Printed sheets: paper, and texts that stay texts."""

import pytest

from conewise.reports import documents


@pytest.mark.parametrize("paper", documents.PAPERS)
def test_a_sheet_is_made_for_both_papers(paper):
    data = {"title": "#panic() *a* $x$ <b>", "time": "1 s", "sentence": "", "remember": [], "speed_unit": "km/h",
            "rows": [], "cautions": ["Slow."]}  # fmt: skip
    drawing = '<svg xmlns="http://www.w3.org/2000/svg" width="10" height="10"/>'
    assert documents.pdf("walk", data, paper=paper, drawings={"map": drawing}).startswith(b"%PDF-")


def test_other_paper_is_refused():
    with pytest.raises(documents.PaperError) as raised:
        documents.pdf("walk", {}, paper="a3")
    assert "a4" in raised.value.message


def test_colours_become_concrete():
    assert documents.concrete("fill:var(--paper,#fff);stroke:var(--ink, #1b1b1b)") == "fill:#fff;stroke:#1b1b1b"
