"""What a rule set says about penalties, results, people, helmets and the inspection."""

from __future__ import annotations

from importlib import resources
from typing import Any, Literal

from pydantic import Field, model_validator

from conewise import quantities
from conewise.event.cars import ChangeKind
from conewise.event.tables import Table
from conewise.file_forms import refuse_other_form
from conewise.records import Day, Id, Line, OptionalId, Record
from conewise.rule_set import RuleText, rule_text

Ties = Literal["next-best", "earlier", "shared"]
_CLUB = "club"  # stands in for tables that a rule set does not have
_NO_TIME = "dnf"


class PenaltyRule(Record):
    """Seconds for cones and for leaving the course."""

    cone: float = Field(ge=0.0, le=60.0, json_schema_extra={"dimension": "time"})  # [s]
    off_course: float | None = Field(default=None, ge=0.0, le=600.0)  # [s]; None: no time for the run


class ResultRule(Record):
    """How runs become places."""

    counted_runs: int = Field(default=1, ge=1, le=30)
    ties: Ties = "next-best"


class PeopleRule(Record):
    """What a driver brings."""

    adult_age: int = Field(default=18, ge=14, le=30)
    guardian_waiver: bool = True
    waiver: bool = True
    licence: bool = True
    novice_events: int = Field(default=6, ge=0, le=100)
    novice_mentor: bool = False


class HelmetRule(Record):
    """Which labels are accepted."""

    families: tuple[Line, ...] = ()
    preceding: int = Field(default=2, ge=0, le=10)
    others: tuple[Line, ...] = ()
    until: dict[str, Day] = Field(default_factory=dict)
    change_over: dict[str, Day] = Field(default_factory=dict)
    road_mark_alone: bool = False
    eye_protection_in_open_cars: bool = True


class InspectionItem(Record):
    """One item of the list."""

    id: Id
    text: Line
    reopened_by: tuple[ChangeKind, ...] = ()
    only: tuple[Literal["fuel", "electric", "hybrid", "open", "closed"], ...] = ()
    needs: Literal["", "wheel-torque"] = ""
    after: OptionalId = ""  # another item that is looked at first


class InspectionRule(Record):
    """The list of the inspection."""

    items: tuple[InspectionItem, ...] = ()
    tyre_age: float = Field(default=6.0, gt=0.0, le=30.0)  # above it a warning [years]

    @model_validator(mode="after")
    def _items_have_ids_of_their_own(self) -> InspectionRule:
        names = [item.id for item in self.items]
        for name in names:
            if names.count(name) > 1:
                raise ValueError(f"item: the id '{name}' stands twice")
        return self


class EventRules(Record):
    """Everything that a rule set says about an event day."""

    name: str
    title: str  # what people call it; the name where the set says nothing
    penalty: PenaltyRule
    results: ResultRule
    people: PeopleRule
    helmet: HelmetRule
    inspection: InspectionRule
    from_club: tuple[str, ...] = ()  # topics that the set does not have; club practice stands for them


def load_event_rules(name_or_path: str) -> EventRules:
    """What a rule set says about an event day; club practice where it has no table of a topic.

    Parameters
    ----------
    name_or_path : str
        "club", "student" or the path of a .toml file.

    Raises
    ------
    UnknownRulesError
        If there is neither such a rule set nor such a file.
    NotARuleFileError
        If the file is empty or no text.
    InputError
        If it is no TOML, or a value cannot be used; file, line and field are named.
    """
    return event_rules(rule_text(name_or_path))


def event_rules(found: RuleText) -> EventRules:
    """What the text of a rule set says about an event day; see `load_event_rules`."""
    top, club = _top(found), _top(rule_text(_CLUB))
    topics: dict[str, Any] = {}
    missing = []
    for topic, read in _READERS.items():
        source = top if topic in top else club
        if source is not top:
            missing.append(topic)
        topics[topic] = read(source.table(topic))
    undated = _DATES - topics["helmet"].model_fields_set
    if undated:  # labels would be accepted for ever, and editions from the day of their standard
        usual = _READERS["helmet"](_top(rule_text(_CLUB)).table("helmet"))
        topics["helmet"] = topics["helmet"].changed(**{name: getattr(usual, name) for name in undated})
        missing.append("dates of helmet labels")
    title = top.values.get("title")
    called = title if isinstance(title, str) and title.strip() else found.name
    return EventRules(name=found.name, title=called, from_club=tuple(missing), **topics)


def penalty_rule(found: RuleText) -> PenaltyRule:
    """What the text of a rule set says about penalties alone."""
    top = _top(found)
    return _penalty((top if "penalty" in top else _top(rule_text(_CLUB))).table("penalty"))


def _top(found: RuleText) -> Table:
    top = Table.of_text(found.text, file=found.file)
    refuse_other_form(top.values, "rules", where=found.file)
    return top


def _penalty(table: Table) -> PenaltyRule:
    off = table.values.pop("off_course", _NO_TIME)
    if off == _NO_TIME:
        return table.record(PenaltyRule)
    place = table.file_and_line("off_course")
    return table.record(
        PenaltyRule, off_course=quantities.parse(off, "time", where="penalty.off_course", file=place)
    )  # fmt: skip


def _inspection(table: Table) -> InspectionRule:
    without = table.values.pop("without", [])
    added = tuple(one.record(InspectionItem) for one in table.tables("item"))
    table.values.pop("item", None)
    listed = _listed(table)
    known = [item.id for item in listed]
    if not isinstance(without, list):
        table.fail(f"'without' is {without!r}; a list of items is wanted.", "without")
    for name in without:
        if name not in known:
            table.fail(f"There is no item '{name}' to leave out.", "without", hint=f"Items: {', '.join(known)}.")
    items = (*(item for item in listed if item.id not in without), *added)
    return table.record(InspectionRule, items=items)


def _listed(table: Table) -> tuple[InspectionItem, ...]:
    """Items of the reference list that a rule set starts from; none with `list = "none"`."""
    name = table.values.pop("list", "2026")
    if name == "none":
        return ()
    shipped = resources.files("conewise").joinpath("reference", "inspection", f"{name}.toml")
    if name != "2026" or not shipped.is_file():
        table.fail(f"There is no reference list '{name}'.", "list", hint='Write list = "2026" or list = "none".')
    top = Table.of_text(shipped.read_text(encoding="utf-8"), file=f"inspection/{name}.toml")
    return tuple(one.record(InspectionItem) for one in top.tables("item"))


_DATES = {"until", "change_over"}  # of helmets; what a set leaves out is that of club practice
_READERS: dict[str, Any] = {
    "penalty": _penalty,
    "results": lambda table: table.record(ResultRule),
    "people": lambda table: table.record(PeopleRule),
    "helmet": lambda table: table.record(HelmetRule),
    "inspection": _inspection,
}
