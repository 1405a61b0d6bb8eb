"""The invented season, kept in a book of the demonstration's own folder."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from conewise.demo.season import CARS, EVENTS, RECORDED, RECORDING, RULES, SEED, drawn_season, solved_paces
from conewise.event.rules import event_rules
from conewise.rule_set import RuleText
from conewise.store.days import keep_day
from conewise.store.logs import StoredLog, keep_log
from conewise.store.texts import CarText, ChangesText, CourseText, RulesText, StoredText
from conewise.workflows.book_place import BookPlace, opened
from conewise.workflows.events import load_day
from conewise.workflows.logs import open_log
from conewise.workflows.ready import answer_ready
from conewise.workflows.results import answer_results

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from conewise.readiness.items import Readiness
    from conewise.scoring.results import Results

FOLDER = Path("book")


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonShown:
    """What the season's book says about its last event."""

    book: Path
    event: str  # id
    readiness: Readiness
    results: Results


def season(into: Path, *, now: Callable[[], datetime]) -> SeasonShown:
    """Fill the book in a folder with the invented season, and ask it about the last event.

    Parameters
    ----------
    into : Path
        Folder of the demonstration, its example files in it; the book is `book` in there, never the user's own.
    now : callable
        The clock, with a time zone.
    """
    last = fill_season(into, now=now)
    folder = into / FOLDER
    loaded = load_day(Path(last), source=BookPlace(now=now, book=folder))
    return SeasonShown(book=folder, event=last, readiness=answer_ready(loaded), results=answer_results(loaded))


def quiet(words: str) -> None:
    """Nobody is told."""
    del words


def fill_season(into: Path, *, now: Callable[[], datetime], tell: Callable[[str], object] = quiet) -> str:
    """Fill the book in a folder, and return the id of the last event; `tell` hears of every step, else as `season`."""
    tell("The invented season is drawn.")
    texts: list[StoredText] = [CarText(id=key, text=_text(into / "cars" / f"{key}.toml")) for key, _ in CARS]
    courses = dict.fromkeys(course for *_, course in EVENTS)
    texts += [CourseText(id=key, text=_text(into / "courses" / f"{key}.toml")) for key in courses]
    texts += [
        ChangesText(id=path.stem, text=_text(path))
        for folder in ("parts", "changes") for path in sorted((into / folder).glob("*.toml"))
    ]  # fmt: skip
    rules = RulesText(id=RULES, text=_text(into / "rules" / f"{RULES}.toml"))
    of_event = event_rules(RuleText(name=RULES, file=f"rules/{RULES}.toml", text=rules.text))
    days = drawn_season(of_event, rng=np.random.default_rng(SEED), solved=solved_paces())
    folder = into / FOLDER
    with opened(folder, now=now) as book:
        with book.writing(by="demo") as writer:
            for text in (*texts, rules):
                writer.keep(text)
        for n, day in enumerate(days, start=1):
            tell(f"Event {n} of {len(days)} goes into the book: {day.event.name}.")
            keep_day(book, day, by="demo")
        tell("A recording goes into the book.")
        event, person, *_ = RECORDED
        path = into / "logs" / f"{RECORDING}.csv"
        record = StoredLog(id=RECORDING, name=path.name, event=event, person=person, car="marigold")
        keep_log(book, record, log=open_log(path), original=path.read_bytes(), by="demo")
    return days[-1].event.id


def _text(path: Path) -> str:
    return path.read_text(encoding="utf-8")
