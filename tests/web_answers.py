"""Answers that are there already, as jobs of a book that are done: pages show them, and nothing is solved."""

from __future__ import annotations

from datetime import UTC, datetime

from conewise.reports.advice_record import advice_record
from conewise.reports.advice_screen import advice_screen
from conewise.reports.comparison_record import comparison_record
from conewise.reports.debrief_pdf import sheet_parts
from conewise.reports.debrief_record import debrief_record
from conewise.reports.debrief_screen import debrief_screen
from conewise.reports.settings_screen import settings_screen
from conewise.reports.units import UNIT_SYSTEMS
from conewise.web.work import finite
from conewise.workflows.book_place import opened
from conewise.workflows.jobs import Asker, Jobs

DEBRIEF = {
    "log": "harbour-yard-evening", "course": "harbour-yard", "car_file": "marigold", "run": None, "hit": [],
    "surface": "", "others": [], "kept_run": "", "system": "metric",
}  # fmt: skip


def keep_job(folder, kind, question, result, *, job_id=None):
    """A job that is done with a result; its id."""
    job_id = job_id or f"{kind}-done"
    with opened(folder, now=lambda: datetime.now(UTC), create=False) as book:
        jobs = Jobs(book)
        jobs.submit(job_id, kind, {"question": question}, asker=Asker())
        assert jobs.take(kind).id == job_id
        jobs.finish(job_id, finite(result))
    return job_id


def debrief_result(answer, *, system="metric", kept=None):
    """What the work "debrief" or "compare" gives for an answer."""
    units = UNIT_SYSTEMS[system]
    data, drawings = sheet_parts(answer, units)
    record = debrief_record(answer) if answer.breakdown is not None and answer.told else comparison_record(answer)
    return {
        "record": {name: value for name, value in record.items() if name not in ("runs", "along")},
        "screen": debrief_screen(answer, units),
        "sheet": {"data": data, "drawings": drawings},
        "kept": kept,
    }


ADVISE = {
    "courses": ["harbour-yard", "old-mill-airfield"], "weights": [], "car_file": "marigold", "driver": "regular",
    "pace": None, "surface": "dry", "parts": "workshop-list", "changes": "", "budget": "1500 EUR", "hours": 12.0,
    "rules": "", "car_class": "", "runs": None,
}  # fmt: skip
SETTINGS = {name: ADVISE[name] for name in ("courses", "weights", "car_file", "driver", "pace", "surface")} | {
    "system": "metric"
}


def advice_result(advice):
    """What the work "advise" gives for an answer."""
    return {"record": advice_record(advice), "screen": advice_screen(advice)}


def settings_result(answer, *, system="metric"):
    """What the work "settings" gives for an answer."""
    return {"record": answer.as_record(), "screen": settings_screen(answer, system)}
