"""Sheets of an event day as PDF: the inspection sheet of every car, and the run card of a driver."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from conewise.quantities import in_unit, shown_unit
from conewise.reports import documents

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from conewise.quantities import System

_INSPECTION = (
    "Nothing open here is no permission: the event's inspection, the rule book and the maker's manual decide.",
    "Never under a car on a jack alone: stands, level ground, chocks. Brakes and wheels are hot after a run.",
    "Wheel nuts to the maker's value, written here with its unit, checked again cold. Brakes tested at walking speed.",
)
_CARD = (
    "Read this in the queue and put it away for the run. Speeds are estimates, not permissions.",
    "Red flag: slow, stop under control, wait for a worker. Off course: slow down and leave as directed.",
)


def inspection_pdf(
    event: str, *, rules: str, cars: Sequence[tuple[str, Sequence[Mapping[str, Any]]]], paper: str = "a4"
) -> bytes:
    """A page for every car.

    Parameters
    ----------
    event : str
        Name and date, as they are printed.
    rules : str
        Name of the rule set.
    cars : sequence of (str, rows)
        Name of a car, and its list as `workflows.ready.inspection_sheet` makes it.
    paper : str, default "a4"
        "a4" or "letter".
    """
    pages = [{"car": name, "open": sum(bool(row["open"]) for row in rows), "rows": _items(rows)} for name, rows in cars]
    return documents.pdf(
        "inspection", {"event": event, "rules": rules, "pages": pages, "cautions": list(_INSPECTION)}, paper=paper
    )


def _items(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, str]]:
    """The rows of a list; what is open for the same reason as the row before says so, and the sheet stays short."""
    found = [_item(row) for row in rows]
    reasons = [str(row["open"] or "") for row in rows]
    for k in range(1, len(found)):
        if reasons[k] and reasons[k] == reasons[k - 1]:
            found[k]["said"] = found[k]["said"].replace(reasons[k], "as above")
    return found


def _item(row: Mapping[str, Any]) -> dict[str, str]:
    seen = " ".join(str(part) for part in (row["looked_by"], str(row["looked_at"])[:16].replace("T", " ")) if part)
    said = "; ".join(str(part) for part in (row["value"], row["note"], row["open"] if seen else "") if part)
    return {
        "text": str(row["text"]),
        "result": str(row["result"]),
        "seen": seen,
        "said": said,
        "tick": "" if row["open"] else "x",
    }


def run_card_pdf(plan: Mapping[str, Any], *, system: System, paper: str = "a4") -> bytes:
    """The runs still to come of one driver, large enough to read at arm's length.

    Parameters
    ----------
    plan : Mapping
        As `workflows.mentoring.run_plan_record` makes it.
    system : str
        Units of the speeds: "metric" or "us".
    paper : str, default "a4"
        "a4" or "letter".
    """
    unit = shown_unit("speed", system)
    runs = [
        {
            "number": str(run["run"]),
            "pace": f"{run['pace']:.2f}",
            "time": "" if run["predicted_time_s"] is None else f"{run['predicted_time_s']:.1f} s",
            "focus": run["focus"],
            "speeds": [
                [s["feature"], f"{in_unit(s['slowest_speed_m_per_s'], 'speed', unit):.0f}"] for s in run["key_speeds"]
            ],
        }
        for run in plan["runs"]
    ]
    data = {
        "name": plan["name"],
        "car": plan["car"],
        "event": plan["event"],
        "unit": unit,
        "runs": runs,
        "cautions": list(_CARD),
    }
    return documents.pdf("run_card", data, paper=paper)
