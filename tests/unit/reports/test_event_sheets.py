"""The sheets of an event day: what is set, and that texts of people stay texts."""

import pytest

from conewise.reports import documents, event_sheets
from conewise.workflows.ready import inspection_sheet
from tests import days


@pytest.fixture
def set_data(monkeypatch):
    """What was given to the template."""
    given = {}
    real = documents.pdf

    def pdf(template, data, **options):
        given.update(template=template, data=data, **options)
        return real(template, data, **options)

    monkeypatch.setattr(documents, "pdf", pdf)
    return given


def test_a_car_gets_a_page_with_every_item(set_data):
    day = days.event_day(checks=days.checks(days.car(), but={"seat"}))
    rows = inspection_sheet(days.car(), day, days.CLUB)
    made = event_sheets.inspection_pdf("Spring #1 $x$", rules="club", cars=[("Heron", rows)])
    assert made.startswith(b"%PDF-")
    (page,) = set_data["data"]["pages"]
    assert len(page["rows"]) == len(rows)
    assert page["open"] == 1
    assert sum(row["result"] == "" for row in page["rows"]) == 1


PLAN = {
    "name": "Ana *Bold*",
    "car": "Heron",
    "event": "Spring",
    "runs": [
        {"run": 2, "pace": 0.8, "predicted_time_s": 48.04, "focus": "Look ahead.", "because": "",
         "key_speeds": [{"feature": "hairpin 1", "slowest_speed_m_per_s": 8.94}]},
        {"run": 3, "pace": 0.9, "predicted_time_s": None, "focus": "Brake once.", "because": "", "key_speeds": []},
    ],
}  # fmt: skip


@pytest.mark.parametrize(("system", "speed", "unit"), [("metric", "32", "km/h"), ("us", "20", "mph")])
def test_a_run_card_has_speeds_in_the_units_of_the_driver(set_data, system, speed, unit):
    """8.94 m/s are 32.2 km/h and 20.0 mph."""
    assert event_sheets.run_card_pdf(PLAN, system=system, paper="letter").startswith(b"%PDF-")
    data = set_data["data"]
    assert data["unit"] == unit
    assert data["runs"][0]["speeds"] == [["hairpin 1", speed]]
    assert [run["time"] for run in data["runs"]] == ["48.0 s", ""]
    assert "put it away" in " ".join(data["cautions"])


def test_nothing_left_is_a_card_too(set_data):
    assert event_sheets.run_card_pdf(PLAN | {"runs": []}, system="metric").startswith(b"%PDF-")
