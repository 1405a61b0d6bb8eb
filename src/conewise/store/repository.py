"""Reading records of any kind inside one transaction: as they are now, and every version that was."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from sqlalchemy import select

from conewise.records import Record
from conewise.store.content import Content, record_of
from conewise.store.errors import NoSuchRecordError
from conewise.store.kinds import Kind, kind_of
from conewise.store.tables import PrivateDetail, Revision

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy.orm import Session

R = TypeVar("R", bound=Record)


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

    def __init__(self, session: Session) -> None:
        self.session = session

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

    def _selected(self, keeping: Kind[R], fields: dict[str, Any]) -> list[Kept[R]]:
        row = keeping.row
        query = select(row.id, row.version, Revision.at, Revision.content).join(
            Revision, row.revision == Revision.number
        )
        for name, value in fields.items():
            query = query.where(getattr(row, name) == value)
        for name in (*keeping.order, "id"):
            query = query.order_by(getattr(row, name))
        private = self._private(keeping, fields.get("id"))
        place = keeping.name
        return [
            Kept(
                name,
                record_of(keeping.record, Content(str(text), private.get(name)), where=f"{place} {name}"),
                number,
                at,
            )
            for name, number, at, text in self.session.execute(query)
        ]

    def _private(self, keeping: Kind[R], record_id: str | None) -> dict[str, str]:
        query = select(PrivateDetail.record, PrivateDetail.content).where(PrivateDetail.kind == keeping.name)
        if record_id is not None:
            query = query.where(PrivateDetail.record == record_id)
        return {record: content for record, content in self.session.execute(query)}  # noqa: C416  # rows to a dict

    def history(self, kind: type[R], record_id: str) -> tuple[Version[R], ...]:
        """Every version of a record, oldest first; empty where there never was one."""
        keeping = kind_of(kind)
        query = select(Revision).where(Revision.kind == keeping.name, Revision.record == record_id)
        place = f"{keeping.name} {record_id}"
        return tuple(
            Version(
                version=row.version,
                record=None if row.content is None else record_of(kind, Content(row.content), where=place),
                at=row.at,
                by=row.by,
                reason=row.reason,
            )
            for row in self.session.scalars(query.order_by(Revision.version))
        )

    def ids(self, kind: type[Record]) -> frozenset[str]:
        """Ids that are in use."""
        return frozenset(self.session.scalars(select(kind_of(kind).row.id)))
