"""What the page of a debrief says."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from html import unescape

import numpy as np
import pytest

from conewise.reports import sentences
from conewise.reports.debrief_pdf import debrief_data
from conewise.reports.debrief_report import debrief_html
from conewise.reports.debrief_words import friction_sentence
from conewise.reports.units import METRIC, US
from tests.debrief_fixture import FINDINGS, compared_runs, reduced_debrief, told_debrief
from tests.debriefs import made_up_debrief


def words_of(page):
    """The text of a page without its tags, style and script."""
    body = re.sub(r"<(script|style)[^>]*>.*?</\1>", " ", page, flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).split())


def rows_of(page):
    """Cells of the table of features, a list for each row."""
    table = re.search(r'<table class="stack gaps">.*?<tbody>(.*?)</tbody>', page, flags=re.DOTALL).group(1)
    return [
        [words_of(cell) for cell in re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, flags=re.DOTALL)]
        for row in re.findall(r"<tr>(.*?)</tr>", table, flags=re.DOTALL)
    ]


def data_of(page):
    return json.loads(re.search(r'id="data">(.*?)</script>', page, flags=re.DOTALL).group(1))


@pytest.fixture(scope="module")
def answer():
    return told_debrief()


@pytest.fixture(scope="module")
def page(answer):
    return debrief_html(answer, METRIC)


def test_the_gap_stands_before_the_focus_and_this_before_what_else_was_seen(answer, page):
    words = words_of(page[page.index("<main>") :])
    first, second = answer.focuses
    places = [words.index(part) for part in (f"{answer.gap:.2f} s", first.advice, first.evidence, second.evidence)]
    assert places == sorted(places)


def test_what_else_was_seen_is_closed(answer, page):
    closed = re.search(r'<details class="also">(.*?)</details>', page, flags=re.DOTALL).group(1)
    assert answer.focuses[1].evidence in words_of(closed)
    assert answer.focuses[0].evidence not in words_of(closed)


def test_parts_with_their_intervals_where_they_are_told_and_none_elsewhere(answer, page):
    for gap, row in zip(answer.breakdown.features, rows_of(page), strict=True):
        name, measured, best, lost, line, speed = row
        assert gap.id in name
        assert [measured, best] == [f"{gap.measured:.2f}", f"{gap.best:.2f}"]
        deviation = answer.time_deviations[gap.id]
        assert lost == f"{gap.measured - gap.best:+.2f} ±{max(1.645 * deviation, 0.01):.2f}"
        for told, is_told, part, interval in (
            (line, gap.is_line_told, gap.line, gap.line_interval),
            (speed, gap.is_speed_told, gap.speed, gap.speed_interval),
        ):
            assert is_told == (interval.high - interval.low <= abs(part))
            assert told == (f"{part:+.2f} {interval.low:+.2f} to {interval.high:+.2f}" if is_told else "cannot tell")
    assert {gap.is_line_told for gap in answer.breakdown.features} == {True, False}


def test_friction_findings_and_cautions_are_said(answer, page):
    words = words_of(page)
    assert friction_sentence(answer.breakdown.friction) in words
    assert all(finding.message in words for finding in FINDINGS)
    assert words.index("Warning") < words.index("Note")
    assert all(caution in words for caution in sentences.CAUTIONS)


@pytest.mark.parametrize("made", [reduced_debrief, lambda: made_up_debrief(is_reduced=True)])
def test_without_a_cause_the_page_says_so(made):
    answer = made()
    page = debrief_html(answer, METRIC)
    words = words_of(page)
    assert ("Nothing stands out" in words) == (answer.where is None)
    assert "this recording cannot tell line from speed" in words
    assert "nan" not in words.lower()
    assert ("place to work on" in words) == (answer.where is not None)
    assert ('class="focus"' in page) == (answer.where is not None)


def test_a_place_without_a_cause_is_told_with_its_seconds_and_what_would_tell_the_cause():
    answer = reduced_debrief()
    words = words_of(debrief_html(answer, METRIC))
    assert f"Look at {answer.where.feature}: time is lost there, by your line or by your speed." in words
    assert "0.41 s are lost there, for its length 0.27 s more than at the other places of this course." in words
    assert "a receiver of 10 positions a second" in words
    data = debrief_data(answer, METRIC)
    assert answer.where.feature in data["focus"]
    assert "0.41 s" in data["evidence"]


def test_two_runs_are_compared_without_best_run_cause_or_parts():
    compared = compared_runs()
    page = debrief_html(compared, METRIC)
    words = words_of(page)
    assert "Slower than run 4 of the evening" in words
    assert not re.search(r"best|friction \d|stands out|cannot tell", words, flags=re.IGNORECASE)
    rows = rows_of(page)
    assert {len(row) for row in rows} == {4}
    # Rounded to 0.01 s in each row.
    assert all(" ±0." in row[3] for row in rows)
    lost = [float(row[3].replace("−", "-").split(" ±")[0]) for row in rows]
    assert sum(lost) == pytest.approx(compared.gap, abs=0.005 * len(rows))


def test_a_faster_run_is_called_faster():
    compared = compared_runs()
    swapped = replace(compared, driven=compared.other, other=compared.driven, measures=None)
    words = words_of(debrief_html(swapped, METRIC))
    assert f"Faster than {compared.driven.name} {compared.gap:.2f} s" in words


def test_the_cursor_has_both_runs_at_the_same_stations(answer, page):
    data = data_of(page)
    n = len(data["s"])
    assert {len(data[name]) for name in ("t", "x", "y", "v", "later")} == {n}
    assert {len(values) for values in data["beside"].values()} == {n}
    assert data["later"][0] == 0.0
    assert data["later"][-1] == pytest.approx(answer.gap, abs=5e-4)  # rounded to 1 ms
    assert data["v"][-1] == pytest.approx(3.6 * answer.driven.speed[-1], abs=0.05)
    assert max(np.hypot(*np.subtract([data["x"], data["y"]], [data["beside"]["x"], data["beside"]["y"]]))) > 0.7


def test_cones_tell_how_far_the_car_was(answer, page):
    cone = next(cone for cone in answer.measures.cones if cone.is_standing)
    assert re.search(rf'aria-label="Cone {cone.id}, on your \w+: the car was −?\d+ ±\d+ cm from its base"', page)


def test_us_units_are_shown_throughout(answer):
    words = words_of(debrief_html(replace(answer, focuses=()), US))
    assert "Speed [mph]" in words
    assert "Distance along the course [ft]" in words
    assert not re.search(r"km/h|\[m\]|\d m\b|\d cm\b", words)
