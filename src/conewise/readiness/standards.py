"""Editions of helmet standards: which is in force when, and how long a label is accepted."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta
from importlib import resources
from typing import TYPE_CHECKING, Literal

from conewise.event.tables import Table

if TYPE_CHECKING:
    from conewise.event.rules import HelmetRule

Verdict = Literal["accepted", "too old", "not accepted", "road mark only", "unknown edition"]

_FILE = "2026.toml"
_EDITION = re.compile(r"(?:SNELL)?(?P<family>[A-Z]+?)(?P<year>(?:19|20)\d\d)(?P<suffix>[DR]?)")
_ROAD_MARKS = {"DOT", "FMVSS218", "DOTFMVSS218", "ECE", "CE", "JIS", "NBR7471", "ISI"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    """One edition of a family of standards."""

    label: str
    in_force: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Standards:
    """Editions by family, oldest first, and the years from one to the next."""

    families: dict[str, tuple[Edition, ...]]
    rhythm: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelVerdict:
    """What the rules say about one label on one day.

    last_day: last day on which it is accepted, where that is known or can be expected; None where nothing ends it.
    is_expected: the day follows from the usual rhythm of editions, not from a date that is set.
    accepted: labels of the family that are accepted on the day, newest first.
    """

    label: str
    verdict: Verdict
    last_day: date | None = None
    is_expected: bool = False
    accepted: tuple[str, ...] = ()


def load_standards() -> Standards:
    """The shipped editions; reference/helmets/CITATION.md says where they come from."""
    text = resources.files("conewise").joinpath("reference", "helmets", _FILE).read_text(encoding="utf-8")
    top = Table.of_text(text, file=f"helmets/{_FILE}")
    families = {}
    for family, values in top.values.items():
        if isinstance(values, dict):
            editions = [Edition(label=k, in_force=v) for k, v in values.items() if isinstance(v, date)]
            families[family] = tuple(sorted(editions, key=lambda edition: edition.in_force))
    return Standards(families=families, rhythm=int(top.values["rhythm"]))


def accepted_editions(family: str, day: date, *, rule: HelmetRule, standards: Standards) -> tuple[str, ...]:
    """Labels of a family that are accepted on a day, newest first: the newest in force and the ones before it.

    An edition that is newer than the newest in force is accepted as well and not listed here.
    """
    known = _counted(family, rule, standards)
    in_force = [edition for edition in known if edition.in_force <= day]
    return tuple(edition.label for edition in reversed(in_force[-(rule.preceding + 1) :]))


def judge_label(label: str, day: date, *, rule: HelmetRule, standards: Standards) -> LabelVerdict:
    """What the rules say about a label on the day of an event.

    The label decides, not the date of manufacture.

    Parameters
    ----------
    label : str
        As printed: "SA2020", "Snell M2015", "FIA 8859-2015", "DOT".
    day : date
        Of the event.
    rule : HelmetRule
    standards : Standards
    """
    plain = _plain(label)
    for other, last in rule.until.items():
        if _plain(other) == plain:
            verdict: Verdict = "accepted" if day <= last else "too old"
            return LabelVerdict(label=label, verdict=verdict, last_day=last)
    if plain in {_plain(other) for other in rule.others}:
        return LabelVerdict(label=label, verdict="accepted")
    if plain in _ROAD_MARKS:
        return LabelVerdict(label=label, verdict="accepted" if rule.road_mark_alone else "road mark only")
    found = _EDITION.fullmatch(plain)
    if found is None or found["family"] not in rule.families or found["family"] not in standards.families:
        return LabelVerdict(label=label, verdict="not accepted")
    return _judge_edition(label, found["family"], f"{found['family']}{found['year']}", day=day, of=(rule, standards))


def _judge_edition(
    label: str, family: str, name: str, *, day: date, of: tuple[HelmetRule, Standards]
) -> LabelVerdict:  # fmt: skip
    rule, standards = of
    known = _counted(family, rule, standards)
    names = [edition.label for edition in known]
    accepted = accepted_editions(family, day, rule=rule, standards=standards)
    if name not in names:
        return LabelVerdict(label=label, verdict="unknown edition", accepted=accepted)
    rank, n_in_force = names.index(name), sum(edition.in_force <= day for edition in known)
    last, is_expected = _last_day(rank + rule.preceding + 1, known, rhythm=standards.rhythm)
    is_accepted = rank > n_in_force - 1 - (rule.preceding + 1)
    return LabelVerdict(
        label=label,
        verdict="accepted" if is_accepted else "too old",
        last_day=last,
        is_expected=is_expected,
        accepted=accepted,
    )


def _last_day(rank: int, known: tuple[Edition, ...], *, rhythm: int) -> tuple[date, bool]:
    """The day before the edition of a rank comes into force, and whether that is only expected."""
    if rank < len(known):
        return known[rank].in_force - timedelta(days=1), False
    newest = known[-1].in_force
    return _years_later(newest, rhythm * (rank - len(known) + 1)) - timedelta(days=1), True


def _years_later(day: date, years: int) -> date:
    """The same day some years later; 1 March for 29 February where the year has none."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return date(day.year + years, 3, 1)


def _counted(family: str, rule: HelmetRule, standards: Standards) -> tuple[Edition, ...]:
    """Editions of a family with the days from which this event counts them."""
    later = {_plain(label): day for label, day in rule.change_over.items()}
    editions = standards.families.get(family, ())
    counted = [Edition(label=e.label, in_force=later.get(_plain(e.label), e.in_force)) for e in editions]
    return tuple(sorted(counted, key=lambda edition: edition.in_force))


def _plain(label: str) -> str:
    """A label without what differs between spellings."""
    text = re.sub(r"[^A-Z0-9]", "", label.upper()).removeprefix("SNELL")
    text = re.sub(r"^UN(?=ECE|R22)", "", text)
    return re.sub(r"^(?:ECE)?R?(22\d\d)$", r"ECE\1", text)
