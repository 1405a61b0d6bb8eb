"""The report of a proof: its content."""

from __future__ import annotations

import numpy as np
import pytest

from conewise.reports import proof_words
from conewise.reports.proof_figure import days_of, proof_svg, shown_days
from conewise.reports.proof_report import proof_html
from conewise.reports.units import METRIC, US
from conewise.workflows.prove import prove
from tests.seasons import Season, drawn, times_of


def answer_of(*orders, seed=3, **facts):
    return prove(times_of(drawn(Season(orders=orders, **facts), np.random.default_rng(seed))))


def test_every_run_is_drawn():
    answer = answer_of("AABBBBAA", "BBAAAABB")
    picture = proof_svg(answer)
    assert picture.count('class="old"') == picture.count('class="new"') == 8
    assert [day.run.size for day in days_of(answer)] == [8, 8]


def test_late_is_against_the_day_on_the_old_setup():
    answer = answer_of("AABBBBAA", effect=-0.05)
    (day,) = days_of(answer)
    assert np.median(day.late[day.is_after]) == pytest.approx(answer.effect.effect, abs=1.0)  # scatter of four runs
    assert abs(np.median(day.late[~day.is_after])) < 1.0


def test_the_latest_days_have_room():
    days = days_of(answer_of(*(["ABBA"] * 40)))
    assert len(days) == 40
    kept = shown_days(days, 358.0)
    assert 1 <= len(kept) < 40
    assert kept[-1] is days[-1]


def test_what_is_untold_has_no_number():
    answer = answer_of("AAABBB")
    assert proof_words.headline(answer) == "cannot tell"
    page = proof_html(answer, METRIC)
    assert answer.untold.remedy in page
    assert "chance that it helped" not in page
    assert ">–</td>" in page


def test_the_surface_is_shown_per_fahrenheit():
    answer = answer_of("ABBAABBA", "BAABBAAB", warming=2.0)
    term = next(term for term in answer.effect.terms if term.name == "surface")
    assert "1 °C" in proof_words.term_text(term, METRIC)[0]
    assert "1 °F" in proof_words.term_text(term, US)[0]


def test_orders_in_words():
    assert proof_words.order_text("AABBBA") == "2 old, 3 new, 1 old"


def test_nothing_is_certain():
    assert proof_words.percent(1.0) == "above 99%"
    assert proof_words.percent(0.0) == "below 1%"
