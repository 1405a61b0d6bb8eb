"""The whole book held to what it says of itself: pages, links, records, versions, files."""

from __future__ import annotations

import os
import shutil
import stat
from typing import TYPE_CHECKING, Any

from sqlalchemy import select

from conewise.findings import Finding
from conewise.store.connection import problems
from conewise.store.content import Content, record_of
from conewise.store.errors import DamagedBookError, FileNotKeptError
from conewise.store.kinds import BY_NAME, KINDS, Kind
from conewise.store.repository import DIGESTED, whole_private, whole_text
from conewise.store.tables import EntryRow, EventRow, KeptFile, PrivateDetail, Revision, Row

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sqlalchemy.orm import Session

    from conewise.store.book import Book

_LITTLE_ROOM = 500_000_000  # [byte]


def check_book(book: Book) -> tuple[Finding, ...]:
    """What is wrong with a book; "stop" where something that was kept cannot be read any more.

    Everything is read: every page, every version of every record, every file.
    """
    found: list[Finding] = []
    with book.reading() as reader:
        pages = problems(reader.session.connection(), thorough=True)
        found += [Finding("stop", "book-pages", f"The database is damaged: {page}.", "book.sqlite") for page in pages]
        for kind in KINDS:
            found += _records(reader.session, kind)
        found += _versions(reader.session)
        found += _private(reader.session)
        found += _files(book, reader.session)
    return (*found, *_surroundings(book))


def _records(session: Session, kind: Kind[Any]) -> Iterator[Finding]:
    """Whether the kind's table repeats what the latest version of each record says."""
    latest = select(kind.row, Revision).join(Revision, kind.row.revision == Revision.number)
    for row, revision in session.execute(latest):
        place = f"{kind.name} {row.id}"
        if revision.content is None or (revision.kind, revision.record, revision.version) != (
            kind.name,
            row.id,
            row.version,
        ):
            yield Finding("stop", "book-version", "It points to a version that is not its own.", place)
            continue
        try:
            record = record_of(kind.record, Content(revision.content), where=place)
        except DamagedBookError as error:
            yield Finding("stop", "book-record", error.message, place)
            continue
        for name, value in kind.columns(record).items():
            if getattr(row, name) != value:
                yield Finding("stop", "book-column", f"Its table has another {name} than the record itself.", place)
        if kind.row is EventRow and not _has(session, row.id, kind.children(record, row.id)):
            yield Finding("stop", "book-column", "Its table of entries is not what the record itself says.", place)


def _has(session: Session, event: str, wanted: list[Row]) -> bool:
    """Whether the entries that an event has are those of its table."""
    fields = ("event", "place", "person", "car", "helmet")
    rows = session.scalars(select(EntryRow).where(EntryRow.event == event).order_by(EntryRow.place))
    return [[getattr(row, name) for name in fields] for row in rows] == [
        [getattr(row, name) for name in fields] for row in wanted
    ]


def _versions(session: Session) -> Iterator[Finding]:
    """Whether every version that ever was can be read, without a gap."""
    current = {(kind.name, name): number for kind in KINDS for name, number in session.execute(_numbers(kind))}
    last: dict[tuple[str, str], Revision] = {}
    for revision in session.scalars(select(Revision).order_by(Revision.kind, Revision.record, Revision.version)):
        key = (revision.kind, revision.record)
        place = f"{revision.kind} {revision.record}, version {revision.version}"
        if revision.version != (last[key].version if key in last else 0) + 1:
            yield Finding("stop", "book-gap", "A version before this one is missing.", place)
        last[key] = revision
        if revision.kind not in BY_NAME:
            yield Finding("stop", "book-record", "Nothing of that kind is known.", place)
        else:
            try:
                text = whole_text([*(getattr(revision, name) for name in DIGESTED), revision.digest], where=place)
                if text is not None:
                    record_of(BY_NAME[revision.kind].record, Content(text), where=place)
            except DamagedBookError as error:
                yield Finding("stop", "book-record", error.message, place)
    for key, revision in last.items():
        if (revision.content is None) == (key in current) or current.get(key, revision.number) != revision.number:
            yield Finding("stop", "book-version", "What is so now is not what the latest version says.", " ".join(key))


def _numbers(kind: Kind[Any]) -> Any:
    return select(kind.row.id, kind.row.revision)


def _private(session: Session) -> Iterator[Finding]:
    """Whether private details belong to somebody who is there, and can be read."""
    for detail in session.scalars(select(PrivateDetail)):
        place = f"{detail.kind} {detail.record}"
        kind = BY_NAME.get(detail.kind)
        row = None if kind is None else session.get(kind.row, detail.record)
        if kind is None or row is None:
            yield Finding("warning", "book-private", "Private details are left of somebody who was removed.", place)
            continue
        try:
            content = session.get_one(Revision, row.revision).content or ""
            record_of(kind.record, Content(content, whole_private(detail)), where=place)
        except DamagedBookError as error:
            yield Finding("stop", "book-record", error.message, place)


def _files(book: Book, session: Session) -> Iterator[Finding]:
    """Whether every file is there as it was kept."""
    listed = {file.address: file for file in session.scalars(select(KeptFile))}
    for address, file in listed.items():
        place = f"{file.name}, {book.files.path(address)}"
        try:
            book.files.content(address)
        except FileNotKeptError:
            yield Finding("stop", "book-file", "The file is missing. A backup that was made before has it.", place)
        except DamagedBookError as error:
            yield Finding("stop", "book-file", error.message, place)
    n_spare = sum(address not in listed for address in book.files.addresses()) + len(book.files.leftovers())
    if n_spare:
        message = f"Files that no record names, left by a write that was broken off: {n_spare}. They do no harm."
        yield Finding("note", "book-spare-file", message, str(book.files.folder))


def _surroundings(book: Book) -> Iterator[Finding]:
    """Room on the disk, and who may read the folder."""
    free = shutil.disk_usage(book.folder).free
    if free < _LITTLE_ROOM:
        yield Finding("warning", "book-room", f"The disk has {free / 1e6:.0f} MB left.", str(book.folder))
    if os.name == "nt":
        return
    for path in (book.folder, book.database):
        if stat.S_IMODE(path.stat().st_mode) & 0o077:
            yield Finding("warning", "book-open", "Other users of this computer may read it.", str(path))
