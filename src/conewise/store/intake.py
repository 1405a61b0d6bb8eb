"""Taking an export into a book: new records come with their history, the same ones stay, others are asked for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import func, select

from conewise.store.content import Content, content_of, record_of, with_private_of
from conewise.store.errors import ImportConflictError
from conewise.store.exported import read_export
from conewise.store.kinds import BY_NAME, KINDS, Kind
from conewise.store.tables import Revision

if TYPE_CHECKING:
    from pathlib import Path

    from conewise.records import Record
    from conewise.store.book import Book
    from conewise.store.exported import Exported, PastVersion, Place
    from conewise.store.writer import Writer

BY = "import"


@dataclass(frozen=True, slots=True)
class IntakeSummary:
    """What came of an import: places are "kind id"."""

    added: tuple[str, ...]
    changed: tuple[str, ...]
    same: int
    n_files: int


def take_in(book: Book, folder: Path, *, replace: bool = False) -> IntakeSummary:
    """Take an exported folder into a book, all of it or nothing.

    Parameters
    ----------
    book : Book
    folder : Path
        As `export` wrote it, perhaps changed by hand since.
    replace : bool, default False
        Whether records about which the book says something else become as they are in the export. Private details that
        the export does not have stay.

    Raises
    ------
    ExportedFileError, NewerBookError
        If the folder cannot be read.
    ImportConflictError
        If the book says something else about a record and `replace` is not said.
    BrokenLinkError
        If a record names one that is neither in the book nor in the export.
    """
    exported = read_export(folder)
    for file in exported.files.values():
        book.files.keep(file.content)
    with book.writing(by=BY) as writer:
        for address, file in exported.files.items():
            writer.note_file(address, file.name, len(file.content))
        intake = _Intake(writer, exported, replace=replace)
        intake.all()
        if intake.conflicts:
            raise ImportConflictError(intake.conflicts, where=str(folder))
    return IntakeSummary(tuple(intake.added), tuple(intake.changed), intake.same, len(exported.files))


class _Intake:
    """One import under way."""

    def __init__(self, writer: Writer, exported: Exported, *, replace: bool) -> None:
        self._writer = writer
        self._exported = exported
        self._replace = replace
        self.added: list[str] = []
        self.changed: list[str] = []
        self.conflicts: list[str] = []
        self.same = 0

    def all(self) -> None:
        """Every record, in the order of the history; then those that have none."""
        known = self._known()
        numbered = {kind.name: i for i, kind in enumerate(KINDS)}
        without = sorted(
            self._exported.records.keys() - self._exported.history.keys(), key=lambda p: (numbered[p[0]], p[1])
        )
        for place in [*self._exported.history, *without]:
            kind, record = BY_NAME[place[0]], self._exported.records.get(place)
            if place in known:
                self._meet(kind, place, record)
            else:
                self._bring(kind, place, record)

    def _known(self) -> set[Place]:
        query = select(Revision.kind, Revision.record, func.max(Revision.version)).group_by(
            Revision.kind, Revision.record
        )
        return {(kind, name) for kind, name, _ in self._writer.session.execute(query)}

    def _bring(self, kind: Kind[Any], place: Place, record: Record | None) -> None:
        """A record that the book has never had: its history, and what it is now."""
        past = self._exported.history.get(place, [])
        latest = [self._writer.recall(kind, place[1], version) for version in past]
        if record is None:
            if past and past[-1].content is not None:
                self._writer.recall_removed(kind, place[1], reason="not among the exported records")
            return
        self.added.append(" ".join(place))
        if past and _says(kind, past[-1], record):
            self._writer.put_latest(kind, place[1], record=record, revision=latest[-1])
        else:
            self._writer.add(record, reason="imported")

    def _meet(self, kind: Kind[Any], place: Place, record: Record | None) -> None:
        """A record that the book knows."""
        if record is None:
            return
        current = self._writer.find(kind.record, place[1])
        if current is not None and content_of(current.record).public == content_of(record).public:
            self.same += 1
        elif not self._replace:
            self.conflicts.append(" ".join(place))
        elif current is None:
            self._writer.add(record, reason="imported")
            self.added.append(" ".join(place))
        else:
            self._writer.change(with_private_of(current.record, record), version=current.version, reason="imported")
            self.changed.append(" ".join(place))


def _says(kind: Kind[Any], past: PastVersion, record: Record) -> bool:
    """Whether a version of the history says what a record says, private details aside."""
    if past.content is None:
        return False
    then = record_of(kind.record, Content(past.content), where=kind.name)
    return content_of(then).public == content_of(record).public
