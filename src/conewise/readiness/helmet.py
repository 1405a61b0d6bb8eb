"""Is this helmet accepted on this day? Label, condition, eye protection, and when that ends."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from conewise.event.helmets import LOOKS
from conewise.readiness.items import OpenItem
from conewise.readiness.standards import LabelVerdict, judge_label

if TYPE_CHECKING:
    from collections.abc import Iterator

    from conewise.event.helmets import Helmet
    from conewise.event.rules import HelmetRule
    from conewise.readiness.standards import Standards

WARN_BEFORE = timedelta(days=365)  # of the day on which a label goes out

LOOK_WORDS = {
    "fit": "Fit",
    "strap": "Strap and buckle",
    "liner": "Liner",
    "impact": "No known blow, none to be seen",
}


def judge_helmet(
    helmet: Helmet, day: date, *, rule: HelmetRule, standards: Standards, in_open_car: bool = False
) -> tuple[OpenItem, ...]:
    """What is open on a helmet on the day of an event.

    Parameters
    ----------
    helmet : Helmet
    day : date
        Of the event.
    rule : HelmetRule
        Of the event's rule set.
    standards : Standards
        Editions and their dates.
    in_open_car : bool, default False
        Whether somebody wears it in an open car.
    """
    return (
        *_label_items(helmet, day, rule=rule, standards=standards),
        *_made_items(helmet, day),
        *_look_items(helmet, day),
        *_eye_items(helmet, rule, in_open_car=in_open_car),
    )


def _label_items(helmet: Helmet, day: date, *, rule: HelmetRule, standards: Standards) -> Iterator[OpenItem]:
    if not helmet.labels:
        yield OpenItem("helmet-label", "Label", "No label is written down. Enter what the one inside says.")
        return
    verdicts = [judge_label(label, day, rule=rule, standards=standards) for label in helmet.labels]
    accepted = [verdict for verdict in verdicts if verdict.verdict == "accepted"]
    if not accepted:
        yield from (OpenItem("helmet-label", "Label", _refusal(verdict, day)) for verdict in verdicts)
        return
    if any(verdict.last_day is None for verdict in accepted):
        return
    longest = max(accepted, key=lambda verdict: verdict.last_day or date.max)
    assert longest.last_day is not None
    if longest.last_day < day:  # only where a successor that is not listed here is expected
        reason = (
            f"{longest.label} is accepted by the editions listed here; one that is not listed is expected to have ended"
            f" that after {longest.last_day}. Ask the event."
        )
        yield OpenItem("helmet-change-over", "Label", reason, blocks=False)
    elif longest.last_day - day <= WARN_BEFORE:
        ends = "is expected to end" if longest.is_expected else "ends"
        reason = f"{longest.label} is accepted; that {ends} after {longest.last_day}. Ask the event for its own day."
        yield OpenItem("helmet-change-over", "Label", reason, blocks=False)


def _refusal(verdict: LabelVerdict, day: date) -> str:
    """Why a label is not accepted, and what would be."""
    wanted = f" Accepted of this family on {day}: {', '.join(verdict.accepted)}." if verdict.accepted else ""
    if verdict.verdict == "too old":
        went = f"; its last day was {verdict.last_day}" if verdict.last_day and verdict.last_day < day else ""
        return f"{verdict.label} is too old for {day}{went}.{wanted}"
    if verdict.verdict == "road mark only":
        return f"{verdict.label} is a road-approval mark; alone it is not accepted. Look for another label."
    if verdict.verdict == "unknown edition":
        return f"{verdict.label} is an edition that is not listed here; ask the event.{wanted}"
    return f"{verdict.label} is not among the labels that the rules accept; ask the event."


def _made_items(helmet: Helmet, day: date) -> Iterator[OpenItem]:
    if helmet.made is not None and helmet.made > day:
        reason = f"Made on {helmet.made}, after the event on {day}: a helmet from the future. Correct the date."
        yield OpenItem("helmet-from-the-future", "Date of manufacture", reason)


def _look_items(helmet: Helmet, day: date) -> Iterator[OpenItem]:
    for name in LOOKS:
        look, words = getattr(helmet, name), LOOK_WORDS[name]
        if look.result == "not looked at":
            yield OpenItem(f"helmet-{name}", words, "Nobody has looked at it yet.")
        elif look.result == "failed":
            note = f": {look.note}" if look.note else ""
            yield OpenItem(f"helmet-{name}", words, f"Failed{note}. Another helmet is needed.")
        elif look.looked_at is not None and look.looked_at > day:
            reason = f"Looked at on {look.looked_at}, after the event on {day}. Correct the date."
            yield OpenItem(f"helmet-{name}", words, reason)


def _eye_items(helmet: Helmet, rule: HelmetRule, *, in_open_car: bool) -> Iterator[OpenItem]:
    if in_open_car and rule.eye_protection_in_open_cars and not (helmet.face_shield or helmet.goggles):
        reason = "In an open car a face shield or goggles are needed; this helmet has neither."
        yield OpenItem("helmet-eyes", "Face shield or goggles", reason)
