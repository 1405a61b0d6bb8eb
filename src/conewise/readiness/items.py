"""What is open: one line for one thing that keeps somebody from running, or that is good to know in time."""

from __future__ import annotations

from dataclasses import dataclass, field

CLOSING = "Nothing open on your list; the event's inspection decides."


@dataclass(frozen=True, slots=True)
class OpenItem:
    """One thing that is open.

    code: stable short name, such as "helmet-label".
    item: what it is about, as the list has it.
    reason: why it is open, and what to do, in words.
    blocks: whether it keeps from running; otherwise it is a warning.
    """

    code: str
    item: str
    reason: str
    blocks: bool = True


@dataclass(frozen=True, slots=True)
class Judged:
    """A driver, a car or a helmet with what is open on it."""

    id: str
    name: str
    open_items: tuple[OpenItem, ...] = field(default=())

    @property
    def ready(self) -> bool:
        """Whether nothing blocks."""
        return not any(item.blocks for item in self.open_items)


@dataclass(frozen=True, slots=True, kw_only=True)
class Readiness:
    """The answer for a whole event day."""

    event: str
    rules: str
    drivers: tuple[Judged, ...]
    cars: tuple[Judged, ...]
    helmets: tuple[Judged, ...]
    rules_title: str = ""  # what people call the rule set
    day: tuple[OpenItem, ...] = ()  # what concerns the event itself
    from_club: tuple[str, ...] = ()  # topics for which club practice stands in

    @property
    def ready(self) -> bool:
        """Whether somebody is entered and nothing blocks anywhere."""
        everybody = (*self.drivers, *self.cars, *self.helmets)
        return (
            bool(self.drivers and self.cars)
            and all(one.ready for one in everybody)
            and not any(item.blocks for item in self.day)
        )

    @property
    def n_blocking(self) -> int:
        """How many items block."""
        lists = [one.open_items for one in (*self.drivers, *self.cars, *self.helmets)]
        return sum(item.blocks for items in (*lists, self.day) for item in items)

    @property
    def sentence(self) -> str:
        """The answer in one sentence."""
        if not (self.drivers or self.cars):
            return "Nobody is entered yet."
        if self.ready:
            return CLOSING
        n = self.n_blocking
        return f"{n} {'item is' if n == 1 else 'items are'} open: not ready to run."
