"""What happened, and who needs what: results, the overview of mentors, drivers, and the runs to come."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response

from conewise.records import Id
from conewise.web.here import Here, Place
from conewise.web.pages import render
from conewise.workflows.events import LoadedDay, load_day
from conewise.workflows.mentoring import (
    CAUTION,
    answer_overview,
    answer_page,
    answer_run_plan,
    page_record,
    run_plan_record,
)
from conewise.workflows.paces import kept_paces, paces_question
from conewise.workflows.results import answer_results, results_record

router = APIRouter()


def _day(at: Here) -> LoadedDay | None:
    """The event that is chosen."""
    return load_day(Path(at.chosen.event.id), source=at.source) if at.chosen.event else None


def _season(at: Here) -> list[LoadedDay]:
    """Every event up to the chosen one, that one last."""
    chosen = at.chosen.event
    if chosen is None:
        return []
    days = [load_day(Path(one.id), source=at.source) for one in at.chosen.events]
    earlier = [one for one in days if one.day.event.day <= chosen.day and one.day.event.id != chosen.id]
    return sorted(earlier, key=lambda one: one.day.event.day) + [one for one in days if one.day.event.id == chosen.id]


@router.get("/drive/results", include_in_schema=False)
def results(request: Request, at: Place) -> Response:
    """Places by class and over all, every run, and what was corrected."""
    loaded = _day(at)
    if loaded is None:
        return render(request, "results.html.j2", at=at, results=None)
    record = results_record(answer_results(loaded), loaded.corrections)
    names = {person.id: loaded.day.called(person.id) for person in loaded.day.people}
    classes: dict[str, list[dict[str, Any]]] = {}
    for row in record["rows"]:
        classes.setdefault(row["class"], []).append(row)
    overall = sorted(record["rows"], key=lambda row: row["overall_place"] or len(record["rows"]) + 1)
    first = next((row for row in overall if row["overall_place"]), None)
    return render(
        request, "results.html.j2", at=at, results=record, classes=classes, overall=overall, first=first, names=names,
        has_index=any(row["index"] != 1.0 for row in record["rows"]),
    )  # fmt: skip


@router.get("/api/events/{event}/results")
def results_as_record(event: Id, at: Place) -> dict[str, Any]:
    """The results as far as the day has come."""
    loaded = load_day(Path(event), source=at.source)
    return results_record(answer_results(loaded), loaded.corrections)


@router.get("/drive/overview", include_in_schema=False)
def overview(request: Request, at: Place, mentor: str = "") -> Response:
    """Who needs what, most first."""
    days = _season(at)
    pages = [page_record(one) for one in answer_overview(days, mentor=mentor)] if days else []
    mentors = [person for person in days[-1].day.people if person.can_mentor] if days else []
    return render(request, "overview.html.j2", at=at, rows=pages, mentors=mentors, mentor=mentor)


@router.get("/drive/driver", include_in_schema=False)
def driver_page(request: Request, at: Place) -> Response:
    """One driver over the season so far."""
    days = _season(at)
    page = page_record(answer_page(days, at.chosen.driver.id)) if days and at.chosen.driver else None
    return render(request, "driver.html.j2", at=at, page=page)


@router.get("/api/events/{event}/drivers/{driver}")
def driver_as_record(*, event: Id, driver: Id, at: Place) -> dict[str, Any]:
    """One driver at one event."""
    return {"ok": True} | page_record(answer_page([load_day(Path(event), source=at.source)], driver))


@router.get("/drive/build-up", include_in_schema=False)
def build_up(request: Request, at: Place) -> Response:
    """The runs to come of the driver who is chosen, else of everybody."""
    loaded = _day(at)
    if loaded is None:
        return render(request, "build_up.html.j2", at=at, plans=[], caution=CAUTION, questions=[])
    plans = [_plan(loaded, key, at) for key in _asked(loaded, at)]
    unsolved = [plan["driver"] for plan in plans if plan["runs"] and not plan["is_predicted"]]
    questions: list[dict[str, str]] = []
    for key in unsolved:
        question = paces_question(loaded, key)
        if question is not None and question not in questions:
            questions.append(question)
    return render(request, "build_up.html.j2", at=at, plans=plans, caution=CAUTION, questions=questions)


def _asked(loaded: LoadedDay, at: Here) -> list[str]:
    if at.chosen.driver:
        return [at.chosen.driver.id]
    return list(dict.fromkeys(entry.person for entry in loaded.day.event.entries))


def _plan(loaded: LoadedDay, driver: str, at: Here) -> dict[str, Any]:
    solved = kept_paces(at.source, loaded, driver)
    return run_plan_record(answer_run_plan(loaded, driver, progress=None, predictions=solved))


@router.get("/api/events/{event}/drivers/{driver}/build-up")
def build_up_as_record(*, event: Id, driver: Id, at: Place) -> dict[str, Any]:
    """The runs to come of a driver; with times and speeds where the job `paces` has solved them."""
    return _plan(load_day(Path(event), source=at.source), driver, at)
