"""Show the program at work: the example files on disk, a course and a car, a debrief, and the package for a budget."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

from conewise.demo.season import RECORDED
from conewise.errors import ConflictError
from conewise.reports.files import UnwritableFileError, write_whole
from conewise.workflows.advise import answer_advise
from conewise.workflows.advise_question import AdviceQuestion
from conewise.workflows.book_place import BookPlace
from conewise.workflows.debrief import DebriefQuestion, answer_debrief
from conewise.workflows.debrief_book import keep_debrief
from conewise.workflows.demo_season import season
from conewise.workflows.line import LineQuestion, answer_line, refuse_files, write_answer
from conewise.workflows.prove import prove

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Iterator
    from importlib.resources.abc import Traversable

    from conewise.advisor.advice import Advice
    from conewise.reports.answer import LineAnswer
    from conewise.reports.debrief_answer import DebriefAnswer
    from conewise.reports.proof_answer import ProofAnswer
    from conewise.reports.units import Units
    from conewise.workflows.demo_season import SeasonShown

FOLDERS = ("courses", "cars", "changes", "parts", "rules", "settings", "logs", "times")
COURSE = Path("courses", "harbour-yard.toml")
CAR = Path("cars", "marigold.toml")
PARTS = Path("parts", "short-list.toml")
BUDGET = "700 EUR"
TIMES = Path("times", "harbour-yard-bar-test.csv")
LOG = Path("logs", "harbour-yard-evening.csv")
REPORT = Path("report.html")


class DemoFileChangedError(ConflictError):
    """Example files that were changed since they were written."""

    code = "demo-file-changed"
    default_hint = "Name another folder with --into, or say --force to put the examples back as they were."

    def __init__(self, paths: list[Path]) -> None:
        self.paths = paths
        names = ", ".join(path.name for path in paths)
        super().__init__(f"Already there and changed: {names}. Nothing was written.", where=str(paths[0].parent.parent))


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoShown:
    """What the demonstration wrote and found."""

    written: tuple[Path, ...]  # files that were not there before, or were put back
    report: Path
    question: LineQuestion
    answer: LineAnswer
    debriefed: DebriefQuestion
    debrief: DebriefAnswer
    advised: AdviceQuestion
    advice: Advice
    season: SeasonShown
    proof: ProofAnswer  # of the change tested in the example times


def write_examples(into: Path, *, force: bool = False) -> tuple[Path, ...]:
    """Write the example files; one that is there already and unchanged stays.

    Parameters
    ----------
    into : Path
        Folder that gets `courses/`, `cars/`, `changes/`, `parts/`, `rules/`, `settings/` and `logs/`; made where it
        is missing.
    force : bool, default False
        Whether changed files are put back as they were.

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    DemoFileChangedError
        If a file is there with another content and `force` is not said; nothing is written then.
    UnwritableFileError
        If the folder cannot be made, or a file cannot be written.
    """
    pending = {place: content for place, content in _examples(into) if _content(place) != content}
    changed = [place for place in pending if place.exists()]
    if changed and not force:
        raise DemoFileChangedError(changed)
    for place, content in pending.items():
        try:
            place.parent.mkdir(parents=True, exist_ok=True)
        except OSError as reason:
            raise UnwritableFileError(place.parent, reason.strerror or "the system refuses") from reason
        write_whole(place, content)
    return tuple(pending)


def show(
    into: Path,
    units: Units,
    *,
    force: bool,
    day: dt.date,
    now: Callable[[], dt.datetime],
    progress: Callable[[str], None],
    known: Callable[[LineAnswer | DebriefAnswer | Advice], None] = lambda _: None,
) -> DemoShown:
    """Write the examples, solve one course with one car, write its report, debrief a run, and find the best package.

    Parameters
    ----------
    into : Path
        The folder.
    units : Units
        Units of the report.
    force : bool
        Whether changed examples are put back.
    day : datetime.date
        Day on which the age of tyres counts.
    now : callable
        The clock of the season's book, with a time zone.
    progress : callable
        Told in words what is going on.
    known : callable, optional
        Given the run, the debrief and the advice, each as soon as it is there: who stops the rest has seen them.

    Raises
    ------
    DemoFileChangedError, UnwritableFileError
        As `write_examples`.
    """
    written = write_examples(into, force=force)
    refuse_files(report=into / REPORT)
    question = LineQuestion(course=into / COURSE, car=into / CAR)
    progress("1 of 4: the fastest run of a course; the first time ever some code is compiled for it")
    answer = answer_line(question, progress=progress, first=known)
    write_answer(answer, units, report=into / REPORT)
    asked = DebriefQuestion(log=into / LOG, course=into / COURSE, car=into / CAR)
    progress("2 of 4: the debrief of a recorded run")
    debrief = answer_debrief(asked, progress=progress)
    known(debrief)
    advised = AdviceQuestion(
        courses=(into / COURSE,), car=into / CAR, parts=into / PARTS, budget=BUDGET, day=day, workers=1
    )
    progress("3 of 4: what to change for a budget, one run solved for every change")
    advice = answer_advise(advised, progress=progress, known={answer.solution.course: answer.solution})
    known(advice)
    progress("4 of 4: a season, kept in a book")
    shown = season(into, now=now)
    event, person, order, _ = RECORDED
    keep_debrief(BookPlace(book=shown.book, now=now), debrief, run_id=f"{event}-{person}-{order}", by="demo")
    return DemoShown(
        written=written,
        report=into / REPORT,
        question=question,
        answer=answer,
        debriefed=asked,
        debrief=debrief,
        advised=advised,
        advice=advice,
        season=shown,
        proof=prove(into / TIMES),
    )


def _examples(into: Path) -> Iterator[tuple[Path, bytes]]:
    root: Traversable = files("conewise.demo")
    for folder in FOLDERS:
        for entry in sorted((root / folder).iterdir(), key=lambda found: found.name):
            if entry.name.endswith((".toml", ".csv")):
                yield into / folder / entry.name, entry.read_bytes()


def _content(place: Path) -> bytes | None:
    """Bytes of a file; None where there is no readable one."""
    try:
        return place.read_bytes()
    except OSError:
        return None
