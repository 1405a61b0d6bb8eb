"""The report of a proof as a reader meets it."""

from __future__ import annotations

import itertools
import re
from dataclasses import replace

import numpy as np
import pytest

from conewise.reports.proof_report import proof_html
from conewise.reports.units import METRIC
from conewise.workflows.prove import prove
from tests.browser.boxes import assert_at_least
from tests.browser.reading import (
    HOSTILE,
    LOOKS,
    WIDTHS,
    assert_keeps_to_itself,
    assert_reads_well_in_every_look,
    audit,
    wear_in_report,
)
from tests.seasons import Season, drawn, times_of

pytestmark = pytest.mark.browser

LONG = "the borrowed wheels with the tyres of last season and two degrees more camber in front"


def answer_of(*orders, setup="stiff bar", seed=3, **facts):
    times = times_of(drawn(Season(orders=orders, **facts), np.random.default_rng(seed)))
    return prove(replace(times, setup=np.where(times.setup == "after", setup, times.setup)))


ANSWERS = {
    "plain": lambda: answer_of("AABBBBAA", "BBAAAABB", effect=-0.02, outliers=0.1),
    "untold": lambda: answer_of("AAABBB"),
    "unsure": lambda: answer_of("ABBBAA", effect=0.0),
    "long": lambda: answer_of(*(["ABBA", "BAAB"] * 8), testers=2, setup=LONG),
    "hostile": lambda: answer_of("AABBBBAA", setup=HOSTILE),
}
SCENES = {"plain": LOOKS, "untold": ["light"], "unsure": ["light"], "long": ["light"]}  # the looks in which it is read


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """The reports as files."""
    folder = tmp_path_factory.mktemp("proofs")
    for name, build in ANSWERS.items():
        (folder / f"{name}.html").write_text(proof_html(build(), METRIC), encoding="utf-8")
    return folder


@pytest.mark.parametrize(("name", "width"), list(itertools.product(SCENES, WIDTHS)))
def test_it_reads_well(opened, name, width):
    looks = SCENES[name]
    assert_reads_well_in_every_look(opened(name, width), least=30, looks=looks, worn=wear_in_report)


@pytest.mark.parametrize(("name", "width"), list(itertools.product(["plain", "untold", "unsure"], WIDTHS)))
def test_the_answer_is_the_largest_text(opened, name, width):
    texts = audit(opened(name, width))["found"]
    largest = max(texts, key=lambda t: t["size"])
    assert re.fullmatch(r"[−+]?[\d.]+ s|cannot tell", largest["text"])
    assert sum(t["size"] == largest["size"] for t in texts) == 1


@pytest.mark.parametrize("width", WIDTHS)
def test_answer_and_interval_are_on_the_first_screen(opened, width):
    page = opened(width=width)
    for place in (".time", ".try"):
        box = page.locator(place).bounding_box()
        assert box["y"] + box["height"] < 844


def test_nothing_is_fetched_and_nothing_complains_in_any_look(opened):
    page = opened("hostile")
    for look in LOOKS:
        wear_in_report(page, look)
    assert_keeps_to_itself(page)


def test_the_axis_has_its_quantity_and_unit(opened):
    (name,) = opened().locator("[data-axis]").all_inner_texts()
    assert re.search(r"\w+.* \[s\]", name)


def test_touch_targets_are_large_enough(opened):
    """44 px: Web Content Accessibility Guidelines 2.2, W3C 2023, success criterion 2.5.5."""
    assert_at_least(44, opened(width=390).locator(".looks label"))
