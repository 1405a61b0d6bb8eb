"""Reading records of any kind inside one transaction: as they are now, and every version that was."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from sqlalchemy import select

from conewise.records import Record
from conewise.store.content import Content, digest_of, record_of
from conewise.store.errors import DamagedBookError, NoSuchRecordError
from conewise.store.kinds import Kind, kind_of
from conewise.store.tables import KeptFile, PrivateDetail, Revision

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from sqlalchemy.orm import Session

R = TypeVar("R", bound=Record)

DIGESTED = ("kind", "record", "version", "at", "by", "reason", "content")  # of a revision; the digest is over these
_SAID = tuple(getattr(Revision, name) for name in DIGESTED)


@dataclass(frozen=True, slots=True)
class Kept(Generic[R]):
    """A record as the book has it now.

    version: how often it has been written; what `change` asks for.
    at: when this version was written (UTC).
    """

    id: str
    record: R
    version: int
    at: datetime


@dataclass(frozen=True, slots=True)
class Version(Generic[R]):
    """One version of a record; without a record it was removed then. Private details have no history."""

    version: int
    record: R | None
    at: datetime
    by: str
    reason: str


class Reader:
    """Records as they were when the transaction began."""

    def __init__(self, session: Session, *, hides_private: bool = False) -> None:
        self.session = session
        self.hides_private = hides_private

    def one(self, kind: type[R], record_id: str) -> Kept[R]:
        """The record of an id.

        Raises
        ------
        NoSuchRecordError
            If there is none; near ids are named.
        """
        found = self.find(kind, record_id)
        if found is None:
            keeping = kind_of(kind)
            ids = list(self.session.scalars(select(keeping.row.id).order_by(keeping.row.id)))
            raise NoSuchRecordError(keeping.name, record_id, near=difflib.get_close_matches(record_id, ids) or ids[:8])
        return found

    def find(self, kind: type[R], record_id: str) -> Kept[R] | None:
        """The record of an id, or None."""
        keeping = kind_of(kind)
        return next(iter(self._selected(keeping, {"id": record_id})), None)

    def every(self, kind: type[R], **fields: Any) -> tuple[Kept[R], ...]:
        """All records of a kind, in the kind's order.

        Parameters
        ----------
        kind : type
            Class of the records.
        **fields
            Values that columns of the kind's table must have, such as `event="lot-1"`.
        """
        return tuple(self._selected(kind_of(kind), fields))

    def file_names(self) -> dict[str, str]:
        """How every kept file was called, by its address."""
        return {file.address: file.name for file in self.session.scalars(select(KeptFile))}

    def _selected(self, keeping: Kind[R], fields: dict[str, Any]) -> list[Kept[R]]:
        row = keeping.row
        query = select(row.id, row.version, *_SAID, Revision.digest).join(Revision, row.revision == Revision.number)
        for name, value in fields.items():
            query = query.where(getattr(row, name) == value)
        for name in (*keeping.order, "id"):
            query = query.order_by(getattr(row, name))
        private = self._private(keeping, fields.get("id"))
        kept = []
        for name, number, *said in self.session.execute(query):
            place = f"{keeping.name} {name}"
            text = whole_text(said, where=place)
            record = record_of(keeping.record, Content(text or "", private.get(name)), where=place)
            kept.append(Kept(name, record, number, said[DIGESTED.index("at")]))
        return kept

    def _private(self, keeping: Kind[R], record_id: str | None) -> dict[str, str]:
        if not keeping.has_private or self.hides_private:
            return {}
        query = select(PrivateDetail).where(PrivateDetail.kind == keeping.name)
        if record_id is not None:
            query = query.where(PrivateDetail.record == record_id)
        return {detail.record: whole_private(detail) for detail in self.session.scalars(query)}

    def history(self, kind: type[R], record_id: str) -> tuple[Version[R], ...]:
        """Every version of a record, oldest first; empty where there never was one."""
        keeping = kind_of(kind)
        query = select(Revision).where(Revision.kind == keeping.name, Revision.record == record_id)
        place = f"{keeping.name} {record_id}"
        versions = []
        for row in self.session.scalars(query.order_by(Revision.version)):
            text = whole_text([*(getattr(row, name) for name in DIGESTED), row.digest], where=place)
            record = None if text is None else record_of(kind, Content(text), where=place)
            versions.append(Version(row.version, record, row.at, row.by, row.reason))
        return tuple(versions)

    def ids(self, kind: type[Record]) -> frozenset[str]:
        """Ids that are in use."""
        return frozenset(self.session.scalars(select(kind_of(kind).row.id)))


def whole_text(said: Sequence[Any], *, where: str) -> str | None:
    """Content of a revision, held to its digest.

    Parameters
    ----------
    said : sequence
        The fields that `DIGESTED` names, and the digest.
    where : str
        Which record it is, for the message.

    Raises
    ------
    DamagedBookError
        If it is not what was written.
    """
    *parts, digest = said
    if digest_of(*parts) != digest:
        raise DamagedBookError("a record is not what was written", where=where)
    return None if parts[-1] is None else str(parts[-1])


def whole_private(detail: PrivateDetail) -> str:
    """Private details, held to their digest; DamagedBookError where they are not what was written."""
    if digest_of(detail.kind, detail.record, detail.content) != detail.digest:
        raise DamagedBookError("private details are not what was written", where=f"{detail.kind} {detail.record}")
    return detail.content
