"""Writing records of any kind inside one transaction; every version of each stays."""

from __future__ import annotations

import re
from dataclasses import asdict
from typing import TYPE_CHECKING, Any, TypeVar

from sqlalchemy import delete, func, select

from conewise.records import Record
from conewise.store.content import content_of, digest_of, with_private_of
from conewise.store.errors import (
    AlreadyKeptError,
    BrokenLinkError,
    ChangedMeanwhileError,
    RecordInUseError,
    RecordNameError,
)
from conewise.store.kinds import BY_TABLE, KINDS, Kind, kind_of, links_of
from conewise.store.repository import DIGESTED, Kept, Reader
from conewise.store.tables import EntryRow, EventRow, KeptFile, PrivateDetail, RecordRow, Revision, Row

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from sqlalchemy.orm import Session

    from conewise.store.exported import PastVersion

R = TypeVar("R", bound=Record)

_FILES = KeptFile.__tablename__
_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,59}")


class Writer(Reader):
    """Changes to records. All of one transaction are kept, or none."""

    def __init__(self, session: Session, *, now: Callable[[], datetime], by: str, hides_private: bool = False) -> None:
        super().__init__(session, hides_private=hides_private)
        self._now = now
        self._by = by
        self._written: dict[tuple[str, str], tuple[Kind[Any], Record]] = {}  # by table and id, until links are held
        self._rows: dict[tuple[str, str], RecordRow | None] = {}  # that were looked up or made
        self._there: set[tuple[str, str]] = set()  # targets of links that were looked up

    def add(self, record: R, *, reason: str = "", record_id: str = "") -> Kept[R]:
        """Keep a new record. The same record once more is no second one: a phone may send it twice.

        Parameters
        ----------
        record : Record
        reason : str, optional
            Why, for the history.
        record_id : str, optional
            Id of a record that has none of its own.

        Raises
        ------
        AlreadyKeptError
            If another record of the kind has its id.
        RecordNameError
            If its id cannot be one.
        InputError
            If it is a text that its reader refuses.
        """
        keeping = kind_of(type(record))
        name = _id_of(keeping, record, record_id)
        content = content_of(record)
        if self._row(keeping, name) is not None:
            private = self.session.get(PrivateDetail, (keeping.name, name))
            is_same = content.private in {None, private and private.content}
            if is_same and content.public in self._texts(keeping, name):
                return self.one(type(record), name)
            raise AlreadyKeptError(keeping.name, name)
        return self._write(keeping, record, name, reason)

    def change(self, record: R, *, version: int, reason: str = "", record_id: str = "") -> Kept[R]:
        """Keep a new version of a record.

        Parameters
        ----------
        record : Record
            As it shall be.
        version : int
            The version that was seen when the change was made.
        reason : str, optional
            Why, for the history.
        record_id : str, optional
            Id of a record that has none of its own.

        Raises
        ------
        NoSuchRecordError
            If there is none.
        ChangedMeanwhileError
            If it has another version by now.
        """
        keeping = kind_of(type(record))
        name = _id_of(keeping, record, record_id)
        self._refuse_changed(keeping, name, version)
        return self._write(keeping, record, name, reason)

    def keep(self, record: Record, *, reason: str = "") -> str:
        """Keep a record whatever the book has under its id: "added", "changed" (a new version) or "same".

        Private details that are known stay where the record brings none of its own.
        """
        current = self.find(type(record), str(getattr(record, "id", "")))
        if current is None:
            self.add(record, reason=reason)
            return "added"
        whole = with_private_of(current.record, record)
        if content_of(current.record) == content_of(whole):
            return "same"
        self.change(whole, version=current.version, reason=reason)
        return "changed"

    def remove(self, kind: type[R], record_id: str, *, version: int | None = None, reason: str = "") -> None:
        """Take a record out. Its history stays; its private details do not.

        Raises
        ------
        NoSuchRecordError
            If there is none.
        ChangedMeanwhileError
            If `version` is given and it has another one by now.
        RecordInUseError
            If other records name it.
        """
        keeping = kind_of(kind)
        self._refuse_changed(keeping, record_id, version)
        users = self._users(keeping, record_id)
        if users:
            raise RecordInUseError(f"{keeping.name} {record_id}", users=users)
        self._revise(keeping, record_id, None, reason)
        self._keep_private(keeping, record_id, None)
        if keeping.row is EventRow:
            self.session.execute(delete(EntryRow).where(EntryRow.event == record_id))
        self.session.delete(self._row(keeping, record_id))
        self.session.flush()
        self._rows[keeping.table, record_id] = None
        self._written.pop((keeping.table, record_id), None)

    def recall(self, keeping: Kind[Any], name: str, past: PastVersion) -> Revision:
        """Put one version of an imported history into the book, as it was."""
        return self._put_revision(Revision(kind=keeping.name, record=name, **asdict(past)))

    def recall_removed(self, keeping: Kind[Any], name: str, *, reason: str) -> None:
        """End an imported history: the record is no more."""
        self._revise(keeping, name, None, reason)

    def put_latest(self, keeping: Kind[R], name: str, *, record: R, revision: Revision) -> None:
        """Make a record that was recalled be so now."""
        keeping.refuse_unreadable(record)
        self._put_row(keeping, name, record, revision)
        private = content_of(record).private
        if private is not None or not self.hides_private:  # whoever cannot see private details changes none to nothing
            self._keep_private(keeping, name, private)
        self.session.flush()

    def note_file(self, address: str, name: str, n_bytes: int) -> None:
        """Say that a file is kept, so that records may name it; the first name stays."""
        if self.session.get(KeptFile, address) is None:
            self.session.add(KeptFile(address=address, name=name, n_bytes=n_bytes, added_at=self._now()))
            self.session.flush()

    def forget_file(self, address: str) -> None:
        """Say that a file is kept no more; the records that named it must name another one by the end."""
        self.session.execute(delete(KeptFile).where(KeptFile.address == address))

    def check_links(self) -> None:
        """Hold what was written to its links; the last thing before a transaction ends.

        Raises
        ------
        BrokenLinkError
            If a record names one that is not in the book.
        """
        self.session.flush()
        self._there.clear()
        for (_, name), (keeping, record) in self._written.items():
            self._hold_links(keeping.table, keeping.columns(record), f"{keeping.name} {name}")
            for number, child in enumerate(keeping.children(record, name), start=1):
                values = {link.field: getattr(child, link.field) for link in links_of(EntryRow.__tablename__)}
                self._hold_links(EntryRow.__tablename__, values, f"{keeping.name} {name}, entry {number}")

    def _hold_links(self, table: str, values: dict[str, Any], place: str) -> None:
        for link in links_of(table):
            wanted = values.get(link.field)
            if wanted is None and link.is_optional:
                continue
            target = (link.kind, wanted or "")
            if target not in self._written and target not in self._there:
                if self.session.get(KeptFile if link.kind == _FILES else BY_TABLE[link.kind].row, target[1]) is None:
                    kind = "file" if link.kind == _FILES else BY_TABLE[link.kind].name
                    raise BrokenLinkError(place=place, field=link.field, kind=kind, wanted=target[1])
                self._there.add(target)

    def _write(self, keeping: Kind[R], record: R, name: str, reason: str) -> Kept[R]:
        revision = self._revise(keeping, name, content_of(record).public, reason)
        self.put_latest(keeping, name, record=record, revision=revision)
        return Kept(name, record, revision.version, revision.at)

    def _row(self, keeping: Kind[Any], name: str) -> RecordRow | None:
        """What the kind's table says of a record; asked of the database once."""
        place = (keeping.table, name)
        if place not in self._rows:
            self._rows[place] = self.session.get(keeping.row, name)
        return self._rows[place]

    def _put_row(self, keeping: Kind[R], name: str, record: R, revision: Revision) -> None:
        """Make the kind's table say what a revision says."""
        values = {**keeping.columns(record), "version": revision.version, "revision": revision.number}
        row = self._row(keeping, name)
        if row is None:
            row = self._rows[keeping.table, name] = keeping.row(id=name, **values)
            self.session.add(row)
        else:
            for field, value in values.items():
                setattr(row, field, value)
        if keeping.row is EventRow:
            self.session.execute(delete(EntryRow).where(EntryRow.event == name))
            self.session.add_all(keeping.children(record, name))
        self._written[keeping.table, name] = (keeping, record)

    def _revise(self, keeping: Kind[Any], name: str, content: str | None, reason: str) -> Revision:
        latest = select(func.max(Revision.version)).where(Revision.kind == keeping.name, Revision.record == name)
        return self._put_revision(
            Revision(
                kind=keeping.name,
                record=name,
                version=(self.session.scalar(latest) or 0) + 1,
                at=self._now(),
                by=self._by,
                reason=reason,
                content=content,
            )
        )

    def _put_revision(self, revision: Revision) -> Revision:
        """Add a version with its digest; its number is known then."""
        revision.digest = digest_of(*(getattr(revision, name) for name in DIGESTED))
        self.session.add(revision)
        self.session.flush()
        return revision

    def _keep_private(self, keeping: Kind[Any], name: str, content: str | None) -> None:
        if not keeping.has_private:
            return
        row = self.session.get(PrivateDetail, (keeping.name, name))
        if content is None:
            if row is not None:
                self.session.delete(row)
            return
        if row is None:
            row = PrivateDetail(kind=keeping.name, record=name)
            self.session.add(row)
        row.content, row.digest = content, digest_of(keeping.name, name, content)

    def _texts(self, keeping: Kind[Any], name: str) -> set[str | None]:
        query = select(Revision.content).where(Revision.kind == keeping.name, Revision.record == name)
        return set(self.session.scalars(query))

    def _refuse_changed(self, keeping: Kind[Any], name: str, version: int | None) -> None:
        row = self._row(keeping, name)
        if row is None:
            self.one(keeping.record, name)
            return
        if version is not None and row.version != version:
            by = self.session.get_one(Revision, row.revision).by
            raise ChangedMeanwhileError(f"{keeping.name} {name}", seen=version, found=row.version, by=by)

    def _users(self, keeping: Kind[Any], name: str) -> list[str]:
        """Records that name one: a few of each kind, in words."""
        users = []
        names = {other.table: other.name for other in KINDS} | {EntryRow.__tablename__: "entry"}
        for table, kind in names.items():
            columns = Row.metadata.tables[table].columns
            for link in links_of(table):
                if link.kind != keeping.table or (kind == "entry" and link.field == "event"):
                    continue
                n_found = self.session.scalar(select(func.count()).where(columns[link.field] == name))
                if n_found:
                    users.append(f"{n_found} {kind}{'s' if n_found > 1 else ''} ({link.field})")
        return users


def _id_of(keeping: Kind[Any], record: Record, given: str) -> str:
    """The id under which a record is kept: its own, or the one given for a record that has none."""
    name = getattr(record, "id", given)
    if not _ID.fullmatch(name):
        raise RecordNameError(keeping.name, name)
    return str(name)
